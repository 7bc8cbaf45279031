"""Correlated colour temperature and the signed distance from the Planckian locus (Duv).

Defined in the CIE 1960 (u, v) diagram with the 2 degree observer. The nearest point of the locus
is found by bisection on the Planckian spectra themselves, so that no table's spacing limits it.
Sources: CIE 15:2018; Y. Ohno, Leukos 10(1):47-55 (2014), whose sign of Duv is taken (above the
locus positive); c2 = 1.4388e-2 m K.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, finite_table, real_array
from colorimetry.errors import DomainError
from colorimetry.spectral_power import colour_matching
from colorimetry.weights import START, STOP

SECOND_CONSTANT = 1.4388e-2  # m K
COLDEST, HOTTEST = 1000.0, 100_000.0  # kelvin
FARTHEST = 0.05  # |Duv|; CIE 15: beyond it a colour temperature has no meaning
_NODES = 400
_HALVINGS = 50


class Temperature(NamedTuple):
    """Correlated colour temperature in kelvin and Duv, each (n,)."""

    cct: Floats
    duv: Floats


def planck(temperature: npt.ArrayLike) -> Floats:
    """Return Planckian power (n, 421) at 360 to 780 nm, 1 nm, of temperatures (n,) in kelvin.

    Scaled by no constant. DomainError outside 1000 to 100 000 K. Source: CIE 15:2018.
    """
    return _power(1.0 / _temperatures(temperature))[0]


def planckian_uv(temperature: npt.ArrayLike) -> Floats:
    """Return u, v (n, 2) of the Planckian locus at temperatures (n,) in kelvin.

    DomainError outside 1000 to 100 000 K. Source: CIE 15:2018.
    """
    return _locus(1.0 / _temperatures(temperature))[0]


def correlated_temperature(uv: npt.ArrayLike) -> Temperature:
    """Return CCT and Duv of chromaticities u, v (n, 2) in the CIE 1960 diagram.

    Raises DomainError naming the row for NaN, infinity, |Duv| of 0.05 and more ("not meaningful")
    and chromaticities beyond the ends of the locus at 1000 and 100 000 K.
    Source: CIE 15:2018; Ohno (2014) for the sign of Duv.
    """
    found = nearest_temperature(uv)
    far = np.abs(found.duv) >= FARTHEST
    if far.any():
        row = int(np.argmax(far))
        detail = f"Duv {float(found.duv[row]):.4f}: colour temperature is not meaningful"
        raise DomainError("chromaticity", "range", row=row, detail=detail)
    return found


def nearest_temperature(uv: npt.ArrayLike) -> Temperature:
    """Return the temperature and Duv of the nearest point of the locus, however far it lies.

    For those who say themselves when it is not meaningful. Raises DomainError naming the row for
    NaN, infinity and chromaticities beyond the ends of the locus. Source: as
    ``correlated_temperature``.
    """
    table = finite_table(uv, "chromaticity", columns=2)
    nodes, locus = _table()
    near = np.argmin(((table[:, None] - locus) ** 2).sum(axis=2), axis=1)
    low, high = nodes[np.maximum(near - 1, 0)], nodes[np.minimum(near + 1, _NODES - 1)]
    outside = (_along(table, low) < 0) | (_along(table, high) > 0)
    if outside.any():
        detail = f"beyond the locus from {COLDEST:g} to {HOTTEST:g} K"
        raise DomainError("chromaticity", "range", row=int(np.argmax(outside)), detail=detail)
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        ahead = _along(table, middle) > 0
        low, high = np.where(ahead, middle, low), np.where(ahead, high, middle)
    inverse = 0.5 * (low + high)
    point, tangent = _locus(inverse)
    away = table - point
    # a quarter turn to the left of rising 1/T points above the locus
    duv = (tangent[:, 0] * away[:, 1] - tangent[:, 1] * away[:, 0]) / np.hypot(*tangent.T)
    return Temperature(1.0 / inverse, duv)


def uv_of_temperature(temperature: npt.ArrayLike, duv: npt.ArrayLike) -> Floats:
    """Return u, v (n, 2) of temperatures (n,) in kelvin at signed distances Duv (n,).

    Inverse of ``correlated_temperature``; DomainError outside its domain. Source: as there.
    """
    inverse = 1.0 / _temperatures(temperature)
    away = finite_table(np.reshape(real_array(duv, "Duv"), (-1, 1)), "Duv")[:, 0]
    if len(away) not in (1, len(inverse)) or (np.abs(away) >= FARTHEST).any():
        detail = f"one for each temperature, below {FARTHEST:g} in amount"
        raise DomainError("Duv", "range", detail=detail)
    point, tangent = _locus(inverse)
    normal = np.column_stack((-tangent[:, 1], tangent[:, 0])) / np.hypot(*tangent.T)[:, None]
    result: Floats = point + away[:, None] * normal
    return result


def _temperatures(value: npt.ArrayLike) -> Floats:
    """Return temperatures (n,) inside the domain; DomainError with the row for others."""
    table = finite_table(np.reshape(real_array(value, "temperature"), (-1, 1)), "temperature")
    outside = (table < COLDEST) | (table > HOTTEST)
    if outside.any():
        detail = f"{COLDEST:g} to {HOTTEST:g} K expected"
        row = int(np.argmax(outside[:, 0]))
        raise DomainError("temperature", "range", row=row, detail=detail)
    return table[:, 0]


def _power(inverse: Floats) -> tuple[Floats, Floats]:
    """Return Planckian power (n, 421) at 1/T (n,) and its derivative by 1/T."""
    metres = np.arange(START, STOP + 1) * 1e-9
    scale = (560e-9 / metres) ** 5
    exponent = SECOND_CONSTANT * inverse[:, None] / metres
    less_one = np.expm1(exponent)
    power = scale / less_one
    slope = -power * (SECOND_CONSTANT / metres) * (1.0 + 1.0 / less_one)
    return power, slope


def _locus(inverse: Floats) -> tuple[Floats, Floats]:
    """Return u, v (n, 2) of the locus at 1/T (n,) and the derivative by 1/T, (n, 2)."""
    functions = colour_matching(2)
    found, slope = (np.einsum("nw,cw->cn", part, functions) for part in _power(inverse))
    below = found[0] + 15.0 * found[1] + 3.0 * found[2]
    steeper = slope[0] + 15.0 * slope[1] + 3.0 * slope[2]
    sides = ((4.0, 0), (6.0, 1))
    point = np.column_stack([k * found[i] / below for k, i in sides])
    tangent = np.column_stack(
        [k * (slope[i] * below - found[i] * steeper) / below**2 for k, i in sides]
    )
    return point, tangent


def _along(uv: Floats, inverse: Floats) -> Floats:
    """Return how far (n,) each chromaticity lies ahead of the locus point in rising 1/T."""
    point, tangent = _locus(inverse)
    ahead: Floats = np.einsum("ni,ni->n", uv - point, tangent)
    return ahead


@cache
def _table() -> tuple[Floats, Floats]:
    """Return 1/T (400,), evenly spaced, and the locus there (400, 2)."""
    nodes = np.linspace(1.0 / HOTTEST, 1.0 / COLDEST, _NODES)
    return nodes, _locus(nodes)[0]
