"""The true risk with pieces in clumps: closed forms, a reference library, and simulated lots."""

import tracemalloc

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from colorimetry import DomainError
from colorimetry.sampling import clumps as module
from colorimetry.sampling.clumps import (
    accept_beta_binomial,
    accept_good_and_bad,
    clump_risk,
    design_effect,
    good_and_bad_correlation,
)
from colorimetry.sampling.oc import accept_binomial

SHARES = np.linspace(0, 1, 41)
DRAWS = 150_000


def standard_error(probability):
    """Of a simulated share; a little at the ends."""
    return np.sqrt(np.maximum(probability * (1 - probability), 1e-4) / DRAWS)


@pytest.mark.parametrize("rho", [0.01, 0.1, 0.5, 0.9])
@pytest.mark.parametrize(("m", "ac"), [(1, 0), (8, 2), (80, 5), (20, 20), (5, 9)])
def test_one_clump_is_the_reference_librarys_beta_binomial(m, ac, rho):
    inside = SHARES[1:-1]
    a, b = inside * (1 - rho) / rho, (1 - inside) * (1 - rho) / rho
    expected = stats.betabinom.cdf(ac, m, a, b)
    found = accept_beta_binomial(inside, clumps=1, per_clump=m, ac=ac, correlation=rho)
    assert np.abs(found - expected).max() < 1e-12


@pytest.mark.parametrize(
    ("k", "m", "ac", "rho"), [(10, 8, 2, 0.3), (4, 20, 5, 0.1), (16, 5, 0, 0.6), (7, 3, 6, 0.05)]
)
def test_simulated_clumps_are_accepted_as_often(k, m, ac, rho):
    shares = np.array([0.01, 0.05, 0.2])
    rng = np.random.default_rng(20)
    found = []
    for p in shares:
        rates = rng.beta(p * (1 - rho) / rho, (1 - p) * (1 - rho) / rho, (DRAWS, k))
        found.append((rng.binomial(m, rates).sum(axis=1) <= ac).mean())
    told = accept_beta_binomial(shares, clumps=k, per_clump=m, ac=ac, correlation=rho)
    assert (np.abs(np.array(found) - told) < 4.5 * standard_error(told)).all()


@pytest.mark.parametrize(
    ("k", "m", "ac", "in_bad", "in_good"),
    [(10, 8, 2, 0.5, 0.002), (4, 20, 5, 0.3, 0.0), (16, 5, 0, 1.0, 0.0), (5, 16, 3, 0.1, 0.02)],
)
def test_simulated_good_and_bad_clumps_are_accepted_as_often(k, m, ac, in_bad, in_good):
    bad = np.array([0.0, 0.02, 0.1, 0.4, 1.0])
    rng = np.random.default_rng(21)
    found = []
    for share in bad:
        rates = np.where(rng.random((DRAWS, k)) < share, in_bad, in_good)
        found.append((rng.binomial(m, rates).sum(axis=1) <= ac).mean())
    told = accept_good_and_bad(
        bad, rate_in_bad=in_bad, rate_in_good=in_good, clumps=k, per_clump=m, ac=ac
    )
    assert (np.abs(np.array(found) - told) < 4.5 * standard_error(told)).all()


def test_clumps_that_are_good_or_bad_as_a_whole_have_a_closed_form():
    # with m pieces all alike a clump counts 0 or m: accepted while at most Ac // m clumps are bad
    for k, m, ac in [(10, 8, 7), (10, 8, 8), (10, 8, 17), (5, 3, 0)]:
        expected = stats.binom.cdf(ac // m, k, SHARES)
        one = accept_beta_binomial(SHARES, clumps=k, per_clump=m, ac=ac, correlation=1)
        other = accept_good_and_bad(
            SHARES, rate_in_bad=1, rate_in_good=0, clumps=k, per_clump=m, ac=ac
        )
        assert np.abs(one - expected).max() < 1e-12
        assert np.abs(other - expected).max() < 1e-12


@pytest.mark.parametrize(("k", "m", "ac"), [(10, 8, 2), (1, 80, 5), (80, 1, 3), (3, 7, 0)])
def test_without_correlation_pieces_are_independent(k, m, ac):
    expected = accept_binomial(SHARES, k * m, ac)
    given_zero = accept_beta_binomial(SHARES, clumps=k, per_clump=m, ac=ac, correlation=0)
    assert np.array_equal(given_zero, expected)
    nearly = accept_beta_binomial(SHARES, clumps=k, per_clump=m, ac=ac, correlation=1e-13)
    assert np.abs(nearly - expected).max() < 1e-10
    alike = accept_good_and_bad(
        0.3, rate_in_bad=0.07, rate_in_good=0.07, clumps=k, per_clump=m, ac=ac
    )
    assert alike == pytest.approx(accept_binomial(0.07, k * m, ac), abs=1e-12)


@given(st.integers(1, 40), st.integers(0, 10), st.floats(0.001, 1))
def test_one_piece_from_each_clump_is_a_simple_sample(k, ac, rho):
    found = accept_beta_binomial(SHARES, clumps=k, per_clump=1, ac=ac, correlation=rho)
    assert np.abs(found - accept_binomial(SHARES, k, ac)).max() < 1e-12


CLUMPED = {
    "clumps": st.integers(1, 20),
    "per_clump": st.integers(1, 20),
    "ac": st.integers(0, 10),
    "correlation": st.floats(0, 1),
}


@given(st.fixed_dictionaries(CLUMPED))
def test_acceptance_falls_with_the_share_and_rises_with_ac(drawn):
    accepted = accept_beta_binomial(SHARES, **drawn)
    assert (np.diff(accepted) <= 1e-12).all()
    assert accepted[0] == pytest.approx(1, abs=1e-12)
    assert ((accepted >= 0) & (accepted <= 1)).all()
    size = drawn["clumps"] * drawn["per_clump"]
    assert accepted[-1] == pytest.approx(1 if drawn["ac"] >= size else 0, abs=1e-12)
    more = accept_beta_binomial(SHARES, **(drawn | {"ac": drawn["ac"] + 1}))
    assert (more >= accepted - 1e-12).all()


@given(st.integers(1, 20), st.integers(2, 20), st.floats(0, 0.98))
def test_a_plan_with_ac_zero_accepts_more_often_the_more_pieces_clump(k, m, rho):
    loose = accept_beta_binomial(SHARES, clumps=k, per_clump=m, ac=0, correlation=rho)
    tight = accept_beta_binomial(SHARES, clumps=k, per_clump=m, ac=0, correlation=rho + 0.02)
    assert (tight >= loose - 1e-12).all()


def test_the_consumers_risk_of_a_plan_is_larger_than_its_curve_says():
    # 80, 2/3 as ten racks of eight: at 7.66 % the curve says 5 %
    risk = clump_risk([0.01, 0.0766], clumps=10, per_clump=8, ac=2, correlation=0.3)
    assert risk.simple == pytest.approx([0.95345, 0.05], abs=1e-3)
    assert risk.clumped[1] > 4 * risk.simple[1]
    assert risk.clumped[0] < risk.simple[0]
    assert np.array_equal(
        risk.clumped,
        accept_beta_binomial([0.01, 0.0766], clumps=10, per_clump=8, ac=2, correlation=0.3),
    )
    assert risk.design_effect == pytest.approx(3.1)
    assert risk.effective_n == pytest.approx(80 / 3.1)


def test_the_design_effect_is_the_variance_of_the_sum_over_that_of_simple_sampling():
    assert design_effect(8, 0) == 1
    assert design_effect(1, 0.7) == 1
    assert design_effect(8, 1) == 8
    k, m, p, rho = 3, 5, 0.2, 0.4
    pmf = np.diff(
        [0.0]
        + [
            float(accept_beta_binomial(p, clumps=k, per_clump=m, ac=ac, correlation=rho))
            for ac in range(k * m + 1)
        ]
    )
    counts = np.arange(k * m + 1)
    mean = counts @ pmf
    assert mean == pytest.approx(k * m * p)
    variance = (counts - mean) ** 2 @ pmf
    assert variance == pytest.approx(k * m * p * (1 - p) * design_effect(m, rho))


@given(st.floats(0.01, 0.99), st.floats(0, 1), st.floats(0, 0.99))
def test_the_correlation_of_good_and_bad_clumps_is_that_of_two_pieces(bad, in_bad, in_good):
    mean = bad * in_bad + (1 - bad) * in_good
    if not 1e-6 < mean < 1 - 1e-6:
        return
    both = bad * in_bad**2 + (1 - bad) * in_good**2
    expected = (both - mean**2) / (mean * (1 - mean))
    assert good_and_bad_correlation(bad, in_bad, in_good) == pytest.approx(expected, abs=1e-9)


def test_the_correlation_of_the_two_extremes():
    assert good_and_bad_correlation(0.2, 1, 0) == pytest.approx(1)
    assert good_and_bad_correlation(0.2, 0.1, 0.1) == 0
    # π(1-π)(q_b - q_g)² / (p(1-p)) with π = 0.1, q_b = 0.5, q_g = 0.1: p = 0.14
    assert good_and_bad_correlation(0.1, 0.5, 0.1) == pytest.approx(0.09 * 0.16 / (0.14 * 0.86))
    for alike in ((0.5, 0, 0), (0.5, 1, 1), (0, 1, 0), (1, 1, 0)):
        with pytest.raises(DomainError, match="all pieces are alike"):
            good_and_bad_correlation(*alike)


def test_shares_are_taken_in_blocks_with_the_same_result(monkeypatch):
    plan = {"clumps": 10, "per_clump": 8, "ac": 2, "correlation": 0.3}
    shares = np.random.default_rng(3).random((5, 9))
    whole = accept_beta_binomial(shares, **plan)
    monkeypatch.setattr(module, "_BLOCK", 22)
    assert np.array_equal(accept_beta_binomial(shares, **plan), whole)
    assert whole.shape == (5, 9)
    assert accept_beta_binomial(np.empty((0, 2)), **plan).shape == (0, 2)
    assert accept_beta_binomial(0.1, **plan).shape == ()


def test_memory_stays_bounded_for_many_shares():
    tracemalloc.start()
    try:
        plan = {"clumps": 2, "per_clump": 1_000, "ac": 2, "correlation": 0.3}
        accept_beta_binomial(np.full(10_000, 0.1), **plan)  # 80 MB for each array at once
        assert tracemalloc.get_traced_memory()[1] < 120e6
    finally:
        tracemalloc.stop()


def test_good_and_bad_keeps_the_shape_of_what_was_asked():
    rates = {"rate_in_bad": 0.5, "rate_in_good": 0.0, "clumps": 10, "per_clump": 8, "ac": 2}
    assert accept_good_and_bad(np.full((2, 3), 0.1), **rates).shape == (2, 3)
    assert accept_good_and_bad(0.1, **rates).shape == ()


PLAN = {"clumps": 10, "per_clump": 8, "ac": 2}
RATES = {"rate_in_bad": 0.5, "rate_in_good": 0.0}


@pytest.mark.parametrize(
    ("call", "what"),
    [
        (lambda: accept_beta_binomial(1.1, correlation=0.1, **PLAN), "p"),
        (lambda: accept_beta_binomial(0.1, correlation=-0.1, **PLAN), "correlation"),
        (lambda: accept_beta_binomial(0.1, correlation=1.1, **PLAN), "correlation"),
        (lambda: accept_beta_binomial(np.nan, correlation=0.1, **PLAN), "p"),
        (lambda: accept_beta_binomial(0.1, correlation=0.1, **PLAN | {"clumps": 0}), "clumps"),
        (
            lambda: accept_beta_binomial(0.1, correlation=0.1, **PLAN | {"per_clump": 0}),
            "per_clump",
        ),
        (
            lambda: accept_beta_binomial(0.1, correlation=0.1, **PLAN | {"per_clump": 10_001}),
            "per_clump",
        ),
        (lambda: accept_beta_binomial(0.1, correlation=0.1, **PLAN | {"ac": -1}), "ac"),
        (lambda: accept_beta_binomial(0.1, correlation=0.1, **PLAN | {"ac": 10_001}), "ac"),
        (lambda: accept_beta_binomial(0.1, correlation=0.1, **PLAN | {"clumps": 125_001}), "n"),
        (lambda: accept_good_and_bad(1.1, **RATES, **PLAN), "bad_clumps"),
        (lambda: accept_good_and_bad(0.1, **RATES | {"rate_in_bad": 2}, **PLAN), "rate_in_bad"),
        (lambda: accept_good_and_bad(0.1, **RATES | {"rate_in_good": 2}, **PLAN), "rate_in_good"),
        (lambda: good_and_bad_correlation(0.1, 2, 0), "rate_in_bad"),
        (lambda: good_and_bad_correlation(0.1, 0, -1), "rate_in_good"),
        (lambda: good_and_bad_correlation(2, 0, 0), "bad_clumps"),
        (lambda: design_effect(0, 0.1), "per_clump"),
        (lambda: design_effect(8, 2), "correlation"),
    ],
)
def test_what_is_outside_the_domain_is_refused_by_name(call, what):
    with pytest.raises(DomainError) as caught:
        call()
    assert caught.value.what == what


def test_the_largest_clumps_and_numbers_are_still_computed():
    # many pieces per clump: the beta distribution of the rate itself decides
    a, b = 0.1 * 0.9 / 0.1, 0.9 * 0.9 / 0.1
    found = accept_beta_binomial(0.1, clumps=1, per_clump=10_000, ac=1_000, correlation=0.1)
    assert found == pytest.approx(stats.betabinom.cdf(1_000, 10_000, a, b), abs=1e-9)
    assert accept_beta_binomial(0.1, clumps=2, per_clump=8, ac=10_000, correlation=0.1) == (
        pytest.approx(1, abs=1e-12)
    )
