"""Weights against published tables and white points, and against an independent builder."""

import itertools
import json
import warnings

import numpy as np
import pytest

from colorimetry import ILLUMINANTS, OBSERVERS, STEPS, Grid, GridError, lab, weights, white, xyz
from tests.colorimetry.references import OBSERVERS as NAMES
from tests.colorimetry.references import colour, open_reflectances, reference_weights

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from colour.colorimetry.tests import test_tristimulus_values as published

GRIDS = [
    Grid(start, stop, step)
    for step in STEPS
    for start, stop in ((360, 780), (380, 780), (380, 740), (400, 700))
]
FULL = Grid(360, 780, 10)


@pytest.mark.parametrize(
    ("table", "illuminant", "observer", "step"),
    [
        ("TWF_A_CIE_1964_10_10", "A", 10, 10),
        ("TWF_A_CIE_1964_10_20", "A", 10, 20),
        ("TWF_D65_CIE_1931_2_20", "D65", 2, 20),
    ],
)
def test_the_printed_tables_of_astm_e308_are_reproduced_to_their_three_decimals(
    table, illuminant, observer, step
):
    # ASTM E308-15 tables, as shipped in the tests of colour-science; they run on to 830 nm, so
    # that their 780 nm row is no end row and differs a little more
    printed = getattr(published, table)
    ours = weights(illuminant, observer, Grid(360, 780, step)).T
    off = np.abs(ours - printed[: len(ours)])
    assert off[:-1].max() <= 0.00055
    assert off[-1].max() <= 0.001
    assert np.abs(printed[len(ours) :]).max() <= 0.001


def test_the_printed_table_cut_to_400_to_700_nm_is_reproduced():
    printed = published.TWF_D65_CIE_1931_2_20_A
    assert np.abs(weights("D65", 2, Grid(400, 700, 20)).T - printed).max() <= 0.0015


@pytest.mark.parametrize("grid", GRIDS, ids=str)
@pytest.mark.parametrize("observer", OBSERVERS)
@pytest.mark.parametrize("illuminant", ["D65", "A"])
def test_weights_equal_an_independent_builder_on_every_grid(illuminant, observer, grid):
    ours = weights(illuminant, observer, grid)
    assert ours.shape == (3, len(grid))
    assert np.abs(ours - reference_weights(illuminant, observer, grid)).max() < 1e-12


@pytest.mark.parametrize(
    ("illuminant", "observer", "x", "z", "tolerance"),
    [
        # ASTM E308 white points as printed in color_constants.py of colormath 3.0.0
        ("D65", 2, 95.047, 108.883, 0.002),
        ("A", 2, 109.850, 35.585, 0.002),
        ("F2", 2, 99.186, 67.393, 0.01),
        ("F11", 2, 100.962, 64.350, 0.01),
        # from memory, within rounding of the 1 nm data of luxpy 1.12.5
        ("D65", 10, 94.811, 107.304, 0.002),
        ("A", 10, 111.144, 35.200, 0.002),
        ("F2", 10, 103.279, 69.027, 0.01),
        ("F11", 10, 103.863, 65.607, 0.01),
        # from memory
        ("C", 2, 98.074, 118.232, 0.002),
        ("C", 10, 97.285, 116.145, 0.002),
        ("D50", 2, 96.422, 82.521, 0.02),
        ("D50", 10, 96.720, 81.427, 0.02),
    ],
)
def test_white_points_agree_with_the_published_ones(illuminant, observer, x, z, tolerance):
    found = white(illuminant, observer, FULL)
    assert found == pytest.approx([x, 100.0, z], abs=tolerance)


@pytest.mark.parametrize(
    ("illuminant", "observer", "grid"),
    list(itertools.product(ILLUMINANTS, OBSERVERS, GRIDS)),
    ids=str,
)
def test_white_is_the_sum_of_the_weights_and_gives_exactly_lab_100_0_0(illuminant, observer, grid):
    table = weights(illuminant, observer, grid)
    found = white(illuminant, observer, grid)
    assert found == pytest.approx(table.sum(axis=1), rel=1e-14)
    assert found[1] == pytest.approx(100.0, abs=1e-12)
    diffuser = lab(xyz(np.ones(len(grid)), table), found)
    assert diffuser.tolist() == [[100.0, 0.0, 0.0]]


@pytest.mark.parametrize("step", STEPS)
def test_cutting_the_range_equals_holding_the_end_readings(step):
    full, short = Grid(360, 780, step), Grid(400, 700, step)
    reading = np.random.default_rng(7).random(len(short))
    held = np.interp(full.wavelengths(), short.wavelengths(), reading)
    for illuminant, observer in itertools.product(ILLUMINANTS, OBSERVERS):
        cut = xyz(reading, weights(illuminant, observer, short))
        assert cut == pytest.approx(xyz(held, weights(illuminant, observer, full)), abs=1e-12)


def test_readings_outside_360_to_780_nm_have_no_weight():
    wide = weights("D65", 10, Grid(340, 830, 10))
    assert not wide[:, :2].any() and not wide[:, -5:].any()
    assert np.array_equal(wide[:, 2:-5], weights("D65", 10, FULL))


def test_regression_values_on_open_reflectances():
    # computed with the builder described in colorimetry/make_weights.py, D65/10, 400-700/10 nm
    grid = Grid(400, 700, 10)
    reflectances = open_reflectances()[:, 4:65:2]
    found = lab(xyz(reflectances, weights("D65", 10, grid)), white("D65", 10, grid))
    assert found[0] == pytest.approx([36.8030, 13.8909, 14.6735], abs=5e-5)
    assert found[12] == pytest.approx([32.5750, 13.3466, -46.6418], abs=5e-5)
    assert found[14] == pytest.approx([40.2491, 48.5536, 24.3087], abs=5e-5)
    assert found[23] == pytest.approx([21.4274, -0.0782, -0.9327], abs=5e-5)


@pytest.mark.filterwarnings("ignore::colour.utilities.ColourRuntimeWarning")
def test_xyz_equals_the_reference_library_on_open_reflectances():
    grid = Grid(380, 780, 10)
    reflectances = open_reflectances()[:, ::2]
    ours = xyz(reflectances, weights("D65", 10, grid))
    for row, values in enumerate(reflectances):
        distribution = colour.SpectralDistribution(values, grid.wavelengths())
        theirs = colour.sd_to_XYZ(
            distribution,
            colour.MSDS_CMFS[NAMES[10]],
            colour.SDS_ILLUMINANTS["D65"],
            method="ASTM E308",
        )
        assert ours[row] == pytest.approx(theirs, abs=1e-11)


@pytest.mark.parametrize(
    ("illuminant", "observer", "grid", "problem"),
    [
        ("D75", 10, FULL, "illuminant"),
        ("D65", 5, FULL, "observer"),
        ("D65", 10, Grid(400, 700, 15), "step"),
        ("D65", 10, Grid(390, 710, 20), "phase"),
        ("D65", 10, Grid(410, 700, 10), "range"),
        ("D65", 10, Grid(400, 690, 10), "range"),
    ],
)
def test_combinations_without_a_table_are_refused_by_what_is_wrong(
    illuminant, observer, grid, problem
):
    with pytest.raises(GridError) as caught:
        weights(illuminant, observer, grid)
    assert caught.value.problem == problem


@pytest.mark.parametrize(
    ("wavelengths", "problem"),
    [
        ([400], "short"),
        ([400, 410, 425], "uneven"),
        ([700, 690, 680], "uneven"),
        ([400, 400, 400], "uneven"),
        ([400.5, 410.5, 420.5], "uneven"),
        ([400, float("nan"), 420], "uneven"),
    ],
)
def test_uneven_wavelengths_are_no_grid(wavelengths, problem):
    with pytest.raises(GridError) as caught:
        Grid.of(wavelengths)
    assert caught.value.problem == problem


def test_a_grid_survives_its_wavelengths():
    for grid in GRIDS:
        assert Grid.of(grid.wavelengths()) == grid and len(grid.wavelengths()) == len(grid)


def test_weights_cannot_be_written_to():
    with pytest.raises(ValueError, match="read-only"):
        weights("D65", 10, FULL)[0, 0] = 1.0


def test_the_committed_data_file_is_what_the_script_makes():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from colorimetry import make_weights
    committed = json.loads(make_weights.TARGET.read_text(encoding="ascii"))["tables"]
    made = make_weights.document()["tables"]
    assert committed.keys() == made.keys() and len(made) == 36
    for name, table in made.items():
        assert np.abs(np.array(committed[name]) - np.array(table)).max() < 1e-12, name
