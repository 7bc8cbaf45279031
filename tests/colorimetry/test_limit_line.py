"""The line and the ends at which CIEDE2000 reaches a limit, by a library's own CIEDE2000."""

from __future__ import annotations

import warnings

import numpy as np
import pytest

from colorimetry import DomainError
from colorimetry.limit_line import lightness_ends, limit_line
from tests.colorimetry.references import colour

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from skimage.color import deltaE_ciede2000

TARGETS = [(52, 18, -24), (50, 0, 0), (30, 0.2, -0.1), (95, -1, 90), (20, 10, -60), (60, -40, 3)]
LIMITS = [0.2, 1.0, 3.5]
FACTORS = [(1, 1, 1), (2, 1, 1), (1, 2, 0.5)]


def theirs(target, places):
    """CIEDE2000 by the library."""
    target = np.array(target, dtype=float)
    return colour.delta_E(np.broadcast_to(target, places.shape), places, method="CIE 2000")


@pytest.mark.parametrize("target", TARGETS)
@pytest.mark.parametrize("limit", LIMITS)
def test_every_point_of_the_line_is_at_the_limit(target, limit):
    [line] = limit_line(target, limit)
    assert line.shape == (72, 2)
    places = np.column_stack((np.full(72, target[0], dtype=float), line))
    assert np.abs(theirs(target, places) - limit).max() < 1e-9


@pytest.mark.parametrize("target", TARGETS)
@pytest.mark.parametrize("limit", LIMITS)
def test_both_ends_of_lightness_are_at_the_limit(target, limit):
    [(low, high)] = lightness_ends(target, limit)
    assert low < target[0] < high
    places = np.array([(low, *target[1:]), (high, *target[1:])], dtype=float)
    assert np.abs(theirs(target, places) - limit).max() < 1e-9


@pytest.mark.parametrize("factors", FACTORS)
def test_the_factors_count(factors):
    k_l, k_c, k_h = factors
    target = np.array([52.0, 18.0, -24.0])
    [line] = limit_line(target, 1.0, k_l=k_l, k_c=k_c, k_h=k_h, points=12)
    [ends] = lightness_ends(target, 1.0, k_l=k_l, k_c=k_c, k_h=k_h)
    places = np.vstack(
        [np.column_stack((np.full(12, 52.0), line)), [(end, 18.0, -24.0) for end in ends]]
    )
    found = deltaE_ciede2000(np.broadcast_to(target, places.shape), places, k_l, k_c, k_h)
    assert np.abs(found - 1.0).max() < 1e-9


def test_the_points_go_round_the_target_once_from_the_direction_of_a():
    line = limit_line((52, 18, -24), 1.0, points=8)[0] - (18, -24)
    angles = np.degrees(np.arctan2(line[:, 1], line[:, 0])) % 360
    assert angles == pytest.approx(np.arange(8) * 45.0, abs=1e-6)


def test_at_a_neutral_target_the_smaller_line_lies_inside_and_both_are_nearly_round():
    small, large = limit_line((50, 0, 0), [0.8, 1.2])
    assert (np.hypot(*small.T) < np.hypot(*large.T)).all()
    assert np.ptp(np.hypot(*large.T)) < 0.5


def test_many_limits_give_what_each_gives_alone():
    target, limits = (52, 18, -24), [1.2, 0.2, 5.0]
    for solve in (limit_line, lightness_ends):
        together = solve(target, limits)
        alone = [solve(target, limit)[0] for limit in limits]
        assert np.abs(together - np.array(alone)).max() < 1e-12


def test_three_points_are_the_fewest():
    assert limit_line((52, 18, -24), 1.0, points=3).shape == (1, 3, 2)


def test_a_table_of_one_row_is_the_same_target():
    assert np.array_equal(limit_line([[52, 18, -24]], 1), limit_line((52, 18, -24), 1))


@pytest.mark.parametrize(
    ("arguments", "more"),
    [
        (((52, 18, float("nan")), 1.0), {}),
        (((52, 18), 1.0), {}),
        (([(52, 18, -24), (52, 18, -24)], 1.0), {}),
        (((52, 18, -24), 0.0), {}),
        (((52, 18, -24), -1.0), {}),
        (((52, 18, -24), 1e9), {}),
        (((52, 18, -24), [1.0, 0.0]), {}),
        (((52, 18, -24), [[1.0, 2.0]]), {}),
        (((52, 18, -24), float("inf")), {}),
        (((52, 18, -24), 1.0), {"points": 2}),
        (((52, 18, -24), 1.0), {"points": True}),
        (((52, 18, -24), 1.0), {"points": 7.5}),
        (((52, 18, -24), 1.0), {"k_c": 0.0}),
    ],
)
def test_what_is_no_target_no_limit_or_no_line_is_refused(arguments, more):
    with pytest.raises(DomainError):
        limit_line(*arguments, **more)
