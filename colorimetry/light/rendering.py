"""CIE general colour rendering index Ra, with its guard."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

import numpy as np

from colorimetry.arrays import Floats
from colorimetry.errors import DomainError
from colorimetry.light.chromaticity import lamp_xyz, uv_1960
from colorimetry.light.daylight import HOTTEST, daylight, light_tables
from colorimetry.light.temperature import FARTHEST, nearest_temperature, planck
from colorimetry.spectral_power import Interpolation, SpectralPower, colour_matching
from colorimetry.weights import Grid

TOLERANCE = 5.4e-3  # CIE 13.3: chromaticity difference between lamp and reference, (u, v) of 1960
DAYLIGHT_FROM = 5000.0  # kelvin; a Planckian radiator below

Meaning = Literal["meaningful", "colour temperature", "chromaticity"]


@dataclass(frozen=True)
class Rendering:
    """The index of one lamp, or why it has none.

    meaning: "meaningful"; "colour temperature" where Duv is 0.05 or more in amount, the temperature
    has no reference illuminant or the chromaticity lies beyond the ends of the Planckian locus
    (then cct and duv are None); "chromaticity" where lamp and reference differ by 5.4e-3 or more.
    Only a meaningful index has ``general`` (Ra, mean of the first eight) and
    ``special`` (the fourteen Ri).
    """

    meaning: Meaning
    cct: float | None
    duv: float | None
    distance: float | None = None
    general: float | None = None
    special: tuple[float, ...] = ()


def colour_rendering(lamp: SpectralPower, *, interpolation: Interpolation) -> Rendering:
    """Return the CIE colour rendering index of a lamp.

    Reference of equal correlated colour temperature: a Planckian radiator below 5000 K, daylight
    from there on. Sums of 1 nm products, 360 to 780 nm, 2 degree observer; the samples are
    interpolated linearly between their 5 nm values. Errors as ``SpectralPower.per_nanometre``.
    Source: CIE 13.3-1995. A lamp's index says little about how well it simulates daylight for
    matching: see ``colorimetry.light.simulator``.
    """
    power = lamp.per_nanometre(interpolation)
    lamp_uv = uv_1960(lamp_xyz(lamp, 2, interpolation=interpolation))
    try:
        found = nearest_temperature(lamp_uv)
    except DomainError:
        return Rendering("colour temperature", None, None)
    cct, duv = float(found.cct[0]), float(found.duv[0])
    if abs(duv) >= FARTHEST or cct > HOTTEST:
        return Rendering("colour temperature", cct, duv)
    reference = _reference(cct)
    (lamp_white, lamp_colours), (white, colours) = _colours(power), _colours(reference)
    distance = float(np.hypot(*(lamp_white - white)))
    if distance >= TOLERANCE:
        return Rendering("chromaticity", cct, duv, distance)
    adapted = _adapted(lamp_colours, lamp_white, white)
    shifts = np.linalg.norm(_uvw(adapted, white) - _uvw(colours, white), axis=1)
    special = tuple(float(value) for value in 100.0 - 4.6 * shifts)
    return Rendering("meaningful", cct, duv, distance, float(np.mean(special[:8])), special)


def _reference(cct: float) -> Floats:
    """Return the power of the reference illuminant, (421,)."""
    if cct < DAYLIGHT_FROM:
        radiator: Floats = planck(cct)[0]
        return radiator
    return daylight(cct).per_nanometre("linear")


@cache
def _samples() -> Floats:
    """Return the samples' radiance factors at 1 nm, (14, 421)."""
    coarse = np.asarray(Grid(360, 780, 5).wavelengths(), dtype=np.float64)
    fine = np.arange(360.0, 781.0)
    return np.array([np.interp(fine, coarse, row) for row in light_tables()["samples"]])


def _colours(power: Floats) -> tuple[Floats, Floats]:
    """Return u, v (2,) of the light and Y, u, v (14, 3) of the samples in it (white: Y = 100)."""
    products = power * colour_matching(2)
    white = np.einsum("cw->c", products)
    found = np.einsum("sw,cw->sc", _samples(), products) * (100.0 / white[1])
    return uv_1960(white)[0], np.column_stack((found[:, 1], uv_1960(found)))


def _cd(uv: Floats) -> tuple[Floats, Floats]:
    """Return c and d of chromaticities (..., 2), CIE 13.3."""
    u, v = uv[..., 0], uv[..., 1]
    return (4.0 - u - 10.0 * v) / v, (1.708 * v + 0.404 - 1.481 * u) / v


def _adapted(colours: Floats, lamp: Floats, reference: Floats) -> Floats:
    """Return Y, u, v (n, 3) after the von Kries shift from the lamp's white to the reference's."""
    (c, d), (c_k, d_k), (c_r, d_r) = _cd(colours[:, 1:]), _cd(lamp), _cd(reference)
    c, d = c * c_r / c_k, d * d_r / d_k
    below = 16.518 + 1.481 * c - d
    return np.column_stack((colours[:, 0], (10.872 + 0.404 * c - 4.0 * d) / below, 5.520 / below))


def _uvw(colours: Floats, white: Floats) -> Floats:
    """Return U*, V*, W* (n, 3) of Y, u, v (n, 3), CIE 1964."""
    w = 25.0 * np.cbrt(colours[:, 0]) - 17.0
    return np.column_stack((13.0 * w[:, None] * (colours[:, 1:] - white), w))
