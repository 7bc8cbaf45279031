"""Whiteness and tint of the CIE, yellowness of ASTM E313.

Fluorescent whites need a source with the agreed amount of ultraviolet: state how it was adjusted
(the measurement condition), no number here shows it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from numbers import Real
from types import MappingProxyType

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, finite_table
from colorimetry.errors import DomainError

# chromaticity x, y of the perfect diffuser under D65, and the factor of x in the tint
_WHITENESS: Mapping[int, tuple[float, float, float]] = MappingProxyType(
    {2: (0.3127, 0.3290, 1000.0), 10: (0.3138, 0.3310, 900.0)}
)
# ASTM E313: C_X and C_Z; each gives the perfect diffuser a yellowness of 0 within 0.001
YELLOWNESS: Mapping[tuple[str, int], tuple[float, float]] = MappingProxyType(
    {
        ("C", 2): (1.2769, 1.0592),
        ("D65", 2): (1.2985, 1.1335),
        ("C", 10): (1.2871, 1.0781),
        ("D65", 10): (1.3013, 1.1498),
    }
)
TOO_GREY, TOO_WHITE, TINTED = "whiteness_low", "whiteness_high", "tint_outside"


@dataclass(frozen=True)
class Limits:
    """Where whiteness means something: W in (lowest, slope Y - offset), tint in an open interval.

    ``source`` says where the limits come from; they belong to the agreement.
    """

    lowest: float
    slope: float
    offset: float
    least_tint: float
    most_tint: float
    source: str


# Quoted in the documentation of colour 0.4.7 (whiteness_CIE2004); the standard was not at hand.
LIMITS_2004 = Limits(
    40.0, 5.0, 280.0, -4.0, 2.0, "CIE 15:2004, from memory, check your copy of the standard"
)
LIMITS_OLDER = Limits(
    40.0, 5.0, 280.0, -3.0, 3.0, "CIE 15.2, from memory, check your copy of the standard"
)


@dataclass(frozen=True)
class Whiteness:
    """Whiteness W and tint T (above 0 greenish, below 0 reddish) within the limits."""

    whiteness: float
    tint: float


@dataclass(frozen=True)
class NotApplicable:
    """Outside the limits: no numbers, but the ids of what was left (``whiteness_low`` …)."""

    reasons: tuple[str, ...]


def _tristimulus(tristimulus: npt.ArrayLike) -> Floats:
    """Return XYZ (n, 3) checked; Y must be positive."""
    table = finite_table(tristimulus, "XYZ", 3)
    dark = table[:, 1] <= 0.0
    if dark.any():
        row = int(np.argmax(dark))
        raise DomainError("XYZ", "range", row=row, band=1, detail="a positive Y expected")
    return table


def _whiteness_and_tint(table: Floats, observer: int) -> tuple[Floats, Floats]:
    """Return W and T (n,) by the formulas, wherever the colours lie."""
    total = table.sum(axis=1)
    faint = total <= 0.0
    if faint.any():
        row = int(np.argmax(faint))
        raise DomainError("XYZ", "range", row=row, detail="X + Y + Z above 0 expected")
    white_x, white_y, factor = _WHITENESS[observer]
    x, y = table[:, 0] / total - white_x, table[:, 1] / total - white_y
    return table[:, 1] - 800.0 * x - 1700.0 * y, -factor * x + 650.0 * y


def cie_whiteness(
    tristimulus: npt.ArrayLike, *, illuminant: str, observer: int, limits: Limits
) -> list[Whiteness | NotApplicable]:
    """Return whiteness and tint of XYZ (n, 3), perfect diffuser Y = 100, or why there are none.

    illuminant: D65, for which alone the formula is defined; observer: 2 or 10 degrees.
    limits: the agreement's; ``LIMITS_2004`` and ``LIMITS_OLDER`` are from memory.
    Raises DomainError for other conditions, naming row and band of NaN, infinity and Y of 0.
    Source: CIE 15:2018; ISO 11475 (D65/10).
    """
    if illuminant != "D65":
        raise DomainError("illuminant", "range", detail="CIE whiteness is defined for D65")
    if not isinstance(observer, Real) or observer not in _WHITENESS:
        raise DomainError("observer", "range", detail=f"{observer!r} is neither 2 nor 10 degrees")
    if not isinstance(limits, Limits):
        raise DomainError("limits", "type", detail="Limits expected")
    table = _tristimulus(tristimulus)
    whiteness, tint = _whiteness_and_tint(table, observer)
    columns = zip(table[:, 1].tolist(), whiteness.tolist(), tint.tolist(), strict=True)
    return [_judged(y, w, t, limits) for y, w, t in columns]


def _judged(y: float, whiteness: float, tint: float, limits: Limits) -> Whiteness | NotApplicable:
    """Return the numbers where all limits are kept, otherwise what was left."""
    checks = (
        (TOO_GREY, whiteness > limits.lowest),
        (TOO_WHITE, whiteness < limits.slope * y - limits.offset),
        (TINTED, limits.least_tint < tint < limits.most_tint),
    )
    left = tuple(reason for reason, kept in checks if not kept)
    return NotApplicable(left) if left else Whiteness(whiteness, tint)


def yellowness(tristimulus: npt.ArrayLike, *, illuminant: str, observer: int) -> Floats:
    """Return the yellowness index YI (n,) of XYZ (n, 3), perfect diffuser Y = 100.

    illuminant: C or D65; observer: 2 or 10 degrees, those of the XYZ: YI = 100 (C_X X - C_Z Z)/Y.
    Means something for near-whites only; no limit is published with it.
    Raises DomainError for other conditions, naming row and band of NaN, infinity and Y of 0.
    Source: ASTM E313.
    """
    named = isinstance(illuminant, str) and isinstance(observer, Real)
    if not named or (illuminant, observer) not in YELLOWNESS:
        detail = f"{illuminant}/{observer} is none of C/2, D65/2, C/10, D65/10"
        raise DomainError("illuminant and observer", "range", detail=detail)
    c_x, c_z = YELLOWNESS[illuminant, observer]
    x, y, z = _tristimulus(tristimulus).T
    result: Floats = 100.0 * (c_x * x - c_z * z) / y
    return result
