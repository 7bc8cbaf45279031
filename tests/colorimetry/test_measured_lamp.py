"""Weights of a measured lamp: against the shipped tables and the library's E2022 builder."""

import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from colorimetry import OBSERVERS, STEPS, DomainError, Grid, GridError, lab, weights, xyz
from colorimetry.measured_lamp import lagrange, lamp_weights
from colorimetry.spectral_power import SpectralPower, colour_matching
from colorimetry.weights import diffuser
from tests.colorimetry.references import (
    OBSERVERS as NAMES,
)
from tests.colorimetry.references import (
    SPECTRAL_SHAPE_ASTME308,
    colour,
    tristimulus_weighting_factors_ASTME2022,
)

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from colour.colorimetry.tristimulus_values import lagrange_coefficients_ASTME2022

    from colorimetry.make_weights import ILLUMINANTS, illuminant_1nm

GRID = Grid(400, 700, 10)


def tabulated(name):
    """An illuminant's 5 nm table as if a lamp had been measured so."""
    source = colour.SDS_ILLUMINANTS[ILLUMINANTS[name]]
    return SpectralPower.of(source.wavelengths.tolist(), source.values)


def invented(step, seed, start=380, stop=780):
    """An invented lamp: a broad band with lines on it."""
    rng = np.random.default_rng(seed)
    nm = np.arange(start, stop + 1, step)
    values = np.exp(-(((nm - 560) / 120) ** 2)) + 3.0 * rng.random(len(nm)) ** 8
    return SpectralPower.of(nm.tolist(), 17.5 * values)


@pytest.mark.parametrize("illuminant", ILLUMINANTS)
def test_an_illuminants_own_1_nm_data_reproduce_the_shipped_weights(illuminant):
    source = illuminant_1nm(illuminant)
    lamp = SpectralPower.of(source.wavelengths.tolist(), source.values * 3.7)
    for observer in OBSERVERS:
        for grid in (Grid(360, 780, 5), Grid(360, 780, 10), Grid(400, 700, 20), GRID):
            ours = lamp_weights(lamp, observer, grid, interpolation="sprague")
            assert np.abs(ours - weights(illuminant, observer, grid)).max() < 1e-12


@pytest.mark.parametrize(
    ("illuminant", "interpolation"),
    [("D65", "linear"), ("D50", "linear")]
    + [(name, "sprague") for name in ("C", "F2", "F7", "F11", "FL3.15", "LED-B3")],
)
def test_5_nm_tables_reproduce_the_shipped_weights_by_the_stated_interpolation(
    illuminant, interpolation
):
    lamp = tabulated(illuminant)
    ours = lamp_weights(lamp, 10, GRID, interpolation=interpolation)
    assert np.abs(ours - weights(illuminant, 10, GRID)).max() < 1e-12
    other = {"linear": "sprague", "sprague": "linear"}[interpolation]
    assert np.abs(lamp_weights(lamp, 10, GRID, interpolation=other) - ours).max() > 1e-6


@pytest.mark.parametrize("step", [1, 2, 4, 5, 10])
@pytest.mark.parametrize("interpolation", ["sprague", "linear"])
def test_weights_equal_the_librarys_e2022_builder(step, interpolation):
    lamp = invented(step, seed=step, start=360 if step != 10 else 380)
    source = colour.SpectralDistribution(lamp.values, lamp.grid.wavelengths())
    kind = {"sprague": colour.SpragueInterpolator, "linear": colour.LinearInterpolator}
    start = lamp.grid.start
    source = source.interpolate(
        colour.SpectralShape(start, 780, 1), interpolator=kind[interpolation]
    )
    outside = {"method": "Constant", "left": 0, "right": 0}
    source = source.extrapolate(SPECTRAL_SHAPE_ASTME308, extrapolator_kwargs=outside)
    for observer in OBSERVERS:
        functions = colour.MSDS_CMFS[NAMES[observer]].copy().align(SPECTRAL_SHAPE_ASTME308)
        for width in STEPS:
            theirs = tristimulus_weighting_factors_ASTME2022(
                functions, source, colour.SpectralShape(360, 780, width)
            )
            grid = Grid(360, 780, width)
            ours = lamp_weights(lamp, observer, grid, interpolation=interpolation)
            assert np.abs(ours - theirs.T).max() < 1e-12


@pytest.mark.parametrize("step", STEPS)
def test_lagrange_coefficients_equal_the_librarys(step):
    matrix = lagrange(step)
    inner = lagrange_coefficients_ASTME2022(step, "inner")
    boundary = lagrange_coefficients_ASTME2022(step, "boundary")
    assert np.abs(matrix[:3, 1:step].T - boundary).max() < 1e-14
    assert np.abs(matrix[-3:, -step:-1].T[::-1, ::-1] - boundary).max() < 1e-14
    assert np.abs(matrix[3:7, 4 * step + 1 : 5 * step].T - inner).max() < 1e-14
    assert matrix.sum(axis=0) == pytest.approx(np.ones(421), abs=1e-14)


@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("power", [0, 1, 2, 3])
def test_lagrange_coefficients_reproduce_polynomials_up_to_their_degree(step, power):
    nm = np.arange(421) / 420
    inside = slice(step, 421 - step) if power == 3 else slice(None)
    assert (nm[::step] ** power @ lagrange(step))[inside] == pytest.approx(
        (nm**power)[inside], abs=1e-13
    )


@given(st.integers(0, 2**32 - 1), st.sampled_from([2, 4, 5, 10]))
def test_sprague_interpolation_equals_the_librarys_and_keeps_the_readings(seed, step):
    lamp = invented(step, seed)
    fine = lamp.per_nanometre("sprague")
    theirs = colour.SpragueInterpolator(lamp.grid.wavelengths(), lamp.values)(np.arange(380, 781))
    assert fine[20:] == pytest.approx(theirs, abs=1e-10)
    assert fine[20::step] == pytest.approx(lamp.values, abs=1e-11)
    assert not fine[:20].any()


@given(st.integers(0, 2**32 - 1), st.floats(1e-6, 1e6))
def test_the_scale_of_the_lamp_is_of_no_account_and_y_sums_to_100(seed, scale):
    lamp = invented(5, seed)
    louder = SpectralPower(lamp.grid, lamp.values * scale)
    ours = lamp_weights(lamp, 2, GRID, interpolation="sprague")
    assert lamp_weights(louder, 2, GRID, interpolation="sprague") == pytest.approx(
        ours, rel=1e-9, abs=1e-12
    )
    white = diffuser(ours)
    assert white[1] == pytest.approx(100.0, abs=1e-11)
    assert lab(xyz(np.ones((1, 31)), ours), white).tolist() == [[100.0, 0.0, 0.0]]


def test_a_lamp_measured_beyond_780_nm_and_below_360_nm_is_cut_there():
    wide = invented(5, seed=3, start=300, stop=1050)
    ours = lamp_weights(wide, 10, GRID, interpolation="linear")
    part = SpectralPower(Grid(355, 785, 5), wide.values[11:98])
    assert np.array_equal(lamp_weights(part, 10, GRID, interpolation="linear"), ours)


@pytest.mark.parametrize(("start", "stop"), [(381, 781), (380, 779), (400, 700), (385, 830)])
def test_a_lamp_that_does_not_cover_380_to_780_nm_is_refused(start, stop):
    lamp = invented(1, seed=1, start=start, stop=stop)
    with pytest.raises(GridError) as caught:
        lamp_weights(lamp, 10, GRID, interpolation="sprague")
    assert caught.value.problem == "range"


@pytest.mark.parametrize(
    ("nm", "problem"),
    [
        ([380.0, 380.5, 381.0], "uneven"),
        ([380, 385, 395], "uneven"),
        ([780, 775, 770], "uneven"),
        ([380, 400, 420], "step"),
        ([380], "short"),
    ],
)
def test_uneven_and_coarse_lamp_readings_are_refused(nm, problem):
    with pytest.raises(GridError) as caught:
        SpectralPower.of(nm, np.ones(len(nm)))
    assert caught.value.problem == problem


@pytest.mark.parametrize(("value", "problem"), [(np.nan, "nan"), (np.inf, "inf"), (-0.2, "range")])
def test_values_that_are_no_power_are_named_by_band(value, problem):
    values = np.ones(81)
    values[7] = value
    with pytest.raises(DomainError) as caught:
        SpectralPower(Grid(380, 780, 5), values)
    assert (caught.value.problem, caught.value.row, caught.value.band) == (problem, 0, 7)


def test_other_wrong_lamps_are_refused():
    grid = Grid(380, 780, 5)
    for wrong in (np.zeros(81), np.ones(80), np.ones((2, 81)), ["x"] * 81):
        with pytest.raises(DomainError):
            SpectralPower(grid, wrong)
    lamp = SpectralPower(grid, np.ones(81))
    with pytest.raises(DomainError, match="interpolation"):
        lamp_weights(lamp, 10, GRID, interpolation="cubic")
    with pytest.raises(GridError, match="observer"):
        lamp_weights(lamp, 5, GRID, interpolation="linear")
    with pytest.raises(GridError, match="observer"):
        colour_matching(5)
    with pytest.raises(GridError, match="step"):
        lamp_weights(lamp, 2, Grid(400, 700, 15), interpolation="linear")


def test_slight_noise_below_zero_is_computed_as_it_stands():
    values = np.ones(81)
    values[0] = -0.005
    lamp = SpectralPower(Grid(380, 780, 5), values)
    assert lamp.per_nanometre("linear")[20] == -0.005
    with pytest.raises(ValueError, match="read-only"):
        lamp.values[0] = 0.0


@pytest.mark.parametrize(("value", "taken"), [(-0.01, True), (-0.0101, False)])
def test_noise_reaches_to_one_hundredth_of_the_largest_value(value, taken):
    values = np.full(81, 0.5)
    values[3], values[7] = 1.0, value
    if taken:
        assert SpectralPower(Grid(380, 780, 5), values).values[7] == value
    else:
        with pytest.raises(DomainError, match="below 0"):
            SpectralPower(Grid(380, 780, 5), values)
