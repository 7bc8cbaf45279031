"""How coloured surroundings tint the light on a specimen: inter-reflection of the first order."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, finite_table, number, within
from colorimetry.errors import DomainError
from colorimetry.light.chromaticity import chromaticity_distance, uv_1976
from colorimetry.tristimulus import lab, xyz
from colorimetry.weights import diffuser


@dataclass(frozen=True, eq=False)
class Tint:
    """What surroundings do to the light and to a neutral specimen in it.

    shift: distance in u', v' between the light with and without them; lab: CIELAB (3,) of the
    neutral specimen in the tinted light of equal illuminance, against the white of the clean light
    (to which observers are taken to be adapted); clean: the same specimen in clean light; gain:
    illuminance with the surroundings over illuminance without.
    """

    shift: float
    lab: Floats
    clean: Floats
    gain: float


def tint(
    weights: npt.ArrayLike,
    surfaces: npt.ArrayLike,
    form_factors: npt.ArrayLike,
    *,
    neutral: float,
    relative_illuminance: npt.ArrayLike = 1.0,
) -> Tint:
    """Return the tint that m surfaces in view of the specimen give to its light.

    weights: (3, n) of the light (``weights`` or ``lamp_weights``); surfaces: reflectance factors
    (m, n) of walls, floor, clothes ... on the same grid; form_factors: (m,), the share of the
    specimen's half-space that each fills, weighted by the cosine (their sum at most 1); neutral:
    reflectance factor of the grey specimen, above 0 to 1; relative_illuminance: (m,) or one for
    all, of each surface as a share of the direct illuminance on the specimen.

    Assumed: matt surfaces, each evenly lit by the same lamp, one reflection only (light that goes
    back and forth between surfaces is left out, so that strong tints are understated), no direct
    light taken away by what stands in view. The specimen then receives
    S (1 + sum of form factor x relative illuminance x reflectance).
    Raises DomainError for NaN, infinity, shapes and values outside these ranges.
    Source: radiative exchange of diffuse surfaces; common practice, no published source for booths.
    """
    factors = finite_table(weights, "weights")
    if factors.shape[0] != 3:
        raise DomainError("weights", "shape", detail=f"3 rows expected, got {factors.shape[0]}")
    table = within(finite_table(surfaces, "surface", factors.shape[1]), "surface", 0.0, 1.0)
    share = _shares(form_factors, relative_illuminance, len(table))
    if not 0.0 < number(neutral, "neutral") <= 1.0:
        raise DomainError("neutral", "range", detail=f"{neutral!r} is not above 0 and up to 1")
    added = 1.0 + np.einsum("m,mk->k", share, table)
    white, tinted = diffuser(factors), xyz(added, factors)[0]
    gain = float(tinted[1] / white[1])
    shift = chromaticity_distance(uv_1976(white), uv_1976(tinted))[0]
    seen, clean = lab(np.vstack((tinted / gain, white)) * neutral, white)
    return Tint(float(shift), seen, clean, gain)


def _shares(form_factors: npt.ArrayLike, relative: npt.ArrayLike, count: int) -> Floats:
    """Return form factor times relative illuminance (m,)."""
    factors = within(finite_table(form_factors, "form factor", count), "form factor", 0.0, 1.0)
    given = finite_table(relative, "relative illuminance")
    if given.shape not in ((1, 1), (1, count)):
        raise DomainError("relative illuminance", "shape", detail="one for each surface, or one")
    level = np.broadcast_to(given, (1, count))
    if len(factors) != 1:
        raise DomainError("form factor", "shape", detail="one for each surface expected")
    if (level < 0).any():
        band = int(np.argmax(level[0] < 0))
        raise DomainError("relative illuminance", "range", band=band, detail="below 0")
    if float(factors.sum()) > 1.0 + 1e-12:
        detail = f"they sum to {float(factors.sum()):g}, more than the whole half-space"
        raise DomainError("form factor", "range", detail=detail)
    product: Floats = factors[0] * level[0]
    return product
