"""Evenness of illuminance, and tint by coloured surroundings."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from colorimetry import DomainError, Grid, lab, weights, white, xyz
from colorimetry.light.chromaticity import uv_1976
from colorimetry.light.surround import tint
from colorimetry.light.uniformity import uniformity

GRID = Grid(400, 700, 10)
D65, WHITE = weights("D65", 10, GRID), white("D65", 10, GRID)
NM = np.array(GRID.wavelengths())
GREEN = 0.05 + 0.5 * np.exp(-(((NM - 540) / 40) ** 2))
RED = np.where(NM > 600, 0.7, 0.05)


def test_evenness_of_a_map_computed_by_hand():
    found = uniformity([[1500, 1800, 1500], [1200, 2000, 1600]])
    assert found[:3] == (1200, 1600, 2000) and found.points == 6
    assert (found.least_to_most, found.least_to_mean) == (0.6, 0.75)


@given(st.lists(st.floats(1, 1e5), min_size=2, max_size=30), st.floats(0.01, 100))
def test_evenness_is_a_ratio_and_does_not_depend_on_order_or_unit(points, unit):
    found = uniformity(points)
    other = uniformity(np.array(points[::-1])[:, None] * unit)
    assert 0 < found.least_to_most <= found.least_to_mean * (1 + 1e-12) <= 1 + 1e-9
    assert other.least_to_most == pytest.approx(found.least_to_most, rel=1e-12)
    assert other.least_to_mean == pytest.approx(found.least_to_mean, rel=1e-9)


@pytest.mark.parametrize(
    ("value", "problem"), [(0.0, "range"), (-5.0, "range"), (np.nan, "nan"), (np.inf, "inf")]
)
def test_points_without_light_are_named(value, problem):
    points = np.full((3, 4), 1500.0)
    points[2, 1] = value
    with pytest.raises(DomainError) as caught:
        uniformity(points)
    assert (caught.value.problem, caught.value.row, caught.value.band) == (problem, 2, 1)


def test_of_one_point_no_evenness_can_be_told():
    with pytest.raises(DomainError, match="two points"):
        uniformity([1500.0])


def test_a_grey_interior_adds_light_and_no_tint():
    found = tint(D65, np.full((1, 31), 0.5), [0.4], neutral=0.2)
    assert found.gain == pytest.approx(1.2, abs=1e-12)
    assert found.shift == pytest.approx(0.0, abs=1e-12)
    assert found.lab == pytest.approx(found.clean, abs=1e-9)
    assert found.clean == pytest.approx([116 * 0.2 ** (1 / 3) - 16, 0, 0], abs=1e-9)


def test_tint_written_out_for_two_surfaces():
    found = tint(D65, [GREEN, RED], [0.1, 0.2], neutral=0.5, relative_illuminance=[1.0, 0.5])
    light = 1.0 + 0.1 * GREEN + 0.1 * RED
    ((x, y, z),) = xyz(light, D65)
    u_v = [4 * x / (x + 15 * y + 3 * z), 9 * y / (x + 15 * y + 3 * z)]
    assert found.shift == pytest.approx(np.hypot(*(u_v - uv_1976(WHITE)[0])), abs=1e-14)
    assert found.gain == pytest.approx(y / WHITE[1], rel=1e-14)
    expected = lab(np.array([x, y, z]) * 0.5 / found.gain, WHITE)[0]
    assert found.lab == pytest.approx(expected, abs=1e-12)
    assert found.lab[0] == pytest.approx(found.clean[0], abs=1e-12)


def test_a_green_jacket_in_view_makes_a_neutral_specimen_greener():
    found = tint(D65, [GREEN], [0.1], neutral=0.2)
    assert found.lab[1] < -0.5
    assert tint(D65, [RED], [0.1], neutral=0.2).lab[1] > 0.5


@given(st.floats(0, 0.5), st.floats(0, 0.5))
def test_more_of_a_coloured_surface_in_view_tints_more(first, second):
    less, more = (tint(D65, [GREEN], [f], neutral=0.2) for f in sorted((first, second)))
    assert less.shift <= more.shift + 1e-12 and less.gain <= more.gain


def test_surfaces_count_alike_together_and_split():
    whole = tint(D65, [GREEN], [0.3], neutral=0.2)
    split = tint(D65, [GREEN, GREEN], [0.1, 0.2], neutral=0.2)
    assert split.shift == pytest.approx(whole.shift, abs=1e-14)


@pytest.mark.parametrize(
    ("changes", "what"),
    [
        ({"form_factors": [1.2]}, "form factor"),
        ({"form_factors": [-0.1]}, "form factor"),
        ({"form_factors": [0.1, 0.1]}, "form factor"),
        ({"surfaces": [GREEN, RED], "form_factors": [0.6, 0.6]}, "form factor"),
        ({"form_factors": [[0.1], [0.1]]}, "form factor"),
        ({"surfaces": [GREEN * 3]}, "surface"),
        ({"surfaces": [GREEN[:-1]]}, "surface"),
        ({"surfaces": [GREEN * np.nan]}, "surface"),
        ({"neutral": 0.0}, "neutral"),
        ({"neutral": 1.1}, "neutral"),
        ({"neutral": float("nan")}, "neutral"),
        ({"relative_illuminance": [-1.0]}, "relative illuminance"),
        ({"relative_illuminance": float("inf")}, "relative illuminance"),
        ({"weights": D65.T}, "weights"),
    ],
)
def test_assumptions_outside_their_range_are_refused(changes, what):
    whole = {"weights": D65, "surfaces": [GREEN], "form_factors": [0.1], "neutral": 0.2} | changes
    with pytest.raises(DomainError) as caught:
        tint(**whole)
    assert caught.value.what == what


def test_the_first_faulty_surface_is_named():
    surfaces = np.full((4, 31), 0.5)
    with pytest.raises(DomainError) as caught:
        tint(D65, surfaces, [0.1] * 4, neutral=0.2, relative_illuminance=[0.0, 1.0, -1.0, -2.0])
    assert (caught.value.problem, caught.value.band) == ("range", 2)
    surfaces[2:, 5] = 1.5
    with pytest.raises(DomainError) as caught:
        tint(D65, surfaces, [0.1] * 4, neutral=0.2)
    assert (caught.value.row, caught.value.band) == (2, 5)
    points = np.full((3, 4), 1500.0)
    points[1, 2] = points[2, 0] = 0.0
    with pytest.raises(DomainError) as caught:
        uniformity(points)
    assert (caught.value.row, caught.value.band) == (1, 2)


def test_surfaces_may_fill_the_whole_half_space_and_reflect_everything():
    ten = tint(D65, np.ones((10, 31)), [0.1] * 10, neutral=1.0)  # 0.1 ten times is not quite 1
    assert ten.gain == pytest.approx(2.0, abs=1e-12)
    assert ten.clean == pytest.approx([100.0, 0.0, 0.0], abs=1e-12)
    black = tint(D65, np.zeros((1, 31)), [1.0], neutral=0.01, relative_illuminance=0.0)
    assert (black.gain, black.shift) == (1.0, 0.0)
    with pytest.raises(DomainError, match="half-space"):
        tint(D65, np.ones((2, 31)), [0.5, 0.5001], neutral=1.0)
