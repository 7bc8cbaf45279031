"""Covariances: which matrix of a stack is refused, and at which scale a direction is negative."""

import numpy as np
import pytest

from colorimetry import DomainError
from colorimetry.decision.covariance import factor, stack
from colorimetry.decision.difference_uncertainty import first_order_uncertainty

UNIT = np.eye(3)
INDEFINITE = np.array([[1.0, 2.0, 0.0], [2.0, 1.0, 0.0], [0.0, 0.0, 1.0]])


def changed(*places):
    """Three unit matrices with values put at (matrix, row, column)."""
    table = np.stack([UNIT] * 3)
    for *place, value in places:
        table[tuple(place)] = value
    return table


@pytest.mark.parametrize(
    ("table", "problem", "row"),
    [
        (changed((1, 0, 1, np.nan), (2, 0, 1, np.nan)), "nan", 1),
        (changed((0, 2, 1, np.inf), (2, 0, 1, np.nan)), "inf", 0),
        (changed((1, 1, 1, -1.0), (2, 0, 0, -1.0)), "range", 1),
        (changed((1, 0, 1, 0.5), (2, 0, 1, 0.5)), "range", 1),
        (changed((2, 1, 0, -0.5)), "range", 2),
    ],
)
def test_the_first_faulty_matrix_of_a_stack_is_named(table, problem, row):
    with pytest.raises(DomainError) as caught:
        stack(table, "covariance", 3)
    assert (caught.value.problem, caught.value.row) == (problem, row)


@pytest.mark.parametrize("scale", [1e-8, 1e-4, 1.0, 1e3])
def test_a_negative_direction_is_seen_at_every_scale(scale):
    table = np.stack([UNIT, UNIT, INDEFINITE, INDEFINITE]) * scale
    with pytest.raises(DomainError, match="semidefinite") as caught:
        factor(table)
    assert caught.value.row == 2


@pytest.mark.parametrize("scale", [1e-8, 1.0, 1e3])
def test_a_direction_that_hardly_varies_is_not_negative(scale):
    # positive semidefinite; the first variance is below what rounding leaves of the second
    table = np.array([[[1e-10, 0.9e-5, 0], [0.9e-5, 1, 0], [0, 0, 1]]]) * scale
    lower = factor(table)
    assert np.abs(np.einsum("nij,nkj->nik", lower, lower) - table).max() < 1e-4 * scale


def test_one_pair_may_have_several_covariances_and_several_pairs_one():
    pair = {"reference": (50.0, 10.0, 0.0), "specimen": (51.0, 10.0, 0.0)}
    matrices = np.stack([np.eye(6) * variance for variance in (0.01, 0.04)])
    asked = {"formula": "CIELAB", "covariance": matrices}
    found = first_order_uncertainty(**pair, **asked)
    assert found == pytest.approx([np.sqrt(0.02), np.sqrt(0.08)], rel=1e-6)
    pairs = {name: np.array([lab, lab, lab]) for name, lab in pair.items()}
    one = first_order_uncertainty(**pairs, formula="CIELAB", covariance=matrices[0])
    assert one == pytest.approx([np.sqrt(0.02)] * 3, rel=1e-6)
    with pytest.raises(DomainError, match="2 matrices for 3 pairs"):
        first_order_uncertainty(**pairs, **asked)
