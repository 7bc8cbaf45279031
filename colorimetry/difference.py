"""Colour differences: CIEDE2000 and the signed CIELAB components."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, finite_table, positive, within
from colorimetry.errors import DomainError

LARGEST = 1e4  # |L*|, |a*|, |b*| beyond this are misreadings; keeps C*^7 far from overflow
_SEVENTH = 25.0**7
# Hue differences this near 180 degrees are decided by an exact product instead of by atan2, whose
# last bit differs between machines (pair 14 of the published table then has two answers).
_OPPOSITE = 1e-6


class Components(NamedTuple):
    """Signed CIELAB differences, specimen minus reference, each (n,)."""

    d_l: Floats
    d_a: Floats
    d_b: Floats
    d_c: Floats
    d_h: Floats


def checked_pair(reference: npt.ArrayLike, specimen: npt.ArrayLike) -> tuple[Floats, Floats]:
    """Return both tables checked and equally long (one reference row serves all specimens)."""
    first = within(finite_table(reference, "reference Lab", 3), "reference Lab", -LARGEST, LARGEST)
    second = within(finite_table(specimen, "specimen Lab", 3), "specimen Lab", -LARGEST, LARGEST)
    if first.shape[0] == 1:
        first = np.broadcast_to(first, second.shape)
    if first.shape != second.shape:
        detail = f"{first.shape[0]} references for {second.shape[0]} specimens"
        raise DomainError("reference Lab", "shape", detail=detail)
    return first, second


def components(reference: npt.ArrayLike, specimen: npt.ArrayLike) -> Components:
    """Return dL*, da*, db*, dC*, dH* of specimens (n, 3) against references (n, 3) or (1, 3).

    dH* is positive where the specimen's hue angle lies counter-clockwise from the reference's;
    dL² + da² + db² = dL² + dC² + dH² up to rounding. Of exactly opposite hues dH* is positive.
    Raises DomainError as ``ciede2000`` does. Source: ISO/CIE 11664-4; CIE 15:2018.
    """
    first, second = checked_pair(reference, specimen)
    delta = second - first
    a_1, b_1, a_2, b_2 = first[:, 1], first[:, 2], second[:, 1], second[:, 2]
    c_1, c_2 = np.hypot(a_1, b_1), np.hypot(a_2, b_2)
    # + 0.0 turns -0.0 into 0.0: atan2(-0.0, -1) would be minus 180 degrees
    angle = np.arctan2((a_1 * b_2 - a_2 * b_1) + 0.0, a_1 * a_2 + b_1 * b_2)
    d_h = 2 * np.sqrt(c_1 * c_2) * np.sin(angle / 2)
    return Components(delta[:, 0], delta[:, 1], delta[:, 2], c_2 - c_1, d_h)


def _hues(
    a_1: Floats, b_1: Floats, a_2: Floats, b_2: Floats, neutral: npt.NDArray[np.bool_]
) -> tuple[Floats, Floats]:
    """Return hue difference and mean hue in degrees by the rules of Sharma, Wu & Dalal."""
    h_1, h_2 = (
        np.where((a == 0) & (b == 0), 0.0, np.degrees(np.arctan2(b, a)) % 360.0)
        for a, b in ((a_1, b_1), (a_2, b_2))
    )
    direct = h_2 - h_1
    cross = a_1 * b_2 - a_2 * b_1
    nearly_opposite = np.abs(np.abs(direct) - 180.0) < _OPPOSITE
    wrapped = np.where(nearly_opposite, cross * direct < 0, np.abs(direct) > 180.0)
    difference = np.where(wrapped, direct - np.copysign(360.0, direct), direct)
    total = h_1 + h_2
    mean = np.where(
        wrapped, np.where(total < 360.0, total + 360.0, total - 360.0) / 2.0, total / 2.0
    )
    return np.where(neutral, 0.0, difference), np.where(neutral, total, mean)


def _chroma_ratio(chroma: Floats) -> Floats:
    """Return sqrt(C^7 / (C^7 + 25^7))."""
    seventh = chroma**7
    return np.sqrt(seventh / (seventh + _SEVENTH))


def ciede2000(
    reference: npt.ArrayLike,
    specimen: npt.ArrayLike,
    *,
    k_l: float = 1.0,
    k_c: float = 1.0,
    k_h: float = 1.0,
) -> Floats:
    """Return CIEDE2000 (n,) between references (n, 3) or (1, 3) and specimens (n, 3), CIELAB.

    k_l, k_c, k_h: the parametric factors, positive. Symmetric in its two arguments.
    Raises DomainError for NaN, infinity, |value| > 10 000, shapes and factors that do not fit.
    Source: ISO/CIE 11664-6; Sharma, Wu & Dalal, Color Res. Appl. 30(1):21-30 (2005).
    """
    for factor in (k_l, k_c, k_h):
        positive(factor, "k-factors")
    first, second = checked_pair(reference, specimen)
    (l_1, a_1, b_1), (l_2, a_2, b_2) = first.T, second.T
    stretch = 1.5 - 0.5 * _chroma_ratio((np.hypot(a_1, b_1) + np.hypot(a_2, b_2)) / 2.0)
    a_1, a_2 = stretch * a_1, stretch * a_2
    c_1, c_2 = np.hypot(a_1, b_1), np.hypot(a_2, b_2)
    d_hue, hue = _hues(a_1, b_1, a_2, b_2, c_1 * c_2 == 0)
    lightness, chroma = (l_1 + l_2) / 2.0, (c_1 + c_2) / 2.0
    t = (
        1.0
        - 0.17 * np.cos(np.radians(hue - 30.0))
        + 0.24 * np.cos(np.radians(2.0 * hue))
        + 0.32 * np.cos(np.radians(3.0 * hue + 6.0))
        - 0.20 * np.cos(np.radians(4.0 * hue - 63.0))
    )
    squared = (lightness - 50.0) ** 2
    s_l = 1.0 + 0.015 * squared / np.sqrt(20.0 + squared)
    s_c = 1.0 + 0.045 * chroma
    s_h = 1.0 + 0.015 * chroma * t
    turn = 30.0 * np.exp(-(((hue - 275.0) / 25.0) ** 2))
    r_t = -2.0 * _chroma_ratio(chroma) * np.sin(np.radians(2.0 * turn))
    light = (l_2 - l_1) / (k_l * s_l)
    chrom = (c_2 - c_1) / (k_c * s_c)
    tint = 2.0 * np.sqrt(c_1 * c_2) * np.sin(np.radians(d_hue) / 2.0) / (k_h * s_h)
    # the quadratic form is positive definite for real colours; rounding may leave a tiny negative
    result: Floats = np.sqrt(np.maximum(light**2 + chrom**2 + tint**2 + r_t * chrom * tint, 0.0))
    return result
