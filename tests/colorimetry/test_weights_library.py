"""XYZ by weights equals the general library's E308 method, over illuminants, ranges and grids."""

import warnings

import numpy as np
import pytest

from colorimetry import OBSERVERS, Grid, lab, weights, white, xyz
from colorimetry.measured_lamp import lamp_weights
from colorimetry.spectral_power import SpectralPower
from tests.colorimetry.references import OBSERVERS as NAMES
from tests.colorimetry.references import colour, open_reflectances

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from colour.colorimetry.tests import test_tristimulus_values as published

    from colorimetry.make_weights import illuminant_1nm

CLOSE = 1e-13  # seven units in the last place of 100: the order of summation
GRIDS = [
    Grid(start, stop, step)
    for step, middle in ((5, 730), (10, 730), (20, 740))
    for start, stop in ((360, 780), (380, 780), (380, middle), (400, 700))
]
# without these the library interpolates 20 nm readings to 10 nm and sums 5 nm readings plainly
DIRECT = {"mi_20nm_interpolation_method": False, "mi_5nm_omission_method": False}


def readings(grid):
    """The 24 open reflectances on this grid; below 380 nm the first reading is held."""
    nm = np.arange(380, 781, 5)
    return np.array([np.interp(grid.wavelengths(), nm, row) for row in open_reflectances()])


def by_library(table, grid, observer, illuminant, **options):
    """XYZ (n, 3) by the library, one by one."""
    functions = colour.MSDS_CMFS[NAMES[observer]]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the library tells of every range that it trims
        return np.array(
            [
                colour.sd_to_XYZ(
                    colour.SpectralDistribution(row, grid.wavelengths()),
                    functions,
                    illuminant,
                    method="ASTM E308",
                    **options,
                )
                for row in table
            ]
        )


@pytest.mark.parametrize("grid", GRIDS, ids=str)
@pytest.mark.parametrize("illuminant", ["D65", "A", "F2", "F7", "F11", "FL3.15", "LED-B3"])
def test_shipped_weights_give_the_librarys_xyz_for_the_same_1_nm_illuminant(illuminant, grid):
    table = readings(grid)
    for observer in OBSERVERS:
        theirs = by_library(table, grid, observer, illuminant_1nm(illuminant), **DIRECT)
        assert np.abs(xyz(table, weights(illuminant, observer, grid)) - theirs).max() < CLOSE


@pytest.mark.parametrize("grid", GRIDS[4:8], ids=str)
@pytest.mark.parametrize("name", ["FL2", "FL7", "FL11", "LED-B3", "A"])
def test_linear_interpolation_of_the_tabulated_lamp_is_the_librarys_default(name, grid):
    source = colour.SDS_ILLUMINANTS[name]
    # below 380 nm the library holds the first value of an F lamp; as a lamp here it counts as zero
    wide = np.arange(360, 781, 5)
    lamp = SpectralPower.of(wide.tolist(), np.interp(wide, source.wavelengths, source.values))
    table = readings(grid)
    for observer in OBSERVERS:
        theirs = by_library(table, grid, observer, source)
        ours = xyz(table, lamp_weights(lamp, observer, grid, interpolation="linear"))
        assert np.abs(ours - theirs).max() < 1e-12


def test_the_librarys_defaults_for_20_and_5_nm_are_another_method():
    grid, source = Grid(400, 700, 20), colour.SDS_ILLUMINANTS["D65"]
    table = readings(grid)
    off = np.abs(xyz(table, weights("D65", 10, grid)) - by_library(table, grid, 10, source)).max()
    assert off == pytest.approx(0.17, abs=0.005)
    # 5 nm: a plain sum instead of weights, both with the lamp taken linearly
    grid, source = Grid(400, 700, 5), colour.SDS_ILLUMINANTS["LED-B3"]
    table = readings(grid)
    plain, weighted = (by_library(table, grid, 10, source, **kind) for kind in ({}, DIRECT))
    assert np.abs(plain - weighted).max() == pytest.approx(0.094, abs=0.0005)


def test_the_librarys_default_interpolation_moves_lab_by_up_to_0_11():
    grid = Grid(400, 700, 10)
    table, source = readings(grid), colour.SDS_ILLUMINANTS["LED-B3"]
    (mixed,) = by_library(np.ones((1, len(grid))), grid, 10, source)
    theirs = lab(by_library(table, grid, 10, source), mixed)
    ours = lab(xyz(table, weights("LED-B3", 10, grid)), white("LED-B3", 10, grid))
    assert np.linalg.norm(theirs - ours, axis=1).max() == pytest.approx(0.11, abs=0.0005)


@pytest.mark.parametrize(("step", "off"), [(10, 0.0011), (20, 0.0026)])
def test_illuminant_a_from_its_5_nm_table_misses_the_printed_weights(step, off):
    # ASTM E308-15 tables, as shipped in the tests of colour-science: hence A from its formula
    printed = getattr(published, f"TWF_A_CIE_1964_10_{step}")
    source = colour.SDS_ILLUMINANTS["A"]
    lamp = SpectralPower.of(source.wavelengths.tolist(), source.values)
    grid = Grid(360, 780, step)
    tabulated = lamp_weights(lamp, 10, grid, interpolation="linear").T
    assert np.abs(tabulated - printed[: len(grid)]).max() == pytest.approx(off, abs=5e-5)
    exact = weights("A", 10, grid).T
    assert np.abs(exact - printed[: len(grid)])[:-1].max() < 0.00055


def test_whites_of_the_librarys_default_interpolation_are_off_by_up_to_0_11():
    # X and Z of the default path, 360 to 780 nm: what the linear interpolation of F lamps costs
    grid = Grid(360, 780, 10)
    ones = np.ones((1, len(grid)))
    for name, observer, x, z in (
        ("FL7", 2, 95.0191, 108.6386),
        ("FL7", 10, 95.7777, 107.6176),
        ("FL2", 2, 99.1468, 67.3185),
        ("FL2", 10, 103.2442, 68.9873),
        ("FL11", 2, 100.9001, 64.2669),
        ("FL11", 10, 103.8209, 65.5575),
        ("LED-B3", 2, 100.8619, 67.6339),
        ("LED-B3", 10, 103.3101, 67.9066),
        ("A", 2, 109.8486, 35.5910),
        ("A", 10, 111.1423, 35.2062),
    ):
        (theirs,) = by_library(ones, grid, observer, colour.SDS_ILLUMINANTS[name])
        assert theirs == pytest.approx([x, 100.0, z], abs=1e-4), (name, observer)


@pytest.mark.parametrize(
    ("illuminant", "observer", "x", "z"),
    [
        ("D65", 2, 95.0469, 108.8830),
        ("D65", 10, 94.8109, 107.3048),
        ("A", 2, 109.8496, 35.5851),
        ("A", 10, 111.1434, 35.2001),
        ("F2", 2, 99.1867, 67.3975),
        ("F2", 10, 103.2798, 69.0285),
        ("F11", 2, 100.9639, 64.3543),
        ("F11", 10, 103.8638, 65.6079),
        ("F7", 2, 95.0424, 108.7519),
        ("F7", 10, 95.7922, 107.6878),
        ("LED-B3", 2, 100.8937, 67.7163),
        ("LED-B3", 10, 103.3471, 68.0117),
    ],
)
def test_whites_of_the_recommended_builder(illuminant, observer, x, z):
    # regression values of the builder described in make_weights.py
    found = weights(illuminant, observer, Grid(360, 780, 10)).sum(axis=1)
    assert found == pytest.approx([x, 100.0, z], abs=6e-5)
