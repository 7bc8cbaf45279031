"""Gloss by Fresnel's formulas, the choice of angle, plausibility, differences by angle."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from colorimetry import DomainError
from colorimetry.gloss import angle_to_read, gloss_differences, gloss_of_index, suspect
from colorimetry.saunderson import fresnel


@pytest.mark.parametrize(
    ("index", "units"),
    [
        # Fresnel's formulas, relative to 1.567 (ISO 2813, 3.3); 1.400: its table 2, from memory
        (1.400, (57.0, 71.9, 96.6)),
        (1.500, (82.0, 89.1, 99.0)),
        (1.540, (92.7, 95.7, 99.6)),
        (1.567, (100.0, 100.0, 100.0)),
    ],
)
def test_gloss_of_smooth_surfaces_is_fresnels(index, units):
    found = [gloss_of_index(index, angle) for angle in (20, 60, 85)]
    assert found == pytest.approx(units, abs=0.05)


def test_the_standard_glass_reflects_what_the_formulas_say():
    found = 100 * fresnel(1.567, [20, 60, 85])
    assert found == pytest.approx([4.91, 10.01, 61.91], abs=0.005)


@given(st.floats(1.01, 1.567), st.floats(1.01, 1.567))
def test_up_to_the_standard_glass_gloss_rises_with_the_index_and_20_degrees_tells_most(one, other):
    low, high = sorted((one, other))
    for angle in (20, 60, 85):
        assert gloss_of_index(low, angle) <= gloss_of_index(high, angle)
    spread = [abs(gloss_of_index(one, angle) - 100) for angle in (20, 60, 85)]
    assert spread == sorted(spread, reverse=True)


def test_the_angle_to_read_follows_from_60_degrees():
    # ISO 2813; ASTM D523: above 70 GU 20 degrees, below 10 GU 85 degrees
    found = angle_to_read([0, 9.9, 10, 35, 70, 70.1, 98, 150])
    assert found.tolist() == [85, 85, 60, 60, 60, 20, 20, 20]
    assert angle_to_read(5.0).tolist() == [85]


def test_20_degrees_above_60_degrees_is_suspect_below_100_units():
    found = suspect(gloss_20=[50, 60, 90, 101, 180, 101], gloss_60=[50, 55, 95, 99.9, 140, 100])
    assert found.tolist() == [False, True, False, True, False, False]


@given(st.floats(1.01, 3))
def test_no_smooth_surface_is_suspect(index):
    units = {f"gloss_{angle}": gloss_of_index(index, angle) for angle in (20, 60)}
    assert not suspect(**units)[0]


def test_differences_are_kept_by_angle_and_signed():
    reference = {20: 80.0, 60: [90.0, 91.0]}
    specimen = {60: [89.0, 93.0], 20: [82.5, 80.0]}
    found = gloss_differences(reference=reference, specimen=specimen)
    assert {angle: part.tolist() for angle, part in found.items()} == {20: [2.5, 0], 60: [-1, 2]}
    assert list(found) == [20, 60]


@pytest.mark.parametrize(
    ("reference", "specimen", "what", "problem"),
    [
        ({20: 80}, {60: 80}, "specimen", "missing"),
        ({20: 80}, {20: 80, 60: 80}, "reference", "missing"),
        ({45: 80}, {45: 80}, "angle", "range"),
        ({20: 80}, {20: 80, 45: 80}, "angle", "range"),
        ({20: [80, 81, 82]}, {20: [80, 81]}, "gloss at 20°", "shape"),
        ({20: 80, 60: 90}, {20: [80, 81], 60: 80}, "gloss at 60°", "shape"),
        ({20: -1}, {20: 80}, "reference gloss at 20°", "range"),
        ({20: 80}, {20: [80, float("nan")]}, "specimen gloss at 20°", "nan"),
        ({20: 80}, {20: [[80], [81]]}, "specimen gloss at 20°", "shape"),
    ],
)
def test_gloss_that_does_not_fit_is_refused_by_angle(reference, specimen, what, problem):
    with pytest.raises(DomainError) as caught:
        gloss_differences(reference=reference, specimen=specimen)
    assert (caught.value.what, caught.value.problem) == (what, problem)
    if problem == "missing":
        assert caught.value.detail == "gloss at 60° not measured" or "20°" in caught.value.detail


def test_readings_outside_the_domain_are_refused():
    for value in (-0.1, float("nan"), float("inf")):
        with pytest.raises(DomainError) as caught:
            angle_to_read([50, value])
        assert (caught.value.row, caught.value.band) == (0, 1)
        with pytest.raises(DomainError, match="gloss at 20"):
            suspect(gloss_20=value, gloss_60=50)
    with pytest.raises(DomainError, match="2 readings at 20°, 1 at 60°"):
        suspect(gloss_20=[1, 2], gloss_60=[1])
    with pytest.raises(DomainError, match="45 is none of"):
        gloss_of_index(1.5, 45)
    with pytest.raises(DomainError, match="refractive index"):
        gloss_of_index(0.9, 60)
    assert np.isfinite(gloss_of_index(1.0, 60))
