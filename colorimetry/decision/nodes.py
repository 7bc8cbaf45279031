"""Fixed points that stand for independent standard normal variables: no random draws.

Halton's sequence (Numer. Math. 2:84-90 (1960); from memory) in six prime bases, through the
normal quantile. The same points serve every pair, so that the same input gives the same bytes.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy.special import ndtri

from colorimetry.arrays import Floats

_BASES = (2, 3, 5, 7, 11, 13)
DIMENSIONS = len(_BASES)
# Two neighbouring Fibonacci numbers: their lattice fills the square most evenly (Niederreiter,
# Random Number Generation and Quasi-Monte Carlo Methods (1992), from memory). The larger one is
# even, so that no point stands at the centre itself.
_LATTICE, _TURN = 10_946, 6_765
_LINE = 4_096
_SKIPPED = 64  # the first points of the larger bases lie on a line


def _radical_inverse(base: int, indices: np.ndarray) -> Floats:
    """The digits of the indices behind the point: a number in (0, 1) for each index above 0."""
    result, scale, left = np.zeros(len(indices)), 1.0 / base, indices.copy()
    while left.any():
        result += (left % base) * scale
        left, scale = left // base, scale / base
    return result


@lru_cache(maxsize=4)
def normal_nodes(count: int) -> Floats:
    """Return (count, 6) equally weighted points, read-only."""
    indices = np.arange(_SKIPPED, _SKIPPED + count)
    nodes: Floats = ndtri(np.column_stack([_radical_inverse(base, indices) for base in _BASES]))
    nodes.setflags(write=False)
    return nodes


@lru_cache(maxsize=4)
def even_nodes(directions: int) -> Floats:
    """Return (m, directions) equally weighted points in one or two directions, read-only.

    One: midpoints of equal shares; two: a Fibonacci lattice. Counting them is far more exact than
    counting as many of ``normal_nodes``.
    """
    count = _LINE if directions == 1 else _LATTICE
    i = np.arange(count)
    turned = (i * _TURN % count + 0.5) / count
    shares = np.column_stack([(i + 0.5) / count, turned])[:, :directions]
    nodes: Floats = ndtri(shares)
    nodes.setflags(write=False)
    return nodes
