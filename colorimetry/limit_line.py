"""Where CIEDE2000 from a target reaches a limit: a line round the target, two ends of lightness."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, finite_table, positive
from colorimetry.difference import LARGEST, ciede2000
from colorimetry.errors import DomainError

_HALVINGS = 60  # from a bracket of two powers of two down to the last bits
_START = 2.0**-8  # of the limit: the first bracket, well inside any line


def limit_line(
    target: npt.ArrayLike,
    limit: float,
    *,
    k_l: float = 1.0,
    k_c: float = 1.0,
    k_h: float = 1.0,
    points: int = 72,
) -> Floats:
    """Return a*, b* (points, 2) of the target's lightness at which CIEDE2000 equals the limit.

    target: (3,) or (1, 3) CIELAB; limit above 0; points from 3, at even angles round the target
    from the direction of +a* towards +b*. Along each the nearest crossing that doubling steps find.
    Raises DomainError for arguments outside these, and for a limit that is not reached below
    |a*|, |b*| = 10 000. Source: the definition of CIEDE2000 (`ciede2000`), solved by bisection.
    """
    middle = _one(target)
    if isinstance(points, bool) or not isinstance(points, int) or points < 3:
        raise DomainError("points", "range", detail=f"{points!r} is no whole number from 3")
    angles = 2 * np.pi * np.arange(points) / points
    ways = np.column_stack((np.zeros(points), np.cos(angles), np.sin(angles)))
    ends = middle + _distances(middle, ways, limit, (k_l, k_c, k_h))[:, np.newaxis] * ways
    line: Floats = ends[:, 1:]
    return line


def lightness_ends(
    target: npt.ArrayLike, limit: float, *, k_l: float = 1.0, k_c: float = 1.0, k_h: float = 1.0
) -> tuple[float, float]:
    """Return the lower and upper L* at the target's a*, b* at which CIEDE2000 equals the limit.

    Arguments, errors and source as of ``limit_line``; L* may lie below 0 or above 100.
    """
    middle = _one(target)
    ways = np.array([[-1.0, 0.0, 0.0], [1.0, 0.0, 0.0]])
    below, above = _distances(middle, ways, limit, (k_l, k_c, k_h)).tolist()
    return float(middle[0, 0] - below), float(middle[0, 0] + above)


def _one(target: npt.ArrayLike) -> Floats:
    table = finite_table(np.atleast_2d(np.asarray(target)), "target Lab", 3)
    if table.shape[0] != 1:
        raise DomainError("target Lab", "shape", detail=f"one row expected, got {table.shape[0]}")
    return table


def _distances(
    middle: Floats, ways: Floats, limit: float, factors: tuple[float, float, float]
) -> Floats:
    """How far along each way (n, 3), of length 1, the difference is the limit."""
    positive(limit, "limit")
    k_l, k_c, k_h = factors

    def difference(far: Floats) -> Floats:
        places = middle + far[:, np.newaxis] * ways
        return ciede2000(middle, places, k_l=k_l, k_c=k_c, k_h=k_h)

    low, high = _bracket(difference, np.full(len(ways), _START * limit), limit)
    for _halving in range(_HALVINGS):
        half = (low + high) / 2
        inside = difference(half) < limit
        low, high = np.where(inside, half, low), np.where(inside, high, half)
    return (low + high) / 2


def _bracket(
    difference: Callable[[Floats], Floats], high: Floats, limit: float
) -> tuple[Floats, Floats]:
    """Distances below and above the limit, one twice the other (or 0)."""
    low = np.zeros_like(high)
    inside = difference(high) < limit
    while inside.any():
        low, high = np.where(inside, high, low), np.where(inside, 2 * high, high)
        if high.max() > LARGEST:
            raise DomainError("limit", "range", detail=f"{limit!r} is not reached")
        inside = difference(high) < limit
    return low, high
