"""Grey scales: the nominal steps, computed grades, and what carries the one into the other."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from colorimetry import DomainError, components
from colorimetry.grey_scale import (
    CHANGE,
    GRADES,
    change_difference,
    change_grade,
    change_rating,
    grade,
    scale_deviations,
    staining_difference,
    staining_rating,
)
from tests.colorimetry.test_difference import LAB, sample


def test_the_steps_are_those_of_the_published_table():
    # ISO 105-A02:1993 (EN 20105-A02); the tolerance of grade 5 is from memory
    printed = {
        "5": (0, 0.2), "4-5": (0.8, 0.2), "4": (1.7, 0.3), "3-4": (2.5, 0.35), "3": (3.4, 0.4),
        "2-3": (4.8, 0.5), "2": (6.8, 0.6), "1-2": (9.6, 0.7), "1": (13.6, 1.0),
    }  # fmt: skip
    assert printed == CHANGE
    assert tuple(CHANGE) == GRADES


def test_a_measured_grey_scale_is_compared_step_by_step():
    found = scale_deviations({"5": 0.1, "3": 3.3, "1": 15.0})
    assert found == pytest.approx({"5": 0.1, "3": -0.1, "1": 1.4})
    within = {name: abs(value) <= CHANGE[name].tolerance for name, value in found.items()}
    assert within == {"5": True, "3": True, "1": False}
    for wrong, what in (
        ({"6": 1}, "grade"),
        ({"3": -1}, "pair 3"),
        ({"3": float("nan")}, "pair 3"),
    ):
        with pytest.raises(DomainError) as caught:
            scale_deviations(wrong)
        assert caught.value.what == what


@pytest.mark.parametrize(
    ("difference", "rating"),
    [
        (0.0, 5.0), (0.8, 4.529), (1.7, 4.0), (2.5, 3.529), (3.4, 3.0), (4.8, 2.5025),
        (6.8, 2.0), (9.6, 1.5025), (13.6, 1.0), (20.0, 1.0),
    ],
)  # fmt: skip
def test_the_computed_grade_of_the_scales_own_steps(difference, rating):
    # ISO 105-A05 against the steps of ISO 105-A02
    assert change_rating(difference)[0] == pytest.approx(rating, abs=5e-4)


@pytest.mark.parametrize("name", GRADES)
def test_the_scales_own_steps_get_their_own_grade(name):
    difference = CHANGE[name].difference
    assert grade(change_rating(difference)[0]) == name
    assert change_grade(difference) == [name]


def test_both_branches_of_the_computed_grade_meet():
    low, high = change_rating([3.4, np.nextafter(3.4, 4)])
    assert low == pytest.approx(3.0, abs=1e-12)
    assert high == pytest.approx(3.0, abs=1e-12)
    assert change_rating(np.nextafter(3.4, 4) + 1.7)[0] == pytest.approx(5 - np.log2(5.1 / 0.85))


@pytest.mark.parametrize(
    ("original", "tested", "expected", "rating", "name"),
    [
        ((40, 10, -40), (44, 8, -33), 5.3932, 2.334, "2-3"),
        ((60, 30, 20), (62, 25, 18), 4.2810, 2.668, "2-3"),
        ((50, 20, 2), (51, 19, -3), 4.9965, 2.445, "2-3"),
    ],
)
def test_the_worked_examples_of_a_change_in_colour(original, tested, expected, rating, name):
    # worked by hand from ISO 105-A05; the correction D is from memory, and as in public code
    found = change_difference(original=original, tested=tested)
    assert found[0] == pytest.approx(expected, abs=5e-5)
    assert change_rating(found)[0] == pytest.approx(rating, abs=5e-4)
    assert grade(change_rating(found)[0]) == name


def test_the_parts_of_the_first_worked_example():
    first, second = np.array((40.0, 10, -40)), np.array((44.0, 8, -33))
    parts = components(first, second)
    chroma = (np.hypot(10, 40) + np.hypot(8, 33)) / 2
    hues = np.degrees(np.arctan2([-40, -33], [10, 8])) % 360
    d = parts.d_c[0] * chroma * np.exp(-(((hues.mean() - 280) / 30) ** 2)) / 100
    assert d == pytest.approx(-2.6907, abs=5e-5)
    d_c = (parts.d_c[0] - d) / (1 + (20 * chroma / 1000) ** 2)
    d_h = (parts.d_h[0] - d) / (1 + (10 * chroma / 1000) ** 2)
    assert (d_c, d_h) == pytest.approx((-2.9288, 2.1234), abs=5e-5)
    expected = np.sqrt(16 + d_c**2 + d_h**2)
    assert change_difference(original=first, tested=second)[0] == pytest.approx(expected, rel=1e-12)


def slow_change_difference(original, tested):
    """dE_F one pair at a time, hue by hue, as the standard's text goes."""
    (l_1, a_1, b_1), (l_2, a_2, b_2) = original, tested
    c_1, c_2 = np.hypot(a_1, b_1), np.hypot(a_2, b_2)
    h_1, h_2 = (np.degrees(np.arctan2(b, a)) % 360 for a, b in ((a_1, b_1), (a_2, b_2)))
    mean = (h_1 + h_2) / 2
    turn = h_2 - h_1
    if abs(turn) > 180:
        mean += 180 if h_1 + h_2 < 360 else -180
        turn -= 360 * np.sign(turn)
    x = abs(mean - 280)
    x = (x / 30) ** 2 if x <= 180 else ((360 - x) / 30) ** 2
    chroma = (c_1 + c_2) / 2
    d = (c_2 - c_1) * chroma * np.exp(-x) / 100
    d_h = 2 * np.sqrt(c_1 * c_2) * np.sin(np.radians(turn / 2))
    parts = (
        l_2 - l_1,
        (c_2 - c_1 - d) / (1 + (chroma / 50) ** 2),
        (d_h - d) / (1 + (chroma / 100) ** 2),
    )
    return np.linalg.norm(parts)


def test_change_differences_follow_the_text_pair_by_pair():
    first, second = sample(2_000, 31)
    ours = change_difference(original=first, tested=second)
    theirs = [slow_change_difference(one, other) for one, other in zip(first, second, strict=True)]
    assert np.abs(ours - theirs).max() < 1e-9


def test_neutral_colours_have_hue_zero_and_differ_by_lightness():
    assert change_difference(original=(50, 0, -0.0), tested=(53, -0.0, 0))[0] == 3.0
    # hues 0 and 200: the mean of 100 is turned by 180 to 280, where D is largest
    bluish = (50, *(5 * np.array((np.cos(np.radians(200)), np.sin(np.radians(200))))))
    found = change_difference(original=(50, 0, 0), tested=bluish)[0]
    assert change_difference(original=(50, -0.0, 0), tested=bluish)[0] == found
    assert change_difference(original=(50, -0.0, -0.0), tested=bluish)[0] == found
    d = 5 * 2.5 / 100
    expected = np.hypot((5 - d) / (1 + 0.05**2), d / (1 + 0.025**2))
    assert found == pytest.approx(expected, rel=1e-12)


@given(LAB, LAB)
def test_no_change_is_grade_5_and_no_difference_is_negative(first, second):
    assert change_difference(original=first, tested=first)[0] == 0.0
    assert staining_difference(original=first, tested=first)[0] == 0.0
    assert change_difference(original=first, tested=second)[0] >= 0.0
    assert staining_difference(original=first, tested=second)[0] >= 0.0


def test_one_original_serves_all_and_batches_change_nothing():
    first, second = sample(30, 32)
    for function in (change_difference, staining_difference):
        together = function(original=first, tested=second)
        pairs = zip(first, second, strict=True)
        assert together.tolist() == [function(original=a, tested=b)[0] for a, b in pairs]
        one = function(original=first[0], tested=second)
        assert one.tolist() == [function(original=first[0], tested=b)[0] for b in second]


def test_staining_takes_four_tenths_of_what_is_not_lightness_away():
    # ISO 105-A04: dE - 0.4 sqrt(dE² - dL²)
    found = staining_difference(original=(90, 0, 0), tested=(86, 3, 0))[0]
    assert found == pytest.approx(5 - 0.4 * 3, rel=1e-14)
    assert staining_difference(original=(90, 0, 0), tested=(80, 0, 0))[0] == 10.0


@pytest.mark.parametrize(
    ("difference", "rating"),
    [(0.0, 5.0), (2.2, 4.5), (4.3, 4.0), (6.0, 3.5), (8.5, 3.0), (12.0, 2.5), (16.9, 2.0),
     (24.0, 1.5), (34.1, 1.0)],
)  # fmt: skip
def test_the_steps_of_the_staining_scale_get_their_own_grade(difference, rating):
    # steps of ISO 105-A03 as in public code; the formula of ISO 105-A04 is from memory
    found = staining_rating(difference)[0]
    assert found == pytest.approx(rating, abs=0.02)
    assert grade(found) == GRADES[round((5 - rating) * 2)]


def test_the_staining_formula_changes_branch_where_it_reaches_4():
    edge = np.exp(2.1 / 1.45)
    assert staining_rating(edge * 0.9999)[0] == pytest.approx(5 - 0.23 * edge * 0.9999, rel=1e-12)
    assert staining_rating(edge * 1.0001)[0] == pytest.approx(4 - 1.45 * np.log(1.0001), rel=1e-9)
    assert staining_rating([1e-12, 0.5]).tolist() == pytest.approx([5, 5 - 0.115])
    assert staining_rating(1e6)[0] == 1.0


@given(st.floats(0, 50), st.floats(0, 50))
def test_a_larger_change_never_gets_the_better_grade(one, other):
    small, large = sorted((one, other))
    assert change_rating(small)[0] >= change_rating(large)[0]
    places = [GRADES.index(change_grade(value)[0]) for value in (small, large)]
    assert places[0] <= places[1]
    for value in (small, large):
        apart = GRADES.index(grade(change_rating(value)[0])) - GRADES.index(change_grade(value)[0])
        assert abs(apart) <= 1


@pytest.mark.parametrize(
    ("rating", "name"),
    [
        (5, "5"), (4.75, "5"), (4.7451, "5"), (4.745, "4-5"), (4.74, "4-5"), (4.25, "4-5"),
        (4.24, "4"), (3.75, "4"), (3.74, "3-4"), (3.25, "3-4"), (3.24, "3"), (2.75, "3"),
        (2.74, "2-3"), (2.25, "2-3"), (2.24, "2"), (1.75, "2"), (1.74, "1-2"), (1.25, "1-2"),
        (1.24, "1"), (1.0, "1"),
    ],
)  # fmt: skip
def test_half_grades_have_bands_that_end_at_quarters(rating, name):
    assert grade(rating) == name


def test_the_bands_of_the_table_begin_at_their_first_value():
    begins = [0.40, 1.25, 2.10, 2.95, 4.10, 5.80, 8.20, 11.60]
    assert change_grade(begins) == list(GRADES[1:])
    assert change_grade(np.nextafter(begins, 0)) == list(GRADES[:-1])
    assert change_grade(100.0) == ["1"]


@pytest.mark.parametrize("rating", [0.99, 5.01, float("nan"), float("inf"), -1])
def test_a_rating_outside_the_scale_is_refused(rating):
    with pytest.raises(DomainError):
        grade(rating)


@pytest.mark.parametrize("function", [change_rating, change_grade, staining_rating])
@pytest.mark.parametrize("value", [-0.1, float("nan"), float("inf")])
def test_differences_that_are_none_are_named_by_their_place(function, value):
    with pytest.raises(DomainError) as caught:
        function([1.0, value])
    assert (caught.value.row, caught.value.band) == (0, 1)
    with pytest.raises(DomainError, match="shape"):
        function([[1.0], [2.0]])


@pytest.mark.parametrize("function", [change_difference, staining_difference])
def test_colours_outside_the_domain_are_named_by_row_and_band(function):
    with pytest.raises(DomainError) as caught:
        function(original=(50, 0, 0), tested=[(50, 0, 0), (50, 0, float("nan"))])
    assert (caught.value.what, caught.value.row, caught.value.band) == ("specimen Lab", 1, 2)
    with pytest.raises(TypeError):
        function((50, 0, 0), (51, 0, 0))
