"""The verdict's path from reflectances to Lab: same bits in any batch, faults by place."""

import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from colorimetry import DomainError, Grid, lab, weights, white, xyz

GRID = Grid(400, 700, 10)
WEIGHTS = weights("D65", 10, GRID)
WHITE = white("D65", 10, GRID)


def test_einsum_equals_the_sum_written_out():
    table = np.random.default_rng(1).random((500, 31))
    plain = sum(table[:, k, None] * WEIGHTS[:, k] for k in range(31))
    assert np.abs(xyz(table, WEIGHTS) - plain).max() < 1e-12
    assert np.array_equal(xyz(table, WEIGHTS), np.einsum("nk,ck->nc", table, WEIGHTS))


@pytest.mark.parametrize("grid", [GRID, Grid(360, 780, 5), Grid(400, 700, 20)], ids=str)
@given(seed=st.integers(0, 2**32 - 1), cut=st.integers(1, 70))
def test_a_row_has_the_same_bits_alone_in_any_batch_and_in_any_memory_order(grid, seed, cut):
    rng = np.random.default_rng(seed)
    table, factors = rng.random((70, len(grid))), weights("F11", 2, grid)
    whole = xyz(table, factors)
    parts = [xyz(table[i : i + cut], factors) for i in range(0, len(table), cut)]
    assert np.array_equal(np.vstack(parts), whole)
    order = rng.permutation(70)
    assert np.array_equal(xyz(table[order], factors), whole[order])
    assert np.array_equal(xyz(np.asfortranarray(table), factors), whole)
    reference = white("F11", 2, grid)
    assert np.array_equal(lab(whole[:1], reference), lab(whole, reference)[:1])


def test_grey_reflectances_are_neutral_and_scale_with_the_factor():
    found = lab(xyz(np.full((3, 31), [[0.0], [0.18], [1.0]]), WEIGHTS), WHITE)
    assert np.abs(found[:, 1:]).max() < 1e-12
    assert found[:, 0] == pytest.approx([0.0, 116 * 0.18 ** (1 / 3) - 16, 100.0], abs=1e-12)


@pytest.mark.parametrize(("value", "problem"), [(float("nan"), "nan"), (float("-inf"), "inf")])
def test_a_reading_that_is_no_number_is_named_by_row_and_band(value, problem):
    table = np.full((4, 31), 0.5)
    table[2, 17] = value
    with pytest.raises(DomainError) as caught:
        xyz(table, WEIGHTS)
    assert (caught.value.problem, caught.value.row, caught.value.band) == (problem, 2, 17)
    assert "reflectance" in str(caught.value)


@pytest.mark.parametrize("shape", [(4, 30), (31, 1), (0,), (2, 2, 31)])
def test_reflectances_that_do_not_fit_the_weights_are_refused(shape):
    with pytest.raises(DomainError) as caught:
        xyz(np.ones(shape), WEIGHTS)
    assert caught.value.problem == "shape"


def test_weights_and_white_are_checked_too():
    with pytest.raises(DomainError, match="weights"):
        xyz(np.ones((2, 31)), WEIGHTS.T)
    for wrong in ([0, 100, 100], [[95, 100, 108]] * 2, [95, 100]):
        with pytest.raises(DomainError, match="white"):
            lab(np.ones((2, 3)), wrong)


def test_importing_the_package_loads_numpy_and_none_of_the_heavy_libraries():
    program = (
        "import sys, colorimetry\n"
        "colorimetry.weights('D65', 10, colorimetry.Grid(400, 700, 10))\n"
        "heavy = {'colour', 'scipy', 'skimage', 'django', 'matplotlib'}\n"
        "loaded = {name.split('.')[0] for name in sys.modules}\n"
        "print(sorted(heavy & loaded), 'numpy' in loaded)"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[] True"
