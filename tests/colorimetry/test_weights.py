"""Weights against published tables and white points, and against an independent builder."""

import hashlib
import itertools
import json
import warnings
from pathlib import Path

import numpy as np
import pytest

import colorimetry
from colorimetry import ILLUMINANTS, OBSERVERS, STEPS, Grid, GridError, lab, weights, white, xyz
from colorimetry.spectral_power import colour_matching
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
TABLES = Path(colorimetry.__file__).with_name("weights.json")


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
        # ASTM E308 white points, as printed in color_constants.py of colormath 3.0.0
        ("D65", 2, 95.047, 108.883, 0.002),
        ("A", 2, 109.850, 35.585, 0.002),
        ("F2", 2, 99.186, 67.393, 0.01),
        ("F11", 2, 100.962, 64.350, 0.01),
        # from memory, within rounding of the 1 nm data of luxpy 1.12.5
        ("F7", 2, 95.041, 108.747, 0.01),
        ("D65", 10, 94.811, 107.304, 0.002),
        ("A", 10, 111.144, 35.200, 0.002),
        ("F2", 10, 103.279, 69.027, 0.01),
        ("F11", 10, 103.863, 65.607, 0.01),
        ("F7", 10, 95.792, 107.686, 0.01),
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
    assert committed.keys() == made.keys() and len(made) == 54
    for name, table in made.items():
        assert np.abs(np.array(committed[name]) - np.array(table)).max() < 1e-12, name
    committed = json.loads(make_weights.OBSERVERS_TARGET.read_text(encoding="ascii"))
    assert committed == make_weights.colour_matching()


def test_the_tables_that_earlier_verdicts_rest_on_have_not_changed():
    tables = json.loads(TABLES.read_text(encoding="ascii"))["tables"]
    first = {name: tables[name] for name in list(tables)[:36]}
    assert {name.split("/")[0] for name in first} == {"A", "C", "D50", "D65", "F2", "F11"}
    digest = hashlib.sha256(json.dumps(first).encode()).hexdigest()
    assert digest == "36e30cdf367bb7dbcd1402fb6e4685c2e2ba82a9b9a3861ba7f78fb543bd5e0c"


# luxpy 1.12.5 with its own 1 nm CIE data (spectra of another publication than those here)
@pytest.mark.parametrize(
    ("illuminant", "observer", "x", "z", "tolerance"),
    [
        ("D65", 2, 95.0471, 108.8829, 0.002),
        ("D65", 10, 94.8111, 107.3047, 0.002),
        ("A", 2, 109.8503, 35.5849, 0.002),
        ("A", 10, 111.1439, 35.1999, 0.002),
        ("F2", 2, 99.1856, 67.3937, 0.01),
        ("F2", 10, 103.2798, 69.0066, 0.03),
        ("F11", 2, 100.9611, 64.3509, 0.01),
        ("F11", 10, 103.8613, 65.5905, 0.03),
        ("F7", 2, 95.0415, 108.7486, 0.01),
        ("F7", 10, 95.7917, 107.6662, 0.03),
        ("LED-B3", 2, 100.8908, 67.7181, 0.01),
        ("LED-B3", 10, 103.3446, 68.0142, 0.01),
    ],
)
def test_white_points_agree_with_an_independent_1_nm_computation(
    illuminant, observer, x, z, tolerance
):
    found = white(illuminant, observer, FULL)
    assert found == pytest.approx([x, 100.0, z], abs=tolerance)


@pytest.mark.parametrize(
    ("step", "first", "second", "last"),
    [
        (10, [0.144, 0.015, 0.643], [0.676, 0.069, 3.110], [0.110, 0.043, 0.000]),
        (20, [0.334, 0.030, 1.460], None, [0.135, 0.052, 0.000]),
    ],
)
def test_end_rows_of_d65_with_the_10_degree_observer(step, first, second, last):
    # regression values of the builder described in make_weights.py, as rounded in its notes
    rows = weights("D65", 10, Grid(400, 700, step)).T
    assert rows[0] == pytest.approx(first, abs=0.00051)
    assert rows[-1] == pytest.approx(last, abs=0.00051)
    assert second is None or rows[1] == pytest.approx(second, abs=0.00051)


@pytest.mark.parametrize(
    ("library", "observer", "tabulated", "tint"),
    [
        # the whites above: LED-B3 of luxpy, F11 as published
        ("LED-B3", 10, [103.3446, 100.0, 68.0142], 0.1055),
        ("FL11", 2, [100.962, 100.0, 64.350], 0.086),
    ],
)
@pytest.mark.filterwarnings("ignore::colour.utilities.ColourRuntimeWarning")
def test_a_separately_tabulated_white_tints_the_perfect_diffuser(
    library, observer, tabulated, tint
):
    # the general library's default weights with a white from a table: why white is a sum here
    mixed = colour.sd_to_XYZ(
        colour.sd_ones(),
        colour.MSDS_CMFS[NAMES[observer]],
        colour.SDS_ILLUMINANTS[library],
        method="ASTM E308",
    )
    ((_, _, b),) = lab(mixed, tabulated)
    assert b == pytest.approx(tint, abs=0.0006)


def differences(illuminant, first, second):
    """dE*ab of the 24 open reflectances between two grids, 10 degrees, each cut and thinned."""
    found = []
    for grid in (first, second):
        part = open_reflectances()[:, (grid.start - 380) // 5 :: grid.step // 5][:, : len(grid)]
        table = xyz(part, weights(illuminant, 10, grid))
        found.append(lab(table, white(illuminant, 10, grid)))
    return np.linalg.norm(found[1] - found[0], axis=1)


@pytest.mark.parametrize(("illuminant", "largest"), [("D65", 0.023), ("A", 0.055), ("F11", 0.012)])
def test_cutting_the_range_to_400_to_700_nm_matters_little(illuminant, largest):
    found = differences(illuminant, Grid(380, 780, 10), Grid(400, 700, 10))
    assert found.max() == pytest.approx(largest, abs=0.0011)


@pytest.mark.parametrize(
    ("illuminant", "largest", "mean"), [("D65", 0.44, 0.08), ("A", 0.29, 0.06), ("F11", 0.72, 0.24)]
)
def test_20_nm_readings_are_no_substitute_for_10_nm_readings(illuminant, largest, mean):
    found = differences(illuminant, Grid(400, 700, 10), Grid(400, 700, 20))
    assert found.max() == pytest.approx(largest, abs=0.0051)
    assert found.mean() == pytest.approx(mean, abs=0.0051)


def test_whole_floats_name_the_same_grid_and_observer_whatever_was_asked_before():
    for observer in (10.0, 10, np.float64(10)):
        for step in (10.0, 10, np.int64(10)):
            grid = Grid(400, 700.0, step)
            assert grid == Grid(400, 700, 10) and len(grid.wavelengths()) == len(grid) == 31
            table = weights("FL3.15", observer, grid)
            assert table is weights("FL3.15", 10, Grid(400, 700, 10))
    assert colour_matching(2.0) is colour_matching(2)


@pytest.mark.parametrize("numbers", [(400.5, 700, 10), ("400", 700, 10), (400, None, 10)])
def test_what_is_no_whole_number_makes_no_grid(numbers):
    with pytest.raises(GridError):
        Grid(*numbers)
    with pytest.raises(GridError):
        Grid.of(numbers)


@pytest.mark.parametrize("wrong", [True, "10", None, [10], 10.5, float("nan")])
def test_no_other_observer_has_weights(wrong):
    for call in (lambda: weights("D65", wrong, FULL), lambda: colour_matching(wrong)):
        with pytest.raises(GridError, match="observer"):
            call()


@pytest.mark.parametrize("wrong", [None, ["D65"], 65])
def test_an_illuminant_is_a_name(wrong):
    with pytest.raises(GridError, match="illuminant"):
        weights(wrong, 10, FULL)
