"""Reflection at the surface of a film: Fresnel's formulas and Saunderson's correction.

An instrument sees light reflected at the surface and light that came out of the film. Saunderson's
correction turns measured into internal reflectances and back, for films and backings alike.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, finite_table, number, within
from colorimetry.errors import DomainError

INCLUDED, EXCLUDED = "included", "excluded"
LARGEST_INDEX = 1e6  # no material comes near; beyond it squares of the index lose the rest
_ROUNDING = 1e-14
# Fresnel's reflectance is smooth in the cosine above 0: 64 points give it to the last digits
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(64)


def _index(refractive_index: float) -> float:
    """Return the refractive index; DomainError where it is not from 1 to LARGEST_INDEX."""
    return number(refractive_index, "refractive index", 1.0, LARGEST_INDEX)


def fresnel(refractive_index: float, angle: npt.ArrayLike) -> Floats:
    """Return the reflectance (n,) of unpolarised light that falls from air at ``angle``.

    refractive_index: of the film, real, from 1; angle: (n,) in degrees from the normal, 0 to 90.
    Raises DomainError for indices below 1 and angles outside 0 to 90. Source: Fresnel's formulas.
    """
    angles = within(finite_table(angle, "angle"), "angle", 0.0, 90.0)
    if angles.shape[0] != 1:
        raise DomainError("angle", "shape", detail=f"one row expected, got {angles.shape}")
    return _reflected(_index(refractive_index), np.cos(np.radians(angles[0])))


def _reflected(n: float, outside: Floats) -> Floats:
    """Return the reflectance at the cosines ``outside`` of the angle of incidence in air."""
    inside = np.sqrt(n * n - 1.0 + outside * outside) / n
    across = (outside - n * inside) / np.maximum(outside + n * inside, np.finfo(float).tiny)
    along = (n * outside - inside) / np.maximum(n * outside + inside, np.finfo(float).tiny)
    result: Floats = (across**2 + along**2) / 2.0
    return result


def normal_reflection(refractive_index: float) -> float:
    """Return k1 for light along the normal: ((n - 1)/(n + 1))².

    Raises DomainError for indices below 1. Source: Fresnel's formulas.
    """
    n = _index(refractive_index)
    return float(((n - 1.0) / (n + 1.0)) ** 2)


def diffuse_reflection(refractive_index: float) -> float:
    """Return k1 for diffuse light from outside: Fresnel's reflectance over the hemisphere.

    Raises DomainError for indices below 1.
    Source: the integral of Fresnel's formulas weighted by sin 2θ.
    """
    cosine = (_NODES + 1.0) / 2.0
    values = _reflected(_index(refractive_index), cosine) * cosine
    return float(np.einsum("k,k->", _WEIGHTS, values))


def internal_reflection(refractive_index: float) -> float:
    """Return k2 for diffuse light from inside, total reflection included.

    1 - k2 = (1 - k1)/n² with k1 the diffuse reflection from outside. Measured films need less than
    this theoretical value, 0.4 to 0.6 (from memory, no source seen): state what was used.
    Raises DomainError for indices below 1.
    Source: reversal of light paths; the test integrates from inside.
    """
    n = _index(refractive_index)
    return 1.0 - (1.0 - diffuse_reflection(n)) / (n * n)


def _constants(k1: float, k2: float, specular: str) -> None:
    """Raise DomainError where k1 or k2 is not from 0 to below 1, or specular is neither word."""
    for name, value in (("k1", k1), ("k2", k2)):
        if not 0.0 <= number(value, name) < 1.0:
            raise DomainError(name, "range", detail="a number from 0 to below 1 expected")
    if not isinstance(specular, str) or specular not in (INCLUDED, EXCLUDED):
        raise DomainError("specular", "range", detail=f"{INCLUDED} or {EXCLUDED} expected")


def measured(internal: npt.ArrayLike, *, k1: float, k2: float, specular: str) -> Floats:
    """Return what an instrument reads (n, bands) of internal reflectances (n, bands), 0 to 1.

    k1: reflection at the surface from outside; k2: from inside, diffuse; both 0 to below 1.
    specular: "included" (8°:di) or "excluded" (8°:de, and 45°:0° on gloss): whether k1 is seen.
    Raises DomainError naming row and band. Source: Saunderson (1942; from
    memory); title of ISO 18314-2:2023.
    """
    _constants(k1, k2, specular)
    table = within(finite_table(internal, "internal reflectance"), "internal reflectance", 0.0, 1.0)
    emerging = (1.0 - k1) * (1.0 - k2) * table / (1.0 - k2 * table)
    return emerging + k1 if specular == INCLUDED else emerging


def internal(reading: npt.ArrayLike, *, k1: float, k2: float, specular: str) -> Floats:
    """Return the internal reflectances (n, bands) of measured ones (n, bands).

    k1, k2, specular: as in ``measured``, whose inverse this is.
    Raises DomainError naming row and band; ``below_surface`` for readings below what the surface
    reflects (k1 too large, or specular not included after all), ``range`` for internal values
    above 1. Nothing is clamped. Source: as ``measured``.
    """
    _constants(k1, k2, specular)
    table = finite_table(reading, "measured reflectance")
    emerging = table - k1 if specular == INCLUDED else table
    low = np.argwhere(emerging < 0.0)
    if len(low):
        row, band = (int(i) for i in low[0])
        detail = f"{float(table[row, band])!r} is below what the surface reflects"
        raise DomainError(
            "measured reflectance", "below_surface", row=row, band=band, detail=detail
        )
    result = emerging / ((1.0 - k1) * (1.0 - k2) + k2 * emerging)
    # a reading of the internal reflectance 1 may come back above it by rounding
    result = np.where((result > 1.0) & (result <= 1.0 + _ROUNDING), 1.0, result)
    return within(result, "internal reflectance", 0.0, 1.0)
