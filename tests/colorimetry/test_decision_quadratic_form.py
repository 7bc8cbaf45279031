"""Distribution of quadratic forms against the statistics library, sums of squares and draws."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import chi2, ncx2, norm

from colorimetry.decision.quadratic_form import (
    QuadraticForm,
    _slopes,
    diagonal,
    eigen,
    probability_below,
)

SHARES = np.array([1e-4, 0.001, 0.01, 0.1, 0.3, 0.5, 0.7, 0.9, 0.99, 0.999])


def form(linear, quadratic, count=1, constant=0.0):
    """The same form `count` times."""
    return QuadraticForm(
        np.full(count, float(constant)),
        np.tile(np.array(linear, dtype=float), (count, 1)),
        np.tile(np.array(quadratic, dtype=float), (count, 1)),
    )


@pytest.mark.parametrize("freedom", [1, 2, 3, 6])
@pytest.mark.parametrize("shift", [0.0, 0.3, 1.0, 5.0, 30.0, 300.0])
def test_it_is_the_non_central_chi_square_where_all_weights_are_one(freedom, shift):
    # (z + shift)² = shift² + 2 shift z + z²
    linear, quadratic = [2 * shift] + [0] * 5, [1] * freedom + [0] * (6 - freedom)
    law = ncx2(freedom, shift**2) if shift else chi2(freedom)
    found = probability_below(law.ppf(SHARES), form(linear, quadratic, 10, shift**2))
    assert found == pytest.approx(SHARES, abs=1e-9)


def test_it_is_normal_where_nothing_is_squared():
    found = probability_below(norm.ppf(SHARES) * 5 + 7, form([3, -4], [0, 0], 10, 7))
    assert found == pytest.approx(SHARES, abs=1e-9)


def test_it_is_gamma_where_weights_come_in_pairs():
    # 2 Exp(1) + 6 Exp(1): weights 1 and 3 twice each; closed form by partial fractions
    x = np.array([0.5, 2.0, 8.0, 20.0])
    expected = 1 - (6 * np.exp(-x / 6) - 2 * np.exp(-x / 2)) / 4
    found = probability_below(x, form([0] * 4, [1, 1, 3, 3], 4))
    assert found == pytest.approx(expected, abs=1e-9)


def test_a_difference_of_two_squares_is_symmetric():
    x = np.array([-2.0, -0.5, 0.0, 0.5, 2.0])
    found = probability_below(x, form([0, 0], [1, -1], 5))
    # neither side of the axis helps here: the path stays long, and the error largest
    assert found + found[::-1] == pytest.approx(np.ones(5), abs=2e-3)
    z = np.random.default_rng(8).normal(size=(1_000_000, 2))
    q = z[:, 0] ** 2 - z[:, 1] ** 2
    assert found == pytest.approx([(q <= t).mean() for t in x], abs=0.003)


@pytest.mark.parametrize("seed", range(12))
def test_mixed_forms_agree_with_random_draws(seed):
    rng = np.random.default_rng(seed)
    quadratic = rng.normal(size=6) * 10 ** rng.uniform(-3, 0, 6)
    quadratic[0] = 1.0
    linear = rng.normal(size=6) * 10 ** rng.uniform(-2, 1, 6)
    z = rng.normal(size=(400_000, 6))
    values = z @ linear + z**2 @ quadratic + 2.0
    shares = [0.01, 0.1, 0.4, 0.6, 0.9, 0.99]
    found = probability_below(np.quantile(values, shares), form(linear, quadratic, 6, 2.0))
    assert found == pytest.approx(shares, abs=0.005)


@settings(deadline=None)
@given(st.lists(st.floats(-3, 3), min_size=6, max_size=6), st.floats(0.01, 3), st.floats(0.1, 100))
def test_it_grows_and_keeps_its_scale(linear, first, scale):
    quadratic = [first, 1, 0.5, 0.1, 0, 0]
    x = np.linspace(-10, 40, 60)
    found = probability_below(x, form(linear, quadratic, 60))
    assert (np.diff(found) >= -1e-9).all()
    scaled = form(np.multiply(linear, scale), np.multiply(quadratic, scale), 60)
    assert probability_below(x * scale, scaled) == pytest.approx(found, abs=1e-9)


def test_without_spread_it_is_a_step_at_the_constant():
    still = form([0, 0], [0, 0], 3, 2.0)
    assert probability_below(np.array([1.9, 2.0, 2.1]), still).tolist() == [0.0, 1.0, 1.0]
    mixed = QuadraticForm(np.array([2.0, 0.0]), np.array([[0.0], [1.0]]), np.zeros((2, 1)))
    assert probability_below(np.array([3.0, 0.0]), mixed) == pytest.approx([1.0, 0.5])


def test_mean_and_deviation_are_those_of_the_variables():
    one = form([3, 0], [2, -1], constant=5)
    assert one.mean[0] == 6.0
    assert one.deviation[0] == pytest.approx(np.sqrt(9 + 2 * 4 + 2 * 1))


@settings(deadline=None)
@given(st.integers(0, 2**32 - 1), st.sampled_from([2, 3, 6]))
def test_rotations_find_the_library_s_eigenvalues(seed, size):
    a = np.random.default_rng(seed).normal(size=(4, size, size))
    a = a + a.transpose(0, 2, 1)
    a[1] = 0.0
    a[2] = np.diag(np.diag(a[2]))
    values, vectors = eigen(a)
    assert np.sort(values, axis=1) == pytest.approx(np.linalg.eigvalsh(a), abs=1e-12)
    assert np.einsum("nij,nj,nkj->nik", vectors, values, vectors) == pytest.approx(a, abs=1e-12)
    assert np.einsum("nij,nik->njk", vectors, vectors) == pytest.approx(
        np.broadcast_to(np.eye(size), a.shape), abs=1e-12
    )


def test_a_form_with_products_becomes_one_without():
    rng = np.random.default_rng(4)
    a = rng.normal(size=(1, 3, 3))
    a = a + a.transpose(0, 2, 1)
    linear = rng.normal(size=(1, 3))
    found = diagonal(np.array([1.5]), linear, a)
    z = rng.normal(size=(300_000, 3))
    values = 1.5 + z @ linear[0] + np.einsum("ni,ij,nj->n", z, a[0], z)
    assert found.mean[0] == pytest.approx(1.5 + np.trace(a[0]))
    for share in (0.1, 0.5, 0.9):
        limit = np.quantile(values, share)
        assert probability_below(np.array([limit]), found)[0] == pytest.approx(share, abs=0.006)


def imhof(x, linear, quadratic):
    """Imhof (1961), formula 3.2, by adaptive quadrature: weights v and shifts b / (2 v)."""
    b, v = np.array(linear, dtype=float), np.array(quadratic, dtype=float)
    shifts = (b / (2 * v)) ** 2
    x = x + (v * shifts).sum()

    def integrand(u):
        w = (v * u) ** 2
        theta = (np.arctan(v * u) + shifts * v * u / (1 + w)).sum() / 2 - x * u / 2
        rho = np.prod((1 + w) ** 0.25) * np.exp(min((shifts * w / (1 + w)).sum() / 2, 600.0))
        return np.sin(theta) / (u * rho)

    ends = (0, 1, 3, 10, 30, 100, 300, 1000)
    parts = [quad(integrand, *pair, limit=400)[0] for pair in itertools.pairwise(ends)]
    return 0.5 - sum(parts) / np.pi


FORMS = [
    ([0.5, -1.0, 0.3], [1.0, 0.4, 0.1]),
    ([3.0, 0.2, 1.0], [0.05, 0.02, 0.5]),
    ([0.5, -1.0, 0.3], [1.0, 0.4, -0.5]),
    ([1.0, 2.0, 0.3], [-0.3, 0.4, -0.6]),
    ([0.1, 0.3, 0.02], [1.0, 0.4, -0.12]),
    ([0.1, 0.3, 0.02], [0.6, 0.4, -0.02]),
    ([1.0, 0.3, 0.5], [0.6, 0.4, -0.004]),
    ([0.5, 1.0, 0.3], [-1.0, -0.4, -0.1]),
]


@pytest.mark.parametrize("number", range(len(FORMS)))
def test_it_equals_imhofs_integral(number):
    linear, quadratic = FORMS[number]
    mean, deviation = sum(quadratic), form(linear, quadratic).deviation[0]
    x = mean + deviation * np.array([-1.2, -0.7, -0.2, 0.3, 0.9, 1.7, 3.0])
    found = probability_below(x + 0.7, form(linear, quadratic, 7, 0.7))
    assert found == pytest.approx([imhof(t, linear, quadratic) for t in x], abs=1e-6)


def test_imhofs_integral_is_set_up_rightly():
    assert imhof(2.0, [0, 0, 0], [1, 1, 1]) == pytest.approx(chi2.cdf(2.0, 3), abs=1e-5)


def test_a_small_negative_square_keeps_its_share_of_the_variance():
    # mostly normal, so that a wrong variance would show: 0.4 N + 0.05 (1 - z²) and its mirror image
    linear, quadratic = [0.0, 0.0, 0.4], [-0.05, 0.05, 0.03]
    x = np.array([-0.4, -0.2, 0.2, 0.6])
    found = probability_below(x, form(linear, quadratic, 4))
    assert found == pytest.approx([imhof(t, linear, quadratic) for t in x], abs=1e-6)


@settings(deadline=None)
@given(st.floats(-0.9, 3), st.floats(-2, 2))
def test_slopes_are_derivatives_of_one_another(s, x):
    one = form([0.7, -1.1, 0.4], [0.5, 0.1, -0.1])
    step = 1e-5
    low, high = (_slopes(np.array([s + d]), np.array([x]), one) for d in (-step, step))
    middle = _slopes(np.array([s]), np.array([x]), one)
    for k in (0, 1):
        slope = (high[k] - low[k]) / (2 * step)
        assert slope == pytest.approx(middle[k + 1], rel=1e-5, abs=1e-5)


def test_a_limit_beyond_all_values_is_certain():
    positive = form([1.0, 0.0], [1.0, 1.0], 3)
    # (z + 1/2)² - 1/4 + z²: never below -1/4
    assert probability_below(np.array([-0.2501, -9.0, -1e6]), positive).tolist() == [0, 0, 0]
    assert probability_below(np.array([-0.2499]), form([1.0, 0.0], [1.0, 1.0]))[0] > 0
    negative = form([1.0, 0.0], [-1.0, -1.0], 2)
    assert probability_below(np.array([0.2501, 9.0]), negative).tolist() == [1, 1]
    assert probability_below(np.array([-9.0, -1.0]), negative) == pytest.approx(
        1 - probability_below(np.array([9.0, 1.0]), form([1.0, 0.0], [1.0, 1.0], 2)), abs=1e-3
    )
