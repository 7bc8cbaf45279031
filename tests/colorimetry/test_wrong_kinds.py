"""What is no array of numbers is refused by the same exception everywhere, whatever came in."""

import numpy as np
import pytest

from colorimetry import DomainError, Grid, bulk, weights, white
from colorimetry.grey_scale import scale_deviations
from colorimetry.instruments.drift import trend
from colorimetry.light.surround import tint
from colorimetry.light.temperature import planck, uv_of_temperature
from colorimetry.observers.moments import moments
from colorimetry.observers.norms import score_classes
from colorimetry.panels.detection import against_reference
from colorimetry.panels.judgements import label_codes
from colorimetry.panels.kappa import cross_table, fleiss_kappa
from colorimetry.panels.ordinal import fit_grades
from colorimetry.sampling.clumps import design_effect
from colorimetry.sampling.oc import (
    accept_hypergeometric,
    accept_poisson,
    find_plan,
    quality_hypergeometric,
)
from colorimetry.spectral_power import SpectralPower
from colorimetry.uneven_power import evened
from colorimetry.weights import diffuser

GRID = Grid(400, 700, 10)
W, WHITE = weights("D65", 10, GRID), white("D65", 10, GRID)
ONES = np.ones((2, 31))
ARRAYS = [
    lambda wrong: bulk.lab_of_spectra(wrong, W, WHITE),
    lambda wrong: bulk.ciede2000_of_spectra((50, 0, 0), wrong, W, WHITE),
    lambda wrong: SpectralPower.of([400, 410], wrong),
    lambda wrong: score_classes(wrong),
    lambda wrong: against_reference(wrong, reference=[1, 0]),
    lambda wrong: moments(wrong, perfect_major=2.5),
    lambda wrong: fit_grades([1, 2], observers=["a", "b"], x="" if wrong is None else wrong),
    lambda wrong: accept_poisson(wrong, 10, 1),
    lambda wrong: accept_hypergeometric(wrong, 10, 2, 1),
    lambda wrong: planck(wrong),
    lambda wrong: uv_of_temperature(5000, wrong),
    lambda wrong: trend(wrong, np.ones((5, 1))),
    lambda wrong: evened(wrong, [1, 2, 3, 4]),
    lambda wrong: evened([1, 2, 3, 4], wrong),
    lambda wrong: tint(W, ONES, [0.1, 0.1], neutral=0.5, relative_illuminance=wrong),
    lambda wrong: cross_table(wrong, [0, 1], 2),
    lambda wrong: diffuser(wrong),
]


@pytest.mark.parametrize("call", range(len(ARRAYS)))
@pytest.mark.parametrize("wrong", ["abc", [["a"], ["b"]], None, [[1], [1, 2]], 1j, {}], ids=str)
def test_what_is_no_array_of_numbers_is_a_domain_error(call, wrong):
    with pytest.raises(DomainError):
        ARRAYS[call](wrong)


@pytest.mark.parametrize(
    "call",
    [
        lambda: fleiss_kappa(np.zeros((0, 3))),
        lambda: scale_deviations({"4": [[1], [2]]}),
        lambda: find_plan(producer=(0.01, 0.05, 0.1), consumer=(0.1, 0.1)),
        lambda: tint(W, ONES, [0.1, 0.1], neutral=0.5, relative_illuminance=[1, 1, 1]),
        lambda: design_effect(3, [0.1, 0.2]),
        lambda: quality_hypergeometric([0.1], 10, 2, 0),
        lambda: label_codes(["a", 1], "observers", 2),
        lambda: label_codes([None, 1], "observers", 2),
        lambda: label_codes([["a"], ["b", "c"]], "observers", 2),
        lambda: diffuser(np.ones((2, 31))),
        lambda: fit_grades([1, 2], observers=["a", "b"], link=["probit"]),
        lambda: fit_grades([1, 2], observers=["a", "b"], ridge="0"),
    ],
)
def test_what_does_not_fit_is_a_domain_error(call):
    with pytest.raises(DomainError):
        call()


def test_the_fast_path_names_the_row_in_later_blocks_too(monkeypatch):
    monkeypatch.setattr(bulk, "BLOCK", 4)
    monkeypatch.setattr(bulk, "PRODUCTS", 2)
    table = np.full((30, 31), 0.5)
    table[21, 7] = np.nan
    with pytest.raises(DomainError) as caught:
        bulk.lab_of_spectra(table, W, WHITE)
    assert (caught.value.row, caught.value.band) == (21, 7)


@pytest.mark.parametrize("size", [1e200, 1e-200, 2.0**-1000])
def test_moments_keep_their_shape_at_any_size(size):
    steps = np.array([[[1.0, 0.5], [0.25, -1.0], [-0.5, 0.25]]])
    plain, far = moments(steps, perfect_major=1.0), moments(steps * size, perfect_major=1.0)
    assert far.angle == pytest.approx(plain.angle)
    assert far.major / size == pytest.approx(plain.major)
    assert far.selectivity == pytest.approx(plain.selectivity)
    with pytest.raises(DomainError, match="too large"):
        moments(steps * 1.7e308, perfect_major=0.01)
