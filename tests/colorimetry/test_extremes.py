"""Numbers near the ends of floats: a right answer or a refusal, never NaN in silence."""

import numpy as np
import pytest

from colorimetry import DomainError, Grid, lab, weights, xyz
from colorimetry.decision.guard import guard_band, guard_band_for_risk
from colorimetry.film import Film, at_full_hiding, over_backing
from colorimetry.instruments.bias import bias_region
from colorimetry.instruments.drift import trend
from colorimetry.instruments.normalised_error import en_numbers
from colorimetry.light.chromaticity import lamp_xyz, uv_1960, uv_1976
from colorimetry.measured_lamp import lamp_weights
from colorimetry.saunderson import internal_reflection
from colorimetry.spectral_power import SpectralPower

GRID = Grid(400, 700, 10)
W = weights("D65", 10, GRID)
FINE = Grid(360, 780, 5)
LAMP = 1.0 + np.sin(np.arange(85) / 9.0) ** 2
RNG = np.random.default_rng(1)
DAYS, READINGS = np.arange(12.0), RNG.normal(0, 1, (12, 3))


@pytest.mark.parametrize(
    ("call", "row"),
    [
        (lambda: xyz(np.vstack((np.ones((2, 31)), np.full((1, 31), 1e308))), W), 2),
        (lambda: lab([[1, 1, 1], [1e308, 1, 1]], [0.5, 0.5, 0.5]), 1),
        (lambda: lab([[1e308, -1e308, 1]], [1e-5, 1e-5, 1]), 0),
        (lambda: guard_band([1, 1e308], multiple=10, coverage_factor=2), 1),
        (lambda: guard_band_for_risk([1, 1e308], risk=1e-9), 1),
        (
            lambda: bias_region(reference=np.zeros((12, 3)), specimen=READINGS * 1e200),
            None,
        ),
        (lambda: trend(DAYS * 1e-200, READINGS * 1e200), None),
        (
            lambda: en_numbers(
                assigned=[[-1e308]],
                measured=[[1e308]],
                assigned_expanded=1,
                measured_expanded=1,
            ),
            0,
        ),
        (lambda: internal_reflection(1e200), None),
    ],
)
def test_what_leaves_the_range_of_floats_is_refused_with_its_row(call, row):
    with pytest.raises(DomainError) as caught:
        call()
    assert caught.value.problem == "range"
    assert row is None or caught.value.row == row


@pytest.mark.parametrize("size", [1e200, 1e307, 1e-200, 1e-307])
def test_films_of_any_size_hide_alike(size):
    k, s = np.array([[0.2, 0.01, 0.0]]), np.array([[0.5, 0.3, 0.4]])
    plain, far = Film(k, s), Film(k * size, s * size)
    assert at_full_hiding(far) == pytest.approx(at_full_hiding(plain))
    backing = [[0.3, 0.1, 1.0]]
    expected = over_backing(plain, thickness=2.0, backing=backing)
    found = over_backing(far, thickness=2.0 / size, backing=backing)
    assert found == pytest.approx(expected, rel=1e-12)
    assert over_backing(far, thickness=0.0, backing=backing) == pytest.approx(np.array(backing))


def test_a_film_of_enormous_density_has_the_reflectance_of_full_hiding():
    film = Film([[1e200, 0.0, 1e308]], [[1e200, 1e308, 1e308]])
    found = over_backing(film, thickness=1e5, backing=[[0.1, 0.1, 0.9]])
    assert found == pytest.approx(at_full_hiding(film))
    assert found[0] == pytest.approx([2 - np.sqrt(3), 1.0, 2 - np.sqrt(3)])


@pytest.mark.parametrize("size", [8e306, 1e-300, 1e-310])
def test_the_scale_of_a_lamp_is_of_no_account_up_to_the_ends_of_floats(size):
    plain, far = SpectralPower(FINE, LAMP), SpectralPower(FINE, LAMP * size)
    options = {"interpolation": "sprague"}
    assert lamp_weights(far, 10, GRID, **options) == pytest.approx(
        lamp_weights(plain, 10, GRID, **options), abs=1e-10
    )
    assert lamp_xyz(far, 10, **options) == pytest.approx(lamp_xyz(plain, 10, **options))


@pytest.mark.parametrize("size", [1e306, 1e-306])
def test_chromaticities_have_no_scale(size):
    row = np.array([[41.24, 21.26, 1.93], [95.0, 100.0, 108.9]])
    assert uv_1976(row * size) == pytest.approx(uv_1976(row))
    assert uv_1960(row * size) == pytest.approx(uv_1960(row))


@pytest.mark.parametrize("size", [1e200, 1e-200])
def test_a_trend_keeps_its_probability_and_scales_its_slope(size):
    plain, far = trend(DAYS, READINGS), trend(DAYS, READINGS * size)
    assert far.probability == pytest.approx(plain.probability)
    assert far.slope / size == pytest.approx(plain.slope)
    assert far.interval / size == pytest.approx(plain.interval)
    assert far.residual / size == pytest.approx(plain.residual)
    slow = trend(DAYS * size, READINGS)
    assert slow.probability == pytest.approx(plain.probability)
    assert slow.slope * size == pytest.approx(plain.slope)
    assert slow.intercept == pytest.approx(plain.intercept)


@pytest.mark.parametrize("size", [1e200, 1e-200])
def test_normalised_errors_have_no_scale(size):
    found = en_numbers(
        assigned=[[0.0]],
        measured=[[5 * size]],
        assigned_expanded=3 * size,
        measured_expanded=4 * size,
    )
    assert found == pytest.approx(np.array([[1.0]]))
