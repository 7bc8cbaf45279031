"""The bulk path gives what the verdict path gives, to far below any printed decimal."""

import tracemalloc

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from colorimetry import DomainError, Grid, bulk, ciede2000, lab, weights, white, xyz
from tests.colorimetry.references import pairs
from tests.colorimetry.test_difference import sample

GRID = Grid(400, 700, 10)
WEIGHTS, WHITE = weights("F11", 2, GRID), white("F11", 2, GRID)


def test_the_published_pairs_are_reproduced():
    table = pairs()
    found = bulk.ciede2000_bulk(table[:, :3], table[:, 3:6])
    assert np.abs(found - table[:, 6]).max() < 5e-5


@given(st.integers(0, 2**32 - 1))
def test_near_far_opposite_and_neutral_pairs_agree_with_the_verdict_path(seed):
    first, second = sample(500, seed)
    second[:50, 1:] = -first[:50, 1:] * np.linspace(0.9, 1.1, 50)[:, None]
    first[50:60, 1:] = 0.0
    second[55:65, 1:] = 0.0
    assert np.abs(bulk.ciede2000_bulk(first, second) - ciede2000(first, second)).max() < 1e-10


@pytest.mark.parametrize("hue", range(360))
def test_every_mean_hue_agrees_with_the_verdict_path(hue):
    angles = np.radians(hue + np.array([-20.0, 0.0, 1e-9, 20.0]))
    first = np.column_stack((np.full(4, 50), 30 * np.cos(angles), 30 * np.sin(angles)))
    found = bulk.ciede2000_bulk(first[:1], first)
    assert np.abs(found - ciede2000(first[:1], first)).max() < 1e-11


def test_blocks_leave_no_seams(monkeypatch):
    table = np.random.default_rng(1).random((1000, 31))
    whole = lab(xyz(table, WEIGHTS), WHITE)
    for block in (1, 7, 999, 1000, 5000):
        monkeypatch.setattr(bulk, "BLOCK", block)
        found = bulk.lab_of_spectra(table, WEIGHTS, WHITE)
        assert np.abs(found - whole).max() < 1e-11
        differences = bulk.ciede2000_bulk(found[:1], found)
        assert np.abs(differences - ciede2000(whole[:1], whole)).max() < 1e-9


@pytest.mark.parametrize(("value", "problem"), [(float("nan"), "nan"), (float("inf"), "inf")])
def test_values_outside_the_domain_are_named_here_too(value, problem):
    table = np.full((bulk.BLOCK + 5, 31), 0.5)
    table[bulk.BLOCK + 2, 4] = value
    with pytest.raises(DomainError) as caught:
        bulk.lab_of_spectra(table, WEIGHTS, WHITE)
    assert (caught.value.problem, caught.value.row) == (problem, bulk.BLOCK + 2)
    assert caught.value.band == 4
    with pytest.raises(DomainError) as caught:
        bulk.ciede2000_bulk((50, 0, 0), [(50, 0, 0), (50, value, 0)])
    assert (caught.value.problem, caught.value.row, caught.value.band) == (problem, 1, 1)


def test_shapes_that_do_not_fit_are_refused():
    for wrong in (np.ones((3, 30)), np.ones((2, 3, 31))):
        with pytest.raises(DomainError):
            bulk.lab_of_spectra(wrong, WEIGHTS, WHITE)
    with pytest.raises(DomainError):
        bulk.ciede2000_bulk(np.ones((2, 3)), np.ones((3, 3)))


@pytest.mark.parametrize("count", [1, 7, 50, 51, 399, 400, 401, 1205])
def test_chunk_by_chunk_from_spectra_gives_what_the_verdict_path_gives(count, monkeypatch):
    monkeypatch.setattr(bulk, "BLOCK", 50)  # 400 rows a chunk
    table = np.random.default_rng(count).random((count, 31))
    target = lab(xyz(np.full((1, 31), 0.4), WEIGHTS), WHITE)
    found = bulk.ciede2000_of_spectra(target[0], table, WEIGHTS, WHITE)
    assert found.shape == (count,)
    plain = ciede2000(target, lab(xyz(table, WEIGHTS), WHITE))
    assert np.abs(found - plain).max() < 1e-10


def test_the_first_of_several_faulty_rows_is_named_by_its_place_in_the_whole(monkeypatch):
    monkeypatch.setattr(bulk, "BLOCK", 50)
    table = np.full((1205, 31), 0.5)
    table[802, 4] = table[809, 3] = np.nan
    with pytest.raises(DomainError) as caught:
        bulk.ciede2000_of_spectra((50, 0, 0), table, WEIGHTS, WHITE)
    assert (caught.value.problem, caught.value.row) == ("nan", 802)
    assert (caught.value.what, caught.value.band) == ("reflectance", 4)
    for wrong in (np.ones((3, 30)), np.ones((2, 3, 31))):
        with pytest.raises(DomainError, match="shape"):
            bulk.ciede2000_of_spectra((50, 0, 0), wrong, WEIGHTS, WHITE)
    with pytest.raises(DomainError, match="reference"):
        bulk.ciede2000_of_spectra([(50, 0, 0)] * 2, table[:2], WEIGHTS, WHITE)


@given(st.integers(0, 2**32 - 1))
def test_one_reference_for_all_gives_what_it_gives_repeated(seed):
    first, second = sample(60, seed)
    second[:10, 1:] = -first[0, 1:] * np.linspace(0.9, 1.1, 10)[:, None]
    repeated = np.repeat(first[:1], len(second), axis=0)
    alone = bulk.ciede2000_bulk(first[0], second)
    assert alone == pytest.approx(bulk.ciede2000_bulk(repeated, second), abs=1e-12)


def test_chunks_hold_little_beside_the_readings():
    table = np.random.default_rng(3).random((3 * bulk.PRODUCTS * bulk.BLOCK, 31))
    tracemalloc.start()
    try:
        bulk.ciede2000_of_spectra((50, 0, 0), table, WEIGHTS, WHITE)
        (_, peak) = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert peak < table.nbytes / 5
