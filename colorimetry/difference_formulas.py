"""Colour-difference formulas beside CIEDE2000, and one entry point for all of them.

``difference("CMC", reference=…, specimen=…, l_weight=2, c_weight=1)`` computes any formula of
``FORMULAS``. The two colours are keyword-only: CMC and CIE94 weight by the reference's position,
so that exchanging the two changes the result. Values of different formulas are not comparable.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, finite_table, positive, within
from colorimetry.difference import LARGEST, checked_pair, ciede2000, components
from colorimetry.errors import DomainError

# CIE 116-1995: k_L, K_1, K_2 of the two fields of application
CIE94_FACTORS: Mapping[str, tuple[float, float, float]] = MappingProxyType(
    {"graphic_arts": (1.0, 0.045, 0.015), "textiles": (2.0, 0.048, 0.014)}
)
_DIN99O_TURN = np.radians(26.0)
_DIN99O_LOWEST = -1.0 / 0.0039  # L* at which the logarithm's argument is zero


def _positive(**factors: float | str) -> None:
    """Raise DomainError naming the first factor that is not a positive number."""
    for name, factor in factors.items():
        positive(factor, name)


def cielab(*, reference: npt.ArrayLike, specimen: npt.ArrayLike) -> Floats:
    """Return dE*ab (n,) of specimens (n, 3) against references (n, 3) or (1, 3), CIELAB.

    Symmetric. Raises DomainError as ``ciede2000`` does. Source: ISO/CIE 11664-4; CIE 15:2018.
    """
    first, second = checked_pair(reference, specimen)
    delta = second - first
    result: Floats = np.sqrt(np.einsum("nk,nk->n", delta, delta))
    return result


def _cmc_weights(reference: Floats) -> tuple[Floats, Floats, Floats]:
    """Return S_L, S_C and S_H (n,) at the references' positions."""
    lightness, a, b = reference.T
    chroma = np.hypot(a, b)
    hue = np.degrees(np.arctan2(b, a)) % 360.0
    dark = lightness < 16.0
    above = np.where(dark, 16.0, lightness)
    s_l = np.where(dark, 0.511, 0.040975 * above / (1.0 + 0.01765 * above))
    s_c = 0.0638 * chroma / (1.0 + 0.0131 * chroma) + 0.638
    t = np.where(
        (hue >= 164.0) & (hue <= 345.0),
        0.56 + np.abs(0.2 * np.cos(np.radians(hue + 168.0))),
        0.36 + np.abs(0.4 * np.cos(np.radians(hue + 35.0))),
    )
    fourth = chroma**4
    f = np.sqrt(fourth / (fourth + 1900.0))
    return s_l, s_c, s_c * (f * t + 1.0 - f)


def cmc(
    *, reference: npt.ArrayLike, specimen: npt.ArrayLike, l_weight: float, c_weight: float
) -> Floats:
    """Return CMC(l:c) (n,) of specimens (n, 3) against references (n, 3) or (1, 3), CIELAB.

    l_weight, c_weight: l and c, positive; 2:1 and 1:1 are both in use, so neither is assumed.
    Not symmetric: the weights stand at the reference. They jump a little at L* = 16 and at the hue
    angles 164 and 345 degrees, which the standard's own branches do.
    Raises DomainError as ``ciede2000`` does, and for weights that are not positive.
    Source: ISO 105-J03 (after Clarke, McDonald & Rigg 1984; from memory).
    """
    _positive(l_weight=l_weight, c_weight=c_weight)
    first, second = checked_pair(reference, specimen)
    parts = components(first, second)
    s_l, s_c, s_h = _cmc_weights(first)
    result: Floats = np.sqrt(
        (parts.d_l / (l_weight * s_l)) ** 2
        + (parts.d_c / (c_weight * s_c)) ** 2
        + (parts.d_h / s_h) ** 2
    )
    return result


def cie94(*, reference: npt.ArrayLike, specimen: npt.ArrayLike, application: str) -> Floats:
    """Return CIE94 (n,) of specimens (n, 3) against references (n, 3) or (1, 3), CIELAB.

    application: "graphic_arts" or "textiles". Not symmetric: the chroma in the weights is the
    reference's (a geometric mean of both chromas, allowed where neither is the reference, is not
    offered).
    Raises DomainError as ``ciede2000`` does, and for another application.
    Source: CIE 116-1995.
    """
    if not isinstance(application, str) or application not in CIE94_FACTORS:
        raise DomainError("application", "range", detail=f"one of {', '.join(CIE94_FACTORS)}")
    k_l, k_1, k_2 = CIE94_FACTORS[application]
    first, second = checked_pair(reference, specimen)
    parts = components(first, second)
    chroma = np.hypot(first[:, 1], first[:, 2])
    result: Floats = np.sqrt(
        (parts.d_l / k_l) ** 2
        + (parts.d_c / (1.0 + k_1 * chroma)) ** 2
        + (parts.d_h / (1.0 + k_2 * chroma)) ** 2
    )
    return result


def din99o_coordinates(lab: npt.ArrayLike, *, k_e: float = 1.0, k_ch: float = 1.0) -> Floats:
    """Return L99o, a99o, b99o (n, 3) of CIELAB colours (n, 3).

    k_e, k_ch: the formula's parametric factors, positive.
    Raises DomainError for NaN, infinity, |value| > 10 000, shapes and factors that do not fit, and
    for L* at or below -256.4, where the logarithm ends.
    Source: DIN 6176; Cui, Luo, Rigg, Roesler & Witt, Color Res. Appl. 27(4):282-290 (2002).
    """
    _positive(k_e=k_e, k_ch=k_ch)
    table = within(finite_table(lab, "Lab", 3), "Lab", -LARGEST, LARGEST)
    lightness, a, b = table.T
    below = lightness <= _DIN99O_LOWEST
    if below.any():
        row = int(np.argmax(below))
        detail = "L* too low for the logarithm of DIN99o"
        raise DomainError("Lab", "range", row=row, band=0, detail=detail)
    cosine, sine = np.cos(_DIN99O_TURN), np.sin(_DIN99O_TURN)
    e = a * cosine + b * sine
    f = 0.83 * (b * cosine - a * sine)
    chroma = np.log1p(0.075 * np.hypot(e, f)) / (0.0435 * k_ch * k_e)
    hue = np.arctan2(f, e) + _DIN99O_TURN
    return np.column_stack(
        (
            303.67 / k_e * np.log1p(0.0039 * lightness),
            chroma * np.cos(hue),
            chroma * np.sin(hue),
        )
    )


def din99o(
    *, reference: npt.ArrayLike, specimen: npt.ArrayLike, k_e: float = 1.0, k_ch: float = 1.0
) -> Floats:
    """Return dE99o (n,) of specimens (n, 3) against references (n, 3) or (1, 3), CIELAB.

    k_e, k_ch: the formula's parametric factors, positive. Symmetric.
    Raises DomainError as ``din99o_coordinates`` does. Source: DIN 6176.
    """
    first, second = checked_pair(reference, specimen)
    delta = din99o_coordinates(second, k_e=k_e, k_ch=k_ch) - din99o_coordinates(
        first, k_e=k_e, k_ch=k_ch
    )
    result: Floats = np.sqrt(np.einsum("nk,nk->n", delta, delta))
    return result


@dataclass(frozen=True)
class Formula:
    """A colour-difference formula: its function, its parameters and what may be relied on.

    ``parameters`` maps each parameter to its default; None means that it must be stated.
    ``symmetric``: whether exchanging reference and specimen leaves the result as it is.
    """

    compute: Callable[..., Floats]
    parameters: Mapping[str, float | None]
    symmetric: bool
    source: str


FORMULAS: Mapping[str, Formula] = MappingProxyType(
    {
        "CIELAB": Formula(cielab, {}, True, "ISO/CIE 11664-4"),
        "CIEDE2000": Formula(
            ciede2000, {"k_l": 1.0, "k_c": 1.0, "k_h": 1.0}, True, "ISO/CIE 11664-6"
        ),
        "CMC": Formula(cmc, {"l_weight": None, "c_weight": None}, False, "ISO 105-J03"),
        "CIE94": Formula(cie94, {"application": None}, False, "CIE 116-1995"),
        "DIN99o": Formula(din99o, {"k_e": 1.0, "k_ch": 1.0}, True, "DIN 6176"),
    }
)


def difference(
    formula: str,
    *,
    reference: npt.ArrayLike,
    specimen: npt.ArrayLike,
    **parameters: float | str,
) -> Floats:
    """Return the difference (n,) of specimens (n, 3) against references (n, 3) or (1, 3), CIELAB.

    formula: a name in ``FORMULAS``; parameters: those of the formula. A parameter without default
    must be given: CMC's l_weight and c_weight, CIE94's application.
    Raises DomainError for a formula or parameter that is unknown, for one that is missing, and as
    the formula itself does.
    """
    if not isinstance(formula, str) or formula not in FORMULAS:
        raise DomainError("formula", "range", detail=f"one of {', '.join(FORMULAS)}")
    known = FORMULAS[formula].parameters
    for name in parameters:
        if name not in known:
            expected = ", ".join(known) or "none"
            raise DomainError(name, "range", detail=f"{formula} has the parameters {expected}")
        if name != "application":
            _positive(**{name: parameters[name]})
    for name, default in known.items():
        if default is None and name not in parameters:
            raise DomainError(name, "missing", detail=f"{formula} has no usual value for it")
    return FORMULAS[formula].compute(reference=reference, specimen=specimen, **parameters)
