"""Operating characteristics against published points, a reference library, and exact fractions."""

import tracemalloc
from fractions import Fraction
from math import comb

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from colorimetry import DomainError
from colorimetry.sampling import aqls, oc, single_plan
from colorimetry.sampling.oc import (
    accept_binomial,
    accept_hypergeometric,
    accept_poisson,
    find_plan,
    quality_binomial,
    quality_hypergeometric,
    quality_poisson,
)

SHARES = np.linspace(0, 1, 101)
PLANS = [(2, 0), (13, 0), (50, 1), (80, 2), (80, 5), (125, 3), (2000, 21), (5, 5), (3, 44)]


def test_the_published_points_of_80_2_are_met():
    # MIL-STD-105E table X-J prints .550 1.03 1.38 3.33 6.52 7.66 (from memory, check your copy of
    # the standard); the longer figures are the binomial's
    found = 100 * quality_binomial([0.99, 0.95, 0.90, 0.50, 0.10, 0.05], 80, 2)
    assert found == pytest.approx([0.5505, 1.0298, 1.3854, 3.3285, 6.5160, 7.6611], abs=5e-5)
    # the table prints 1.38 where rounding gives 1.39
    assert found == pytest.approx([0.550, 1.03, 1.38, 3.33, 6.52, 7.66], abs=0.0056)


def test_single_points_are_met():
    assert accept_binomial(0.01, 80, 2) == pytest.approx(0.95345, abs=5e-6)
    assert accept_binomial(0.05, 80, 2) == pytest.approx(0.23062, abs=5e-6)
    assert accept_hypergeometric(10, 1000, 80, 2) == pytest.approx(0.96075, abs=5e-6)
    assert 100 * quality_binomial(0.10, 125, 3) == pytest.approx(5.2663, abs=5e-5)


@pytest.mark.parametrize(("n", "ac"), PLANS)
def test_a_reference_library_agrees_on_binomial_and_poisson(n, ac):
    assert np.abs(accept_binomial(SHARES, n, ac) - stats.binom.cdf(ac, n, SHARES)).max() < 1e-13
    rates = SHARES * 300
    expected = stats.poisson.cdf(ac, n * rates / 100)
    assert np.abs(accept_poisson(rates, n, ac) - expected).max() < 1e-13


@pytest.mark.parametrize(
    ("lot", "n", "ac"), [(1000, 80, 2), (100, 13, 0), (50, 50, 3), (20, 1, 0), (3000, 800, 21)]
)
def test_a_reference_library_agrees_on_the_hypergeometric(lot, n, ac):
    bad = np.arange(lot + 1)
    expected = stats.hypergeom.cdf(ac, lot, bad, n)
    assert np.abs(accept_hypergeometric(bad, lot, n, ac) - expected).max() < 1e-11


def exact(bad, lot, n, ac):
    """Acceptance as a fraction of whole numbers."""
    ways = sum(comb(bad, d) * comb(lot - bad, n - d) for d in range(min(ac, n) + 1))
    return Fraction(ways, comb(lot, n))


@given(st.integers(1, 300), st.data())
def test_the_hypergeometric_is_exact(lot, data):
    n = data.draw(st.integers(1, lot))
    ac = data.draw(st.integers(0, n))
    bad = data.draw(st.integers(0, lot))
    expected = float(exact(bad, lot, n, ac))
    assert float(accept_hypergeometric(bad, lot, n, ac)) == pytest.approx(expected, rel=1e-12)


def test_the_hypergeometric_keeps_small_probabilities_of_large_lots():
    expected = float(exact(4_000, 20_000, 2_000, 200))
    assert expected < 1e-30
    found = float(accept_hypergeometric(4_000, 20_000, 2_000, 200))
    assert found == pytest.approx(expected, rel=1e-11)


def test_counts_are_taken_in_blocks_with_the_same_result(monkeypatch):
    bad = np.random.default_rng(1).integers(0, 1001, (7, 30))
    whole = accept_hypergeometric(bad, 1000, 80, 2)
    monkeypatch.setattr(oc, "_BLOCK", 81)
    assert np.array_equal(accept_hypergeometric(bad, 1000, 80, 2), whole)
    assert whole.shape == (7, 30)
    assert accept_hypergeometric(np.empty((0, 2), int), 1000, 80, 2).shape == (0, 2)


def test_memory_stays_bounded_for_many_counts():
    tracemalloc.start()
    try:
        accept_hypergeometric(np.arange(6_000), 6_000, 1_500, 3)  # 72 MB for each array at once
        assert tracemalloc.get_traced_memory()[1] < 120e6
    finally:
        tracemalloc.stop()


def test_the_largest_samples_and_lots_are_computed():
    assert accept_binomial(1e-6, 10**6, 2) == pytest.approx(stats.poisson.cdf(2, 1), abs=1e-6)
    half = accept_hypergeometric(5 * 10**11, 10**12, 3, 1)
    assert half == pytest.approx(0.5, abs=1e-11)


def test_a_large_lot_is_nearly_binomial_and_rare_faults_nearly_poisson():
    bad = np.arange(0, 10**5, 1000)
    near = accept_binomial(bad / 10**6, 80, 2)
    assert np.abs(accept_hypergeometric(bad, 10**6, 80, 2) - near).max() < 2e-4
    assert (
        np.abs(accept_poisson(SHARES, 800, 2) - accept_binomial(SHARES / 100, 800, 2)).max() < 3e-3
    )


@given(st.integers(1, 400), st.data())
def test_acceptance_falls_with_the_share_and_the_sample_and_rises_with_ac(n, data):
    ac = data.draw(st.integers(0, n))
    accepted = accept_binomial(SHARES, n, ac)
    assert (np.diff(accepted) <= 0).all()
    assert (accept_binomial(SHARES, n + 1, ac) <= accepted + 1e-15).all()
    assert (accept_binomial(SHARES, n, ac + 1) >= accepted - 1e-15).all()
    assert accepted[0] == 1
    assert accepted[-1] == (1 if ac == n else 0)


@given(st.integers(2, 400), st.data())
def test_an_isolated_lot_is_accepted_less_often_the_more_is_bad(lot, data):
    n = data.draw(st.integers(1, lot - 1))
    ac = data.draw(st.integers(0, n))
    bad = np.arange(lot + 1)
    accepted = accept_hypergeometric(bad, lot, n, ac)
    assert (np.diff(accepted) <= 1e-13).all()
    assert (accept_hypergeometric(bad, lot, n + 1, ac) <= accepted + 1e-13).all()
    assert (accept_hypergeometric(bad, lot, n, ac + 1) >= accepted - 1e-13).all()


@given(st.integers(0, 200), st.integers(1, 200))
def test_a_whole_lot_inspected_leaves_no_risk(bad, lot):
    bad = min(bad, lot)
    for ac in {0, max(bad - 1, 0), bad}:
        assert float(accept_hypergeometric(bad, lot, lot, ac)) == (1 if bad <= ac else 0)


@given(st.integers(1, 200), st.integers(0, 10))
def test_nonconformities_are_accepted_less_often_at_higher_rates(n, ac):
    accepted = accept_poisson(SHARES * 1000, n, ac)
    assert accepted[0] == 1
    assert (np.diff(accepted) <= 0).all()


@pytest.mark.parametrize("level", ["S-2", "I", "II", "III"])
@pytest.mark.parametrize("lot", [2, 20, 100, 400, 3000, 20_000, 600_000])
def test_tightened_inspection_accepts_no_quality_more_often_than_normal(lot, level):
    rates = np.geomspace(1e-4, 3000, 100)
    for aql in aqls():
        normal, tightened = (
            single_plan(
                lot,
                level,
                aql,
                severity=severity,
                edition="MIL-STD-105E",
                counted="nonconformities",
            )
            for severity in ("normal", "tightened")
        )
        loose = accept_poisson(rates, normal.table_n, normal.ac)
        assert (accept_poisson(rates, tightened.table_n, tightened.ac) <= loose + 1e-12).all()


@given(st.integers(1, 2000), st.floats(1e-6, 1 - 1e-6), st.data())
def test_quality_and_acceptance_go_back_and_forth(n, accepted, data):
    ac = data.draw(st.integers(0, n - 1))
    share = quality_binomial(accepted, n, ac)
    assert accept_binomial(share, n, ac) == pytest.approx(accepted, rel=1e-8, abs=1e-12)
    rate = quality_poisson(accepted, n, ac)
    assert accept_poisson(rate, n, ac) == pytest.approx(accepted, rel=1e-8, abs=1e-12)


def test_the_ends_of_the_curve_have_their_quality():
    assert quality_binomial([1.0, 0.0], 80, 2).tolist() == [0, 1]
    assert quality_poisson(1.0, 80, 2) == 0
    assert quality_poisson(0.5, 100, 0) == pytest.approx(np.log(2))


@given(st.integers(2, 150), st.floats(0, 1), st.data())
def test_the_quality_of_a_lot_is_the_first_count_that_is_low_enough(lot, wanted, data):
    n = data.draw(st.integers(1, lot))
    ac = data.draw(st.integers(0, n - 1))
    accepted = accept_hypergeometric(np.arange(lot + 1), lot, n, ac)
    expected = int(np.argmax(accepted <= wanted))
    assert quality_hypergeometric(wanted, lot, n, ac) == expected


def test_the_quality_of_a_lot_at_the_ends():
    assert quality_hypergeometric(1, 100, 13, 0) == 0
    assert quality_hypergeometric(0, 100, 13, 2) == 90
    assert quality_hypergeometric(0.5, 1, 1, 0) == 1


def smallest(accept, points, most):
    """The smallest plan for two points, by trying all of them."""
    (p1, alpha), (p2, beta) = points
    for n in range(1, most + 1):
        for ac in range(n):
            if accept(p2, n, ac) <= beta and 1 - accept(p1, n, ac) <= alpha:
                return n, ac
    return None


@pytest.mark.parametrize(
    "points",
    [
        ((0.01, 0.05), (0.06, 0.10)),
        ((0.01, 0.05), (0.08, 0.10)),
        ((0.0, 0.05), (0.10, 0.10)),
        ((0.02, 0.10), (0.15, 0.05)),
        ((0.10, 0.05), (0.30, 0.10)),
        ((0.4, 0.2), (0.9, 0.2)),
        ((0.0, 0.01), (1.0, 0.01)),
    ],
)
def test_no_smaller_plan_keeps_both_risks(points):
    found = find_plan(producer=points[0], consumer=points[1])
    accept = lambda p, n, ac: stats.binom.cdf(ac, n, p)  # noqa: E731
    assert (found.n, found.ac) == smallest(accept, points, 150)
    assert found.producer_risk == pytest.approx(1 - accept(points[0][0], found.n, found.ac))
    assert found.consumer_risk == pytest.approx(accept(points[1][0], found.n, found.ac))


@pytest.mark.parametrize(
    ("lot", "points"),
    [
        (100, ((0.01, 0.05), (0.10, 0.10))),
        (100, ((0.02, 0.05), (0.06, 0.10))),
        (40, ((0.0, 0.05), (0.05, 0.10))),
        (40, ((0.05, 0.01), (0.075, 0.01))),
        (2, ((0.0, 0.05), (0.5, 0.10))),
    ],
)
def test_no_smaller_plan_keeps_both_risks_of_an_isolated_lot(lot, points):
    found = find_plan(producer=points[0], consumer=points[1], lot=lot)
    accept = lambda p, n, ac: stats.hypergeom.cdf(ac, lot, round(p * lot), n)  # noqa: E731
    assert (found.n, found.ac) == smallest(accept, points, lot)
    assert found.producer_risk <= points[0][1]
    assert found.consumer_risk <= points[1][1]


@given(
    st.floats(0, 0.3),
    st.floats(0.01, 0.5),
    st.floats(0.01, 0.3),
    st.floats(0.01, 0.3),
)
def test_stricter_risks_never_need_a_smaller_sample(p1, more, alpha, beta):
    points = {"producer": (p1, alpha), "consumer": (p1 + more + 0.05, beta)}
    found = find_plan(**points)
    assert found.producer_risk <= alpha
    assert found.consumer_risk <= beta
    stricter = find_plan(producer=(p1, alpha / 2), consumer=(points["consumer"][0], beta))
    assert stricter.n >= found.n


def test_an_isolated_lot_needs_no_larger_sample_than_a_long_run():
    long_run = find_plan(producer=(0.01, 0.05), consumer=(0.06, 0.10))
    lot = find_plan(producer=(0.01, 0.05), consumer=(0.06, 0.10), lot=1000)
    assert (long_run.n, long_run.ac) == (110, 3)
    assert (lot.n, lot.ac) == (85, 2)


def test_the_risks_of_a_plan_are_kept_by_the_plan_itself():
    for lot in (None, 1000):
        found = find_plan(producer=(0.01, 0.05), consumer=(0.06, 0.10), lot=lot)
        again = find_plan(
            producer=(0.01, found.producer_risk), consumer=(0.06, found.consumer_risk), lot=lot
        )
        assert again == found


def test_shares_that_are_whole_but_for_the_last_bit_are_taken():
    assert 0.07 * 10**5 != 7_000
    found = find_plan(producer=(0.01, 0.05), consumer=(0.07, 0.10), lot=10**5)
    assert found.n == find_plan(producer=(0.01, 0.05), consumer=(0.07, 0.10)).n


@pytest.mark.parametrize(
    ("call", "what"),
    [
        (lambda: accept_binomial(1.01, 80, 2), "p"),
        (lambda: accept_binomial(-0.01, 80, 2), "p"),
        (lambda: accept_binomial(0.1, 0, 0), "n"),
        (lambda: accept_binomial(0.1, 10**6 + 1, 0), "n"),
        (lambda: accept_binomial(0.1, 80, -1), "ac"),
        (lambda: accept_binomial(0.1, 80.0, 2), "n"),
        (lambda: accept_binomial("one", 80, 2), "p"),
        (lambda: accept_poisson(-1, 80, 2), "per_100"),
        (lambda: accept_poisson(np.inf, 80, 2), "per_100"),
        (lambda: accept_hypergeometric(0.1, 100, 80, 2), "nonconforming"),
        (lambda: accept_hypergeometric(101, 100, 80, 2), "nonconforming"),
        (lambda: accept_hypergeometric(-1, 100, 80, 2), "nonconforming"),
        (lambda: accept_hypergeometric(1, 79, 80, 2), "n"),
        (lambda: accept_hypergeometric(1, 10**12 + 1, 80, 2), "n"),
        (lambda: accept_hypergeometric(1, 0, 80, 2), "lot"),
        (lambda: quality_binomial(0.5, 2, 2), "ac"),
        (lambda: quality_binomial(1.5, 80, 2), "acceptance"),
        (lambda: quality_poisson([0.5, 0], 80, 2), "acceptance"),
        (lambda: quality_hypergeometric(0.5, 80, 2, 2), "ac"),
        (lambda: quality_hypergeometric(2, 80, 4, 2), "acceptance"),
        (lambda: find_plan(producer=(0.1, 0.05), consumer=(0.1, 0.1)), "producer"),
        (lambda: find_plan(producer=(0.2, 0.05), consumer=(0.1, 0.1)), "producer"),
        (lambda: find_plan(producer=(0.01, 0), consumer=(0.1, 0.1)), "producer"),
        (lambda: find_plan(producer=(0.01, 0.05), consumer=(0.1, 1)), "consumer"),
        (lambda: find_plan(producer=(0.01, 0.05), consumer=(0.1, 0)), "consumer"),
        (lambda: find_plan(producer=(0.01, 1), consumer=(0.1, 0.1)), "producer"),
        (lambda: find_plan(producer=(0.01, 0.05), consumer=(1.1, 0.1)), "consumer"),
        (lambda: find_plan(producer=(0.015, 0.05), consumer=(0.1, 0.1), lot=100), "share"),
        (lambda: find_plan(producer=(0.01, 0.05), consumer=(0.1, 0.1), lot=1), "lot"),
    ],
)
def test_what_is_outside_the_domain_is_refused_by_name(call, what):
    with pytest.raises(DomainError) as caught:
        call()
    assert caught.value.what == what


def test_the_place_and_kind_of_a_wrong_share_are_named():
    for wrong, problem in ((np.nan, "nan"), (np.inf, "inf"), (1.5, "range")):
        with pytest.raises(DomainError) as caught:
            accept_binomial([[0.1, 0.2], [wrong, 2]], 80, 2)
        assert (caught.value.row, caught.value.problem) == (2, problem)
    with pytest.raises(DomainError) as caught:
        accept_poisson([0.1, np.nan, -1], 80, 2)
    assert caught.value.row == 1
    with pytest.raises(DomainError) as caught:
        accept_hypergeometric([1, 2, 101, 102], 100, 80, 2)
    assert caught.value.row == 2


def test_points_that_no_sample_keeps_are_refused(monkeypatch):
    monkeypatch.setattr(oc, "LARGEST_SEARCHED", 100)
    with pytest.raises(DomainError, match="up to 100 keeps both"):
        find_plan(producer=(0.01, 0.05), consumer=(0.06, 0.10))
    monkeypatch.setattr(oc, "LARGEST_SEARCHED", 110)
    assert find_plan(producer=(0.01, 0.05), consumer=(0.06, 0.10)).n == 110
    monkeypatch.setattr(oc, "LARGEST_SEARCHED_IN_LOT", 84)
    with pytest.raises(DomainError, match="up to 84 keeps both"):
        find_plan(producer=(0.01, 0.05), consumer=(0.06, 0.10), lot=1000)


def test_results_keep_the_shape_of_what_was_asked():
    assert accept_binomial(np.full((2, 3), 0.1), 80, 2).shape == (2, 3)
    assert accept_binomial(0.1, 5, 5).shape == ()
    assert accept_poisson(np.full((2, 3), 0.1), 80, 2).shape == (2, 3)
    assert quality_binomial(np.full((2, 3), 0.1), 80, 2).shape == (2, 3)


def test_a_search_that_lands_on_its_upper_bound_tries_the_bound_itself():
    with pytest.raises(DomainError, match="points"):
        oc.find_plan(producer=(1e-6, 0.05), consumer=(1 - 0.1 ** (1 / 67232.5), 0.1))


@given(st.integers(0, 40), st.integers(1, 300), st.integers(0, 400))
def test_the_first_fitting_number_is_found_or_none(low, length, threshold):
    high = low + length
    found = oc._first(lambda n: n >= threshold, low, high)
    assert found == (max(low, threshold) if threshold <= high else high + 1)
