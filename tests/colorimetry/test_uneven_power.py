"""Uneven lamp readings: the spline against SciPy's, and what is refused."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline

from colorimetry import DomainError, Grid, GridError, SpectralPower, lamp_weights
from colorimetry.light.daylight import named_daylight
from colorimetry.uneven_power import evened


@given(st.integers(0, 2**32 - 1), st.floats(0.3, 9.0))
def test_the_spline_equals_scipys_natural_one(seed, widest):
    rng = np.random.default_rng(seed)
    nm = 371.3 + np.cumsum(rng.uniform(widest / 10, widest, 300))
    values = rng.uniform(1.0, 2.0, 300)
    found = evened(nm, values)
    at = np.array(found.grid.wavelengths())
    assert (at[0], at[-1]) == (np.ceil(nm[0]), np.floor(nm[-1]))
    assert found.values == pytest.approx(CubicSpline(nm, values, bc_type="natural")(at), abs=1e-9)


def test_readings_at_whole_nanometres_are_kept():
    nm = np.array([380, 382, 385, 391, 400, 401, 410, 420])
    values = np.array([1.0, 3.0, 2.0, 4.0, 5.0, 4.5, 2.0, 1.0])
    found = evened(nm, values)
    assert found.values[nm - 380] == pytest.approx(values, abs=1e-13)


def test_a_smooth_lamp_measured_unevenly_has_nearly_its_own_weights():
    source = named_daylight("D65")
    fine = source.per_nanometre("sprague")
    nm = np.linspace(360, 780, 201)
    nm[1:-1] += np.random.default_rng(5).uniform(-0.9, 0.9, 199)
    uneven = np.interp(nm, np.arange(360, 781), fine)
    grid = Grid(400, 700, 10)
    ours = lamp_weights(evened(nm, uneven), 10, grid, interpolation="sprague")
    exact = lamp_weights(SpectralPower(Grid(360, 780, 1), fine), 10, grid, interpolation="sprague")
    assert np.abs(ours - exact).max() < 0.02


@pytest.mark.parametrize(
    ("nm", "problem"),
    [
        ([380.0, 385.5, 391.0], "short"),
        ([380.0, 385.5, 385.5, 391.0], "uneven"),
        ([391.0, 385.5, 383.0, 380.0], "uneven"),
        ([380.0, 385.5, 396.0, 400.0], "step"),
    ],
)
def test_readings_no_spline_serves_are_refused(nm, problem):
    with pytest.raises(GridError) as caught:
        evened(nm, np.ones(len(nm)))
    assert caught.value.problem == problem


def test_faulty_numbers_are_named():
    nm = np.arange(380.2, 790, 3.1)
    for place, value in ((7, np.nan), (9, np.inf), (11, -0.1)):
        values = np.ones(len(nm))
        values[place] = value
        with pytest.raises(DomainError) as caught:
            evened(nm, values)
        assert (caught.value.what, caught.value.band) == ("spectral power", place)
    with pytest.raises(DomainError, match="columns"):
        evened(nm, np.ones(len(nm) - 1))
    with pytest.raises(DomainError, match="nanometres"):
        evened([0.38, 0.39, 0.4, 0.41], np.ones(4))


def test_the_wavelength_that_does_not_rise_and_the_gap_are_named():
    with pytest.raises(GridError, match=r"385\.5 nm does not"):
        evened([380.0, 383.1, 387.2, 385.5, 389.0, 389.0], np.ones(6))
    with pytest.raises(GridError, match=r"10\.5 nm after 391 nm"):
        evened([380.0, 385.5, 391.0, 401.5, 405.0], np.ones(5))
    (found,) = evened([380.0, 390.0, 391.0, 401.0], np.ones(4)).values[[21]].tolist()
    assert found == 1.0
