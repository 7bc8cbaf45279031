"""Which variables move a colour, and which nodes are counted for them.

Beside the widest variable one of less than a hundredth of its spread is no direction of its own:
a form in six variables cannot follow a covariance of one or two. The bounds are the module's own.
"""

from __future__ import annotations

import numpy as np
import pytest

from colorimetry.decision.difference_probability import MANY, _nodes_for, _wide
from colorimetry.decision.nodes import even_nodes, normal_nodes


@pytest.mark.parametrize("largest", [0.02, 1.0, 5.0])
def test_a_hundredth_of_the_widest_spread_is_the_bound(largest):
    spreads = largest * np.array([1.0, 0.011, 0.009, 0.5, 0.0, 0.0101])
    assert _wide(np.diag(spreads)[None])[0].tolist() == [True, True, False, True, False, True]


def test_a_variable_counts_by_all_that_it_moves():
    factors = np.zeros((1, 6, 6))
    factors[0, 0, 0] = 1.0
    factors[0, :, 1] = 0.0042  # sqrt(6) * 0.0042 = 0.0103
    factors[0, :, 2] = 0.0040  # 0.0098
    assert _wide(factors)[0].tolist() == [True, True, False, False, False, False]


@pytest.mark.parametrize("directions", [[0], [4], [1, 5], [0, 3]])
def test_one_or_two_directions_have_even_nodes_of_their_own(directions):
    wide = np.isin(np.arange(6), directions)
    nodes, even = _nodes_for(wide), even_nodes(len(directions))
    assert nodes.shape == (len(even), 6)
    assert np.array_equal(nodes[:, directions], even)
    rest = [n for n in range(6) if n not in directions]
    assert np.array_equal(nodes[:, rest], normal_nodes(len(even))[:, rest])


@pytest.mark.parametrize("count", [0, 3, 4, 6])
def test_none_or_three_and_more_directions_have_the_many_nodes(count):
    nodes = _nodes_for(np.arange(6) < count)
    assert np.array_equal(nodes, normal_nodes(MANY))


def test_the_nodes_that_serve_all_are_not_written_into():
    before = normal_nodes(len(even_nodes(1))).copy()
    _nodes_for(np.arange(6) < 1)
    assert np.array_equal(normal_nodes(len(even_nodes(1))), before)
