"""Fixed points for one and two normal directions: midpoints, and a lattice of Fibonacci numbers.

The lattice of N = F(n) points turned by F(n-1) is the classical one in the plane (Niederreiter,
Random Number Generation and Quasi-Monte Carlo Methods (1992), from memory).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import ndtr

from colorimetry.decision.nodes import even_nodes, normal_nodes


def fibonacci(count: int) -> list[int]:
    numbers = [1, 1]
    while len(numbers) < count:
        numbers.append(numbers[-1] + numbers[-2])
    return numbers


def shares(directions: int) -> np.ndarray:
    return ndtr(even_nodes(directions))


def test_one_direction_has_the_midpoints_of_equal_shares():
    found = shares(1)[:, 0]
    assert len(found) == 4096
    assert np.allclose(found * 4096, np.arange(4096) + 0.5, atol=1e-6)


def test_two_directions_have_the_lattice_of_two_neighbouring_fibonacci_numbers():
    found = shares(2)
    count, turn = fibonacci(21)[-1], fibonacci(21)[-2]
    assert (count, turn) == (10_946, 6_765) == (len(found), turn)
    cells = np.rint(found * count - 0.5).astype(int)
    assert np.allclose(found * count, cells + 0.5, atol=1e-6)
    assert np.array_equal(cells[:, 0], np.arange(count))
    assert np.array_equal(cells[:, 1], np.arange(count) * turn % count)


@pytest.mark.parametrize("directions", [1, 2])
def test_each_direction_alone_has_the_moments_of_a_normal_variable(directions):
    nodes = even_nodes(directions)
    assert np.allclose(nodes.mean(axis=0), 0.0, atol=1e-9)
    assert np.allclose((nodes**2).mean(axis=0), 1.0, atol=2e-3)
    assert np.allclose((nodes**4).mean(axis=0), 3.0, rtol=2e-2)


@pytest.mark.parametrize("radius", [0.1, 0.5, 1.0, 2.0, 3.0])
def test_the_share_within_a_circle_is_that_of_rayleigh(radius):
    """1 - exp(-r²/2): two independent normal variables (Rayleigh's distribution)."""
    within = (np.hypot(*even_nodes(2).T) <= radius).mean()
    assert within == pytest.approx(-math.expm1(-radius * radius / 2.0), abs=2e-3)


@pytest.mark.parametrize("nodes", [even_nodes(1), even_nodes(2), normal_nodes(256)])
def test_nobody_writes_into_points_that_serve_all(nodes):
    with pytest.raises(ValueError, match="read-only"):
        nodes[0, 0] = 0.0
