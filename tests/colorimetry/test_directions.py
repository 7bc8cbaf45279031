"""Words of direction follow the printed numbers and keep still where they would mean nothing."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from colorimetry import DomainError, components, quantise
from colorimetry.directions import HUE, Direction, NeutralZone, directions
from tests.colorimetry.test_difference import LAB

# an invented agreement's value: the package has no default
ZONE = NeutralZone(5.0, "common practice, no published source")
ANYWHERE = NeutralZone(0.0, "no zone: every hue counts")


def one(reference, specimen, decimals=2, neutral=ZONE):
    """The direction of a single specimen."""
    (found,) = directions(
        reference=reference, specimen=specimen, decimals=decimals, neutral=neutral
    )
    return found


def polar(hue, chroma, lightness=50.0):
    """A colour of a hue angle in degrees."""
    return lightness, chroma * math.cos(math.radians(hue)), chroma * math.sin(math.radians(hue))


def test_every_sign_has_its_word():
    # ISO/CIE 11664-4: specimen minus reference
    assert one((50, 20, 30), (52, 22, 34)) == Direction(
        "lighter", "redder", "yellower", "more_chromatic", ("yellower", "greener"), None
    )
    assert one((52, 22, 33), (50, 20, 29)) == Direction(
        "darker", "greener", "bluer", "less_chromatic", ("redder", "bluer"), None
    )


def test_a_difference_printed_as_zero_has_no_word():
    first, second = (50, 20, 30), (50.004, 19.997, 30.002)
    assert one(first, second) == Direction(None, None, None, None, None, None)
    found = one(first, second, decimals=3)
    assert found[:3] == ("lighter", "greener", "yellower")
    assert found.hue == ("yellower", "greener")
    assert one(first, first, decimals=12) == Direction(None, None, None, None, None, None)


@pytest.mark.parametrize(
    ("hue", "turn", "words"),
    [
        (45, 5, ("yellower", "greener")),
        (45, -5, ("redder", "bluer")),
        (135, 5, ("greener", "bluer")),
        (135, -5, ("yellower", "redder")),
        (225, 5, ("bluer", "redder")),
        (225, -5, ("greener", "yellower")),
        (315, 5, ("redder", "yellower")),
        (315, -5, ("bluer", "greener")),
        # past a half axis: the words are those of the way, from the reference on
        (85, 20, ("yellower", "greener")),
        (5, -20, ("redder", "bluer")),
    ],
)
def test_a_turn_of_hue_names_the_first_two_half_axes_on_its_way(hue, turn, words):
    # Westland & Ripamonti (2004), chapter 5
    assert one(polar(hue, 30), polar(hue + turn, 30)).hue == words


@pytest.mark.parametrize("hue", range(15, 360, 30))
@pytest.mark.parametrize("chroma", [0.3, 30])
def test_the_words_of_a_turn_do_not_hang_on_chroma(hue, chroma):
    for turn in (10, -10):
        words = one(polar(hue, chroma), polar(hue + turn, chroma), 6, ANYWHERE).hue
        assert words == one(polar(hue, 80), polar(hue + turn, 80)).hue


@pytest.mark.parametrize(
    ("axis", "left", "right"),
    [
        ((30, 0), ("yellower", "greener"), ("bluer", "greener")),
        ((30, -0.0), ("yellower", "greener"), ("bluer", "greener")),
        ((0, 30), ("greener", "bluer"), ("redder", "bluer")),
        ((-30, 0), ("bluer", "redder"), ("yellower", "redder")),
        ((0, -30), ("redder", "yellower"), ("greener", "yellower")),
    ],
)
def test_a_reference_on_a_half_axis_has_already_left_it(axis, left, right):
    a, b = axis
    for sign, words in ((1, left), (-1, right)):
        turned = (50, a - sign * b * 0.1, b + sign * a * 0.1)
        assert one((50, a, b), turned).hue == words


@pytest.mark.parametrize(
    ("first", "second"), [((50, 4.99, 0), (50, 6, 1)), ((50, 6, 1), (50, 0, 0))]
)
def test_near_the_neutral_axis_hue_and_chroma_keep_still_but_a_and_b_speak(first, second):
    found = one(first, second)
    assert (found.chroma, found.hue, found.withheld) == (None, None, "near_neutral")
    assert found.red_green == ("redder" if second[1] > first[1] else "greener")
    assert found.yellow_blue is not None


def test_the_zone_ends_where_the_printed_chroma_reaches_it():
    assert one((50, 4.996, 0), (50, 8, 2)).withheld is None  # printed as 5.00
    assert one((50, 4.994, 0), (50, 8, 2)).withheld == "near_neutral"
    assert one((50, 4.996, 0), (50, 8, 2), decimals=3).withheld == "near_neutral"
    assert one((50, 8, 2), (50, 5, 0)).hue == ("redder", "bluer")


def test_without_a_zone_a_neutral_reference_still_has_no_hue():
    found = one((50, 0, 0), (50, 3, 4), neutral=ANYWHERE)
    assert found == Direction(None, "redder", "yellower", "more_chromatic", None, None)
    assert one((50, 0, -0.0), (50, 0, 0), neutral=ANYWHERE).chroma is None


def test_of_exactly_opposite_hues_no_way_round_is_named():
    found = one((50, 20, -10), (50, -40, 20))
    assert (found.chroma, found.hue, found.withheld) == ("more_chromatic", None, "opposite")
    near = one((50, 20, -10), (50, -40, 20.001))
    assert near.withheld is None and near.hue is not None
    for axis in ((50, 20, 0), (50, 0, 20), (50, 0.2, 0.3)):
        across = (50, -axis[1], -axis[2])
        assert one(axis, across, neutral=ANYWHERE).withheld == "opposite"
    # the same hue is not the opposite one, and a neutral colour has none
    assert one((50, 0, 0), (50, 3, 4), neutral=ANYWHERE).withheld is None
    assert one((50, 20, -10), (50, 40, -20)).withheld is None


@given(LAB, LAB, st.integers(0, 4))
def test_words_never_contradict_the_printed_numbers(first, second, decimals):
    found = one(first, second, decimals)
    parts = components(first, second)
    printed = [quantise(float(part[0]), decimals) for part in parts]
    words = (found.lightness, found.red_green, found.yellow_blue)
    for number, word, (negative, positive) in zip(
        printed,
        words,
        (("darker", "lighter"), ("greener", "redder"), ("bluer", "yellower")),
        strict=False,
    ):
        assert word == (positive if number > 0 else negative if number < 0 else None)
    if found.withheld == "near_neutral":
        assert found.chroma is None and found.hue is None
    else:
        assert (found.chroma is None) == printed[3].is_zero()
        assert (found.hue is None) == (printed[4].is_zero() or found.withheld == "opposite")


@given(st.floats(0, 360), st.floats(0.5, 80), st.sampled_from([1, -1]))
def test_a_small_turn_names_the_quarter_it_is_in(hue, turn, sign):
    quarter = math.floor(hue / 90) % 4
    if min(hue % 90, 90 - hue % 90) < 1e-6:
        return  # on a half axis: a test of its own
    found = one(polar(hue, 40), polar(hue + sign * turn, 40)).hue
    first = quarter + 1 if sign > 0 else quarter
    assert found == (HUE[first % 4], HUE[(first + sign) % 4])


@given(st.integers(0, 2**32 - 1))
def test_exchanging_the_two_turns_every_word_round(seed):
    rng = np.random.default_rng(seed)
    first = rng.uniform((0, -60, -60), (100, 60, 60), (30, 3))
    second = first + rng.normal(0, 2, first.shape)
    opposite = {
        "lighter": "darker", "redder": "greener", "yellower": "bluer",
        "more_chromatic": "less_chromatic", None: None,
    }  # fmt: skip
    opposite |= {b: a for a, b in opposite.items()}
    forth = directions(reference=first, specimen=second, decimals=2, neutral=ZONE)
    back = directions(reference=second, specimen=first, decimals=2, neutral=ZONE)
    for there, here in zip(forth, back, strict=True):
        assert [opposite[word] for word in there[:4]] == list(here[:4])
        assert there.withheld == here.withheld
        assert (there.hue is None) == (here.hue is None)
    single = [one(a, b) for a, b in zip(first, second, strict=True)]
    assert single == forth


@pytest.mark.parametrize(
    ("chroma", "source", "problem"),
    [
        (-0.1, "clause 4", "range"),
        (float("nan"), "clause 4", "range"),
        (float("inf"), "clause 4", "range"),
        (5, "", "missing"),
        (5, "  ", "missing"),
    ],
)
def test_a_neutral_zone_has_a_chroma_and_a_source(chroma, source, problem):
    with pytest.raises(DomainError) as caught:
        NeutralZone(chroma, source)
    assert (caught.value.what, caught.value.problem) == ("neutral zone", problem)


def test_values_outside_the_domain_are_named_by_row_and_band():
    with pytest.raises(DomainError) as caught:
        one((50, 0, 0), [(50, 0, 0), (50, 0, float("nan"))])
    assert (caught.value.problem, caught.value.row, caught.value.band) == ("nan", 1, 2)
    with pytest.raises(DomainError, match="decimals"):
        one((50, 0, 0), (50, 1, 0), decimals=-1)
