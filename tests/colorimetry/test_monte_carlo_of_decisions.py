"""P(difference <= limit) against random draws: 24 cells of eight limits, 10⁶ draws each."""

import numpy as np
import pytest

from benchmarks.decision_grid import APART, FORMULAS, PLACES, cells, error
from colorimetry.decision.difference_probability import probability_within

CELLS = list(cells(72, 24))


def test_the_cells_hold_every_formula_place_and_distance():
    assert {cell.formula for cell in CELLS} == set(FORMULAS)
    assert {cell.place for cell in CELLS} == set(PLACES)
    assert {cell.apart for cell in CELLS} == set(APART)


@pytest.mark.slow
@pytest.mark.parametrize("number", range(24))
def test_the_probability_is_within_a_hundredth_of_a_million_draws(number):
    assert error(CELLS[number], seed=number) < 0.01


@pytest.mark.slow
def test_equal_colours_are_within_a_hundredth_of_a_million_draws():
    # what first-order uncertainty cannot do: no difference, u = 0.1 on all six
    rng = np.random.default_rng(20_240_101)
    d = rng.normal(0, 0.1, (1_000_000, 6))
    drawn = np.sqrt(((d[:, :3] - d[:, 3:]) ** 2).sum(axis=1))
    for limit in (0.05, 0.1, 0.2, 0.3, 0.5):
        found = probability_within(
            limit,
            reference=(30, 5, 5),
            specimen=(30, 5, 5),
            covariance=np.eye(6) * 0.01,
            formula="CIELAB",
        )
        assert found[0] == pytest.approx((drawn <= limit).mean(), abs=0.003)
