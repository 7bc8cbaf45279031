"""Grey scales of the textile trade: the scale's own steps, and grades computed from colours.

Grades have ids as they are printed: "5", "4-5", "4" … "1". The computed grades describe a change
of one specimen against its original; they are no difference formula for two specimens.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, finite_table, name, number, within
from colorimetry.difference import checked_pair, components
from colorimetry.errors import DomainError
from colorimetry.numbers import quantise

GRADES = ("5", "4-5", "4", "3-4", "3", "2-3", "2", "1-2", "1")
_DECIMALS = 2  # of a computed grade before it is put into a band
_TOP_BAND, _HALF = Decimal("4.75"), Decimal("0.5")
# ISO 105-A05: dE_F from which each grade below 5 begins, as in two public implementations. They are
# not quite where the bands of the computed grade end (0.40 against 0.425, 11.60 against 11.43).
_CHANGE_BANDS = (0.40, 1.25, 2.10, 2.95, 4.10, 5.80, 8.20, 11.60)


class Step(NamedTuple):
    """A pair of the grey scale: dE*ab between its halves, and the tolerance on it."""

    difference: float
    tolerance: float


# ISO 105-A02:1993, change in colour, dE*ab. The tolerance of grade 5 is from memory, check your
# copy of the standard.
CHANGE: Mapping[str, Step] = MappingProxyType(
    {
        "5": Step(0.0, 0.2),
        "4-5": Step(0.8, 0.2),
        "4": Step(1.7, 0.3),
        "3-4": Step(2.5, 0.35),
        "3": Step(3.4, 0.4),
        "2-3": Step(4.8, 0.5),
        "2": Step(6.8, 0.6),
        "1-2": Step(9.6, 0.7),
        "1": Step(13.6, 1.0),
    }
)


def scale_deviations(measured: Mapping[str, float]) -> dict[str, float]:
    """Return, for pairs of a grey scale for change, measured minus nominal dE*ab by grade.

    measured: from the grade to dE*ab between the halves, D65/10; five- or nine-step scales.
    To be compared with the tolerance in ``CHANGE``.
    Raises DomainError for unknown grades and differences that are not numbers from 0.
    Source: ISO 105-A02:1993.
    """
    found = {}
    for grade, value in measured.items():
        name(grade, "grade", CHANGE)
        found[grade] = number(value, f"pair {grade}", 0.0) - CHANGE[grade].difference
    return found


def _mean_hue(first: Floats, second: Floats) -> Floats:
    """Return the mean hue angle in degrees; a neutral colour has hue 0."""
    h_1, h_2 = (
        np.where((lab[:, 1] == 0) & (lab[:, 2] == 0), 0.0, np.arctan2(lab[:, 2], lab[:, 1]))
        for lab in (first, second)
    )
    h_1, h_2 = np.degrees(h_1) % 360.0, np.degrees(h_2) % 360.0
    total = h_1 + h_2
    turned = np.where(total < 360.0, 180.0, -180.0)
    return total / 2.0 + np.where(np.abs(h_1 - h_2) > 180.0, turned, 0.0)


def change_difference(*, original: npt.ArrayLike, tested: npt.ArrayLike) -> Floats:
    """Return dE_F (n,) of tested (n, 3) against original (n, 3) or (1, 3), CIELAB under D65/10.

    Raises DomainError naming row and band as ``components`` does ("reference" is the original).
    Source: ISO 105-A05, from memory, check your copy of the standard: mean hue and its distance
    from 280 degrees agree with a public implementation that quotes EN ISO 105-A05:1997, 7.2, the
    correction D and the weights of dC and dH with two more that quote no clause.
    """
    first, second = checked_pair(original, tested)
    parts = components(first, second)
    chroma = (np.hypot(*first.T[1:]) + np.hypot(*second.T[1:])) / 2.0
    away = np.abs(_mean_hue(first, second) - 280.0)
    away = np.where(away <= 180.0, away, 360.0 - away)
    d = parts.d_c * chroma * np.exp(-((away / 30.0) ** 2)) / 100.0
    d_c = (parts.d_c - d) / (1.0 + (20.0 * chroma / 1000.0) ** 2)
    d_h = (parts.d_h - d) / (1.0 + (10.0 * chroma / 1000.0) ** 2)
    result: Floats = np.sqrt(parts.d_l**2 + d_c**2 + d_h**2)
    return result


def change_rating(difference: npt.ArrayLike) -> Floats:
    """Return the computed grade GS_c (n,), 5 down to 1, of dE_F (n,).

    5 - dE_F/1.7 up to 3.4, beyond 5 - log2(dE_F/0.85), not below 1: grade 1 is open-ended.
    Raises DomainError naming the place of NaN, infinity and negative values.
    Source: ISO 105-A05, as in a public implementation that quotes EN ISO 105-A05:1997, 8.
    """
    value = _row(difference, "dE_F")
    steep = 5.0 - np.log2(np.maximum(value, 3.4) / 0.85)
    return np.maximum(np.where(value <= 3.4, 5.0 - value / 1.7, steep), 1.0)


def change_grade(difference: npt.ArrayLike) -> list[str]:
    """Return the grades (n,) of dE_F (n,) by the bands of dE_F; 0.40 is the first "4-5".

    Near a band's end it may lie half a grade from ``grade`` of the computed grade GS_c: state which
    of the two is meant.
    Raises DomainError naming the place of NaN, infinity and negative values.
    Source: the table of ISO 105-A05, as in two public implementations, check your copy.
    """
    value = _row(difference, "dE_F")
    return [GRADES[i] for i in np.searchsorted(_CHANGE_BANDS, value, side="right").tolist()]


def staining_difference(*, original: npt.ArrayLike, tested: npt.ArrayLike) -> Floats:
    """Return dE_GS (n,) of stained (n, 3) against unstained cloth (n, 3) or (1, 3), CIELAB.

    dE*ab less four tenths of its part without lightness.
    Raises DomainError naming row and band as ``components`` does ("reference" is the original).
    Source: ISO 105-A04, as quoted by a public implementation.
    """
    first, second = checked_pair(original, tested)
    delta = second - first
    colour = np.hypot(delta[:, 1], delta[:, 2])
    result: Floats = np.hypot(colour, delta[:, 0]) - 0.4 * colour
    return result


def staining_rating(difference: npt.ArrayLike) -> Floats:
    """Return the staining rating SSR (n,), 5 down to 1, of dE_GS (n,).

    6.1 - 1.45 ln dE_GS where that is at most 4, otherwise 5 - 0.23 dE_GS; not below 1.
    Raises DomainError naming the place of NaN, infinity and negative values.
    Source: ISO 105-A04, from memory, check your copy of the standard.
    """
    value = _row(difference, "dE_GS")
    far = 6.1 - 1.45 * np.log(np.maximum(value, 1.0))  # below 1 it is far above 4
    return np.maximum(np.where(far <= 4.0, far, 5.0 - 0.23 * value), 1.0)


def _row(value: npt.ArrayLike, what: str) -> Floats:
    """Return numbers (n,) from 0 of one number or a row of them."""
    table = finite_table(value, what)
    if table.shape[0] != 1:
        raise DomainError(what, "shape", detail=f"one row expected, got {table.shape}")
    row: Floats = within(table, what, 0.0, np.inf)[0]
    return row


def grade(rating: float) -> str:
    """Return the half grade of a computed rating from 1 to 5: its bands end at .25 and .75.

    The rating is quantised to two decimals first: 4.75 and above is "5", 4.25 to 4.74 "4-5".
    Raises DomainError for numbers that are not from 1 to 5.
    Source: the bands of ISO 105-A04, as quoted by a public implementation; ISO 105-A05 likewise.
    """
    printed = quantise(rating, _DECIMALS)
    if not 1 <= printed <= 5:
        raise DomainError("rating", "range", detail=f"{printed} is not between 1 and 5")
    return GRADES[max(0, math.ceil((_TOP_BAND - printed) / _HALF))]
