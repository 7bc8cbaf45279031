"""Moment analysis of cap arrangements: radii, angle and indices of Vingrys & King-Smith (1988)."""

from __future__ import annotations

import functools
import json
import pathlib
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, positive, real_array
from colorimetry.errors import DomainError
from colorimetry.observers.arrangement import checked_caps

# published norm: the major radius of the perfect order, to which the C-index is referred
PERFECT_MAJOR = 2.525249
_ROUNDING = 1e-14  # of the sums of squares; larger than what the trigonometric terms can leave
_DATA = pathlib.Path(__file__).with_name("hue_caps.json")


class Moments(NamedTuple):
    """Moments of n arrangements, each (n,); radii in u*, v* units.

    ``angle``: axis of least moment in degrees, (-90, 90]; ``major``, ``minor``: radii;
    ``total``: their hypotenuse; ``selectivity`` (S-index) = major / minor, infinite where the
    minor radius is zero; ``confusion`` (C-index) = major / major of the perfect order.
    """

    angle: Floats
    major: Floats
    minor: Floats
    total: Floats
    selectivity: Floats
    confusion: Floats


@functools.cache
def cap_coordinates() -> Floats:
    """Return u*, v* of caps 1 to 85 as a read-only (85, 2) array. Source: see hue_caps.json."""
    table: Floats = np.array(json.loads(_DATA.read_text(encoding="ascii"))["uv"], dtype=np.float64)
    table.setflags(write=False)
    return table


def moments(steps: npt.ArrayLike, *, perfect_major: float) -> Moments:
    """Return the moments of colour difference vectors (n, k, 2) between neighbouring caps.

    perfect_major: major radius of the perfect order of the test in question, positive.
    Raises DomainError for NaN, infinity, shapes, a perfect_major that is not positive, and steps
    that are all zero (no axis exists). Source: Vingrys & King-Smith, Invest. Ophthalmol. Vis. Sci.
    29:50-63 (1988).
    """
    vectors = real_array(steps, "steps")
    if vectors.ndim != 3 or vectors.shape[1] == 0 or vectors.shape[2] != 2:
        raise DomainError("steps", "shape", detail=f"(n, k, 2) expected, got {vectors.shape}")
    finite = np.isfinite(vectors).all(axis=2)
    if not finite.all():
        row, band = (int(i) for i in np.argwhere(~finite)[0])
        problem = "nan" if np.isnan(vectors[row, band]).any() else "inf"
        raise DomainError("steps", problem, row=row, band=band)
    positive(perfect_major, "perfect major radius")
    still = np.flatnonzero(~vectors.any(axis=(1, 2)))
    if still.size:
        raise DomainError("steps", "range", row=int(still[0]), detail="all steps are zero")
    # scaled by a power of two, which costs no bit: squares of huge or tiny steps stay in floats
    power = np.frexp(np.abs(vectors).max(axis=(1, 2)))[1]
    found = _from_sums(np.ldexp(vectors, -power[:, None, None]), perfect_major)
    with np.errstate(over="ignore"):
        scaled = [
            np.ldexp(value, power)
            for value in (found.major, found.minor, found.total, found.confusion)
        ]
    if not np.isfinite(scaled).all():
        row = int(np.argmin(np.isfinite(scaled).all(axis=0)))
        raise DomainError("steps", "range", row=row, detail="too large")
    major, minor, total, confusion = scaled
    return found._replace(major=major, minor=minor, total=total, confusion=confusion)


def _from_sums(vectors: Floats, perfect_major: float) -> Moments:
    """Return the moments from the sums of squares and products."""
    d_u, d_v = vectors[..., 0], vectors[..., 1]
    u_2, v_2 = (np.einsum("nk,nk->n", side, side) for side in (d_u, d_v))
    u_v = np.einsum("nk,nk->n", d_u, d_v)

    def moment(angle: Floats) -> Floats:
        sine, cosine = np.sin(angle), np.cos(angle)
        about: Floats = u_2 * sine**2 + v_2 * cosine**2 - 2.0 * u_v * sine * cosine
        return about

    spread = u_2 - v_2
    level = spread == 0.0
    first = np.where(level, np.pi / 4, np.arctan(2.0 * u_v / np.where(level, 1.0, spread)) / 2.0)
    second = np.where(first < 0.0, first + np.pi / 2, first - np.pi / 2)
    of_first, of_second = moment(first), moment(second)
    larger = of_first > of_second
    count = vectors.shape[1]
    most, least = np.maximum(of_first, of_second), np.minimum(of_first, of_second)
    major = np.sqrt(most / count)
    # where all steps lie on one line, rounding leaves a little of either sign
    minor = np.sqrt(np.where(least > _ROUNDING * most, least, 0.0) / count)
    angle = np.degrees(np.where(larger, second, first))
    ratio = np.divide(major, minor, out=np.full_like(major, np.inf), where=minor > 0.0)
    return Moments(angle, major, minor, np.hypot(major, minor), ratio, major / perfect_major)


def moment_analysis(caps: npt.ArrayLike) -> Moments:
    """Return the moments of n arrangements of the 85 caps, (n, 85) cap numbers in tray order.

    The four trays are joined into one closed ring, as in the published program, whatever the
    convention of the error score. Angle, S-index and C-index describe an arrangement; published
    limits exist for a 15-cap test and are not validated for 85 caps, so none is applied here.
    A screening, not a diagnosis; results of the physical test only.
    Raises ArrangementError and DomainError as ``checked_caps`` does.
    Source: Vingrys & King-Smith, Invest. Ophthalmol. Vis. Sci. 29:50-63 (1988).
    """
    places = cap_coordinates()[checked_caps(caps) - 1]
    return moments(places - np.roll(places, 1, axis=1), perfect_major=PERFECT_MAJOR)
