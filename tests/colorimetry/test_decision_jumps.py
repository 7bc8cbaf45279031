"""Where a formula jumps, and within which reach its nodes are counted instead of fitted.

CMC changes its weight of hue at 164 and 345 degrees (ISO 105-J03, formulas of T), CIEDE2000 its
mean hue where hues lie opposite (Sharma, Wu & Dalal 2005, the notes on discontinuities). The bounds
asserted here are those that the module states: four deviations, a fifth of the deviation.
"""

from __future__ import annotations

import numpy as np
import pytest

from colorimetry.decision.difference_probability import Uncertain, _at_a_bend, _opposite

SPREAD = 0.5  # root of the sum of the variances of a* and b* of the reference


def pair(reference, specimen=(50.0, 0.0, 0.0)) -> Uncertain:
    """One pair, whose reference's a* and b* vary by 0.3 and 0.4 each by its own."""
    factors = np.diag([1.0, 1.0, 1.0, 2.0, 0.3, 0.4])[None]
    return Uncertain(np.array([reference], float), np.array([specimen], float), factors)


def at_hue(degrees: float, chroma: float, across: float = 0.0) -> tuple[float, float, float]:
    """A reference at a hue, and so much beside that hue's line."""
    hue = np.radians(degrees)
    return (
        50.0,
        chroma * np.cos(hue) - across * np.sin(hue),
        chroma * np.sin(hue) + across * np.cos(hue),
    )


def bends(reference, centre: float = 10.0, deviation: float = 1.0) -> bool:
    return bool(_at_a_bend(pair(reference), np.array([centre]), np.array([deviation]))[0])


@pytest.mark.parametrize("bend", [164.0, 345.0])
@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_bend_of_cmc_is_within_reach_up_to_four_spreads_across(bend, side):
    assert bends(at_hue(bend, 30.0))
    assert bends(at_hue(bend, 30.0, side * 3.99 * SPREAD))
    assert not bends(at_hue(bend, 30.0, side * 4.01 * SPREAD))


@pytest.mark.parametrize("bend", [164.0, 345.0])
def test_a_bend_of_cmc_is_a_ray_with_its_foot_at_the_neutral_axis(bend):
    assert bends(at_hue(bend, -3.99 * SPREAD))
    # the other ray points about the other way (1 degree off): it does not see this colour either
    away = at_hue(bend + 180.0, 4.01 * SPREAD, 4.2 * SPREAD)
    assert not bends(away)


@pytest.mark.parametrize("hue", [0.0, 30.0, 90.0, 120.0, 200.0, 250.0, 300.0])
def test_far_from_the_bends_nothing_is_counted(hue):
    assert not bends(at_hue(hue, 30.0))


def test_a_bend_matters_where_the_difference_is_wide_beside_its_deviation():
    at = at_hue(164.0, 30.0)
    assert bends(at, centre=4.01) and not bends(at, centre=4.0) and not bends(at, centre=3.9)


def opposite(one, other, deviation: float) -> bool:
    two = pair((50.0, *one), (50.0, *other))
    return bool(_opposite(two, np.array([deviation]))[0])


def test_hues_are_opposite_from_120_degrees_apart():
    def turned(degrees):
        return (5.0 * np.cos(np.radians(degrees)), 5.0 * np.sin(np.radians(degrees)))

    assert opposite((5.0, 0.0), turned(121.0), 1.0)
    assert opposite((5.0, 0.0), turned(180.0), 1.0)
    assert not opposite((5.0, 0.0), turned(119.0), 1.0)


def test_a_jump_matters_where_the_product_of_chromas_exceeds_four_deviations():
    assert opposite((2.0, 0.0), (-2.01, 0.0), 1.0)
    assert not opposite((2.0, 0.0), (-1.99, 0.0), 1.0)
