"""Simulator category: colour differences against the library, letters, limits and refusals."""

import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from colorimetry import DomainError, Grid, GridError
from colorimetry.light.daylight import named_daylight
from colorimetry.light.simulator import (
    BOUNDARIES,
    FARTHEST,
    at_five,
    grade,
    simulator_category,
)
from colorimetry.light.virtual_specimens import read_ultraviolet, read_visible
from colorimetry.spectral_power import SpectralPower
from tests.colorimetry.references import OBSERVERS as NAMES
from tests.colorimetry.references import colour
from tests.colorimetry.test_light_temperature import lamp
from tests.colorimetry.virtual_pairs import text, ultraviolet_texts, visible

VISIBLE = read_visible(*map(text, visible()), "D65")
ULTRAVIOLET = read_ultraviolet(*ultraviolet_texts(), "D65")
SHAPE = colour.SpectralShape(380, 780, 5)


def by_library(stimuli, power, formula):
    """Lab or Luv (n, 3) of stimuli (n, 81) under power (81,) by the library's plain sums."""
    functions = colour.MSDS_CMFS[NAMES[10]].copy().align(SHAPE)
    found = []
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for row in (power, *stimuli):
            light = colour.SpectralDistribution(row, SHAPE)
            found.append(colour.sd_to_XYZ(light, functions, method="Integration", k=1.0))
    table = np.array(found) / found[0][1]
    white = colour.XYZ_to_xy(table[0])
    space = {"CIELAB": colour.XYZ_to_Lab, "CIELUV": colour.XYZ_to_Luv}[formula]
    return space(table[1:], white)


@pytest.mark.parametrize("formula", ["CIELAB", "CIELUV"])
@pytest.mark.parametrize("name", ["D65", "ID65", "FL3.15", "FL7", "FL1", "LED-B5"])
def test_differences_of_the_constructed_pairs_equal_the_librarys(name, formula):
    source = lamp(name)
    power = source.values[-81:]
    pair = [by_library(t * power, power, formula) for t in (VISIBLE.standards, VISIBLE.comparisons)]
    theirs = np.linalg.norm(pair[0] - pair[1], axis=1)
    ours = simulator_category(source, VISIBLE, formula=formula)
    assert ours.of_pairs == pytest.approx(theirs, abs=1e-9)
    assert ours.visible == pytest.approx(theirs.mean(), abs=5.1e-5)


# Regression values of the pairs constructed here: no published index of a simulator was found
@pytest.mark.parametrize(
    ("name", "index", "letters", "distance"),
    [
        ("D65", 0.0, "A", 0.0),
        ("FL3.15", 0.1546, "A", 0.0014),
        ("ID65", 0.1400, "A", 0.0019),
        ("FL7", 0.4219, "B", 0.0019),
        ("LED-B5", 1.0989, "D", 0.0071),
        ("FL1", 1.7227, "D", 0.0033),
    ],
)
def test_mean_differences_of_the_constructed_pairs(name, index, letters, distance):
    found = simulator_category(lamp(name), VISIBLE)
    assert found.visible == pytest.approx(index, abs=2e-4)
    assert (found.letters, found.ultraviolet) == (letters, None)
    assert found.distance == pytest.approx(distance, abs=5.1e-5)
    assert str(found) == f"{letters} (UV not assessed)"


def test_a_lamp_too_far_from_the_illuminant_gets_no_letter():
    found = simulator_category(lamp("LED-V2"), VISIBLE, None)
    assert found.distance == pytest.approx(0.0404, abs=5.1e-5)
    assert (found.letters, found.visible, found.of_pairs) == ("", None, ())
    assert str(found) == "no category: 0.0404 from D65 in u'10 v'10"
    for name in ("A", "FL2", "FL11", "LED-B3"):
        assert simulator_category(lamp(name), VISIBLE).letters == ""


def test_the_chromaticity_limit_is_met_at_0_015():
    nm = np.arange(300, 781, 5)
    daylight = named_daylight("D65").values

    def tilted(slope):
        values = daylight * np.exp(slope * (nm - 560) / 220)
        return simulator_category(SpectralPower(Grid(300, 780, 5), values), VISIBLE)

    low, high = 0.0, 1.0
    for _ in range(30):
        middle = (low + high) / 2
        low, high = (middle, high) if tilted(middle).letters else (low, middle)
    assert tilted(low).letters and tilted(low).distance == FARTHEST
    assert not tilted(high).letters and tilted(high).distance == pytest.approx(0.0151, abs=1e-9)


def test_ultraviolet_pairs_give_the_second_letter():
    exact = simulator_category(named_daylight("D65"), VISIBLE, ULTRAVIOLET)
    assert exact.letters == "AA" and str(exact) == "AA" and exact.ultraviolet < 0.01
    assert len(exact.of_pairs) == 8
    daylight = named_daylight("D65")
    without = daylight.values.copy()
    without[:16] = 0.0  # no ultraviolet: the brightener stays dark
    blind = simulator_category(SpectralPower(daylight.grid, without), VISIBLE, ULTRAVIOLET)
    assert blind.visible == exact.visible
    assert blind.letters[0] == "A" and blind.letters[1] in "CDE"


def test_fluorescence_is_computed_as_reflection_plus_emission():
    source = lamp("ID65")
    power, full = source.values[-81:], source.values[-97:]
    caught = 5.0 * (ULTRAVIOLET.excitation * full[:33]).sum(axis=1)
    stimuli = (ULTRAVIOLET.reflected + caught[:, None] * ULTRAVIOLET.emission / power) * power
    pair = [by_library(s, power, "CIELAB") for s in (ULTRAVIOLET.standards * power, stimuli)]
    found = simulator_category(source, VISIBLE, ULTRAVIOLET)
    theirs = np.linalg.norm(pair[0] - pair[1], axis=1)
    assert found.of_pairs[5:] == pytest.approx(theirs, abs=1e-9)
    assert found.ultraviolet == pytest.approx(theirs.mean(), abs=5.1e-5)


@given(st.floats(1e-3, 1e3))
def test_the_scale_of_the_lamp_is_of_no_account(scale):
    source = named_daylight("D55")
    louder = SpectralPower(source.grid, source.values * scale)
    plain = simulator_category(source, VISIBLE, ULTRAVIOLET)
    found = simulator_category(louder, VISIBLE, ULTRAVIOLET)
    assert found.letters == plain.letters
    assert found.of_pairs == pytest.approx(plain.of_pairs, abs=1e-9)


@pytest.mark.parametrize("formula", BOUNDARIES)
def test_letters_change_just_above_their_boundaries(formula):
    for letter, worse, boundary in zip("ABCD", "BCDE", BOUNDARIES[formula].upper, strict=True):
        assert grade(boundary, formula) == letter
        assert grade(np.nextafter(boundary, 9.0), formula) == worse
        assert grade(np.nextafter(boundary, 0.0), formula) == letter
    assert grade(0.0, formula) == "A" and grade(1e9, formula) == "E"


@given(st.floats(0, 10), st.floats(0, 10))
def test_a_larger_index_never_has_a_better_letter(first, second):
    low, high = sorted((first, second))
    assert grade(low) <= grade(high)


def test_boundaries_are_those_that_were_seen():
    # as ISO 23603 is cited in a public encyclopaedia
    assert BOUNDARIES["CIELAB"].upper == (0.25, 0.5, 1.0, 2.0)
    assert BOUNDARIES["CIELUV"].upper == (0.32, 0.65, 1.3, 2.6)
    assert all("from memory" in boundaries.on_boundary for boundaries in BOUNDARIES.values())


@pytest.mark.parametrize("wrong", [-0.1, float("nan"), float("inf")])
def test_what_is_no_index_has_no_letter(wrong):
    with pytest.raises(DomainError, match="index"):
        grade(wrong)


def test_1_nm_readings_are_averaged_so_that_lines_between_the_points_count():
    nm = np.arange(300, 781)
    flat = np.ones(481)
    assert at_five(SpectralPower(Grid(300, 780, 1), flat), 380) == pytest.approx(np.ones(81))
    line = np.zeros(481)
    line[nm == 437] = 10.0
    found = at_five(SpectralPower(Grid(300, 780, 1), line), 380)
    assert found[[11, 12]] == pytest.approx([10 * 0.6 / 5, 10 * 0.4 / 5])
    assert found.sum() == pytest.approx(2.0)
    d65 = named_daylight("D65").per_nanometre("linear")
    fine = simulator_category(SpectralPower(Grid(360, 780, 1), d65), VISIBLE)
    assert fine.letters == "A" and fine.visible < 0.05


@pytest.mark.parametrize(
    ("grid", "problem"),
    [
        (Grid(380, 780, 10), "step"),
        (Grid(380, 780, 2), "step"),
        (Grid(377, 782, 5), "step"),
        (Grid(385, 780, 5), "range"),
        (Grid(380, 775, 5), "range"),
    ],
)
def test_other_lamp_readings_are_refused(grid, problem):
    with pytest.raises(GridError) as caught:
        simulator_category(SpectralPower(grid, np.ones(len(grid))), VISIBLE)
    assert caught.value.problem == problem


def test_ultraviolet_needs_readings_from_300_nm_and_pairs_of_the_same_illuminant():
    with pytest.raises(GridError, match="300 to 780"):
        simulator_category(SpectralPower(Grid(380, 780, 5), np.ones(81)), VISIBLE, ULTRAVIOLET)
    other = read_ultraviolet(*ultraviolet_texts("D50"), "D50")
    with pytest.raises(DomainError, match="D50 beside D65"):
        simulator_category(named_daylight("D65"), VISIBLE, other)
    for call in (
        lambda: simulator_category(named_daylight("D65"), VISIBLE, formula="CIEDE2000"),
        lambda: grade(0.1, "CIEDE2000"),
    ):
        with pytest.raises(DomainError, match="formula"):
            call()
