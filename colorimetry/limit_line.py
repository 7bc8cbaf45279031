"""Where CIEDE2000 from a target reaches a limit: a line round the target, two ends of lightness."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, finite_table, positive, real_array
from colorimetry.difference import LARGEST, ciede2000
from colorimetry.errors import DomainError

_HALVINGS = 44  # of a bracket whose ends are a power of two apart
_START = 0.25  # of the limit: the first bracket's upper end


def limit_line(
    target: npt.ArrayLike,
    limits: npt.ArrayLike,
    *,
    k_l: float = 1.0,
    k_c: float = 1.0,
    k_h: float = 1.0,
    points: int = 72,
) -> Floats:
    """Return a*, b* (m, points, 2) of the target's lightness at which CIEDE2000 is each limit.

    target: (3,) or (1, 3) CIELAB; limits: (m,) or one, above 0; points from 3, at even angles round
    the target from the direction of +a* towards +b*. Along each the nearest crossing that doubling
    steps find. Raises DomainError for arguments outside these, and for a limit that is not reached
    within 10 000. Source: the definition of CIEDE2000 (`ciede2000`), solved by bisection.
    """
    if isinstance(points, bool) or not isinstance(points, int) or points < 3:
        raise DomainError("points", "range", detail=f"{points!r} is no whole number from 3")
    angles = 2 * np.pi * np.arange(points) / points
    ways = np.column_stack((np.zeros(points), np.cos(angles), np.sin(angles)))
    line: Floats = _reached(target, limits, ways, (k_l, k_c, k_h))[..., 1:]
    return line


def lightness_ends(
    target: npt.ArrayLike,
    limits: npt.ArrayLike,
    *,
    k_l: float = 1.0,
    k_c: float = 1.0,
    k_h: float = 1.0,
) -> Floats:
    """Return the lower and upper L* (m, 2) at the target's a*, b* at which CIEDE2000 is each limit.

    Arguments, errors and source as of ``limit_line``; L* may lie below 0 or above 100.
    """
    ways = np.array([[-1.0, 0.0, 0.0], [1.0, 0.0, 0.0]])
    ends: Floats = _reached(target, limits, ways, (k_l, k_c, k_h))[..., 0]
    return ends


def _reached(
    target: npt.ArrayLike,
    limits: npt.ArrayLike,
    ways: Floats,
    factors: tuple[float, float, float],
) -> Floats:
    """Places (m, n, 3) along each way (n, 3), of length 1, where the difference is each limit."""
    middle = finite_table(np.atleast_2d(np.asarray(target)), "target Lab", 3)
    if middle.shape[0] != 1:
        raise DomainError("target Lab", "shape", detail=f"one row expected, got {len(middle)}")
    asked = np.atleast_1d(real_array(limits, "limits"))
    if asked.ndim != 1:
        raise DomainError("limits", "shape", detail=f"(m,) expected, got {asked.shape}")
    for value in asked.tolist():
        positive(value, "limit")
    k_l, k_c, k_h = factors
    all_ways, wanted = np.tile(ways, (asked.size, 1)), np.repeat(asked, len(ways))

    def inside(far: Floats) -> npt.NDArray[np.bool_]:
        places = middle + far[:, np.newaxis] * all_ways
        below: npt.NDArray[np.bool_] = ciede2000(middle, places, k_l=k_l, k_c=k_c, k_h=k_h) < wanted
        return below

    low, high = np.zeros_like(wanted), _START * wanted
    while (short := inside(high)).any():
        low, high = np.where(short, high, low), np.where(short, 2 * high, high)
        if high.max() > LARGEST:
            raise DomainError("limit", "range", detail="a limit is not reached")
    for _halving in range(_HALVINGS):
        half = (low + high) / 2
        short = inside(half)
        low, high = np.where(short, half, low), np.where(short, high, half)
    places: Floats = middle + high[:, np.newaxis] * all_ways
    return places.reshape(asked.size, len(ways), 3)
