"""Repeatability, bias with its region, En and drift against published numbers and libraries."""

import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import f as f_law
from scipy.stats import t as t_law

from colorimetry import DomainError, ciede2000
from colorimetry.difference_formulas import cmc
from colorimetry.instruments.bias import bias_region
from colorimetry.instruments.drift import control_limits, trend
from colorimetry.instruments.normalised_error import en_numbers, satisfactory
from colorimetry.instruments.repeatability import repeatability

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from statsmodels.regression.linear_model import OLS
    from statsmodels.stats.multivariate import confint_mvmean_fromstats
    from statsmodels.stats.multivariate import test_mvmean as mean_vector_test

READINGS = np.array(
    [
        (62.31, -12.05, 24.10),
        (62.28, -12.01, 24.15),
        (62.35, -12.09, 24.02),
        (62.30, -12.04, 24.12),
        (62.33, -12.10, 24.06),
    ]
)
# Johnson & Wichern, Applied Multivariate Statistical Analysis: effluent data, paired differences
EFFLUENT = np.array(
    [
        (-19, -22, -18, -27, -4, -10, -14, 17, 9, 4, -19),
        (12, 10, 42, 15, -1, 11, -4, 60, -2, 10, -7),
    ]
).T


def test_the_mean_difference_from_the_mean_is_reproduced():
    # ASTM E2214 by its definition; values as verified in colour.md, section 9
    found = repeatability(READINGS, formula="CIELAB")
    assert found.mean == pytest.approx([62.314, -12.058, 24.090], abs=1e-12)
    assert found.mcdm == pytest.approx(0.05483, abs=5e-6)
    assert found.differences.mean() == pytest.approx(found.mcdm, abs=1e-15)
    assert repeatability(READINGS, formula="CIEDE2000").mcdm == pytest.approx(0.03907, abs=5e-6)


def test_the_mean_stands_as_reference():
    mean = READINGS.mean(axis=0)
    weights = {"l_weight": 2.0, "c_weight": 1.0}
    forth = cmc(reference=mean, specimen=READINGS, **weights)
    back = cmc(reference=READINGS, specimen=np.tile(mean, (5, 1)), **weights)
    found = repeatability(READINGS, formula="CMC", **weights)
    assert found.differences == pytest.approx(forth, abs=1e-12)
    assert found.differences != pytest.approx(back, abs=1e-9)


@given(st.permutations(range(5)), st.floats(-20, 20))
def test_order_and_place_do_not_change_repeatability(order, shift):
    moved = READINGS[list(order)] + (0, shift, 0)
    plain = repeatability(READINGS, formula="CIELAB").mcdm
    assert repeatability(moved, formula="CIELAB").mcdm == pytest.approx(plain, abs=1e-9)
    assert repeatability(np.tile(READINGS[0], (3, 1)), formula="CIELAB").mcdm < 1e-12


def region(differences, confidence=0.95):
    differences = np.asarray(differences, dtype=float)
    rng = np.random.default_rng(len(differences))
    first = rng.integers(-99, 99, differences.shape).astype(float)
    return bias_region(reference=first, specimen=first + differences, confidence=confidence)


def test_the_effluent_example_is_reproduced():
    # T² = 13.6 and critical 9.47 are printed (from memory); more digits by statsmodels
    found = region(EFFLUENT)
    assert found.centre == pytest.approx([-9.364, 13.273], abs=5e-4)
    assert found.t_squared == pytest.approx(13.6393, abs=5e-5)
    assert found.f == pytest.approx(6.13769, abs=5e-6)
    assert found.probability == pytest.approx(0.020828, abs=5e-7)
    assert found.critical == pytest.approx(9.459, abs=5e-4)
    assert found.pairs == 11
    assert not found.holds_zero
    assert region(EFFLUENT, 0.99).holds_zero


@settings(deadline=None, max_examples=40)
@given(st.integers(0, 2**32 - 1), st.integers(2, 4), st.integers(2, 30), st.floats(0.5, 0.999))
def test_t_squared_equals_the_statistics_library(seed, p, more, confidence):
    rng = np.random.default_rng(seed)
    d = rng.normal(0.3, 1.0, (p + more, p)) @ rng.normal(size=(p, p))
    found = region(d, confidence)
    theirs = mean_vector_test(d, np.zeros(p))
    assert found.f == pytest.approx(theirs.statistic, rel=1e-7)
    assert found.t_squared == pytest.approx(theirs.t2, rel=1e-7)
    assert found.probability == pytest.approx(theirs.pvalue, rel=1e-6, abs=1e-300)
    limit = f_law.ppf(confidence, p, more) * p * (p + more - 1) / more
    assert found.critical == pytest.approx(limit, rel=1e-9)
    assert found.holds_zero == (found.probability >= 1 - confidence)
    # the shadows of the region on the axes are simultaneous intervals (Johnson & Wichern, 5.4);
    # the library's own short form takes the covariance over n instead of n - 1
    low, high, _ = confint_mvmean_fromstats(
        d.mean(axis=0), np.cov(d.T), len(d), np.eye(p), alpha=1 - confidence, simult=True
    )
    shadow = np.sqrt(((found.axes * found.half_lengths) ** 2).sum(axis=1))
    assert found.centre - shadow == pytest.approx(low, rel=1e-6, abs=1e-7)
    assert found.centre + shadow == pytest.approx(high, rel=1e-6, abs=1e-7)


def test_the_region_ends_at_its_half_lengths():
    found = region(EFFLUENT)
    assert found.half_lengths[0] > found.half_lengths[1] > 0
    assert found.axes.T @ found.axes == pytest.approx(np.eye(2), abs=1e-12)
    for axis, half in zip(found.axes.T, found.half_lengths, strict=True):
        assert found.holds(found.centre + axis * half * 0.999)
        assert not found.holds(found.centre - axis * half * 1.001)
    assert not found.holds([0, 0]) and found.holds(found.centre)


def coverage(n, p, runs=2000):
    """Share of runs, seeds 0 to runs - 1, whose region holds the true bias."""
    bias, mix = np.linspace(-0.2, 0.3, p), np.tril(np.ones((p, p))) * 0.1
    held = 0
    for seed in range(runs):
        rng = np.random.default_rng(seed)
        first = rng.uniform(0, 100, (n, p))
        second = first + bias + rng.normal(size=(n, p)) @ mix.T
        held += bias_region(reference=first, specimen=second).holds(bias)
    return held / runs


@pytest.mark.parametrize("n", [4, 6, 12, 40])
def test_the_region_covers_the_true_bias_in_95_of_100_runs(n):
    # issue: 93.5 to 96.5 % over 2,000 runs, seeds 0 to 1999 (three standard errors are 1.5 %)
    assert 0.935 <= coverage(n, 3) <= 0.965


def test_constant_offsets_leave_nothing_to_test_with():
    rng = np.random.default_rng(1)
    first = rng.uniform(0, 90, (12, 3))
    off = rng.normal(0, 0.1, (12, 3))
    flat = off.copy()
    flat[:, 1] = 0.4
    with pytest.raises(DomainError) as caught:
        bias_region(reference=first, specimen=first + flat)
    assert (caught.value.problem, caught.value.band) == ("singular", 1)
    bound = off.copy()
    bound[:, 2] = 2 * bound[:, 0] - bound[:, 1]
    with pytest.raises(DomainError) as caught:
        bias_region(reference=first, specimen=first + bound)
    assert (caught.value.problem, caught.value.band) == ("singular", None)
    for count in (2, 3):
        with pytest.raises(DomainError) as caught:
            bias_region(reference=first[:count], specimen=first[:count] + off[:count])
        assert (caught.value.what, caught.value.problem) == ("pairs", "few")
    assert bias_region(reference=first[:4], specimen=first[:4] + off[:4]).pairs == 4


def en(measured, assigned, u_measured, u_assigned):
    return en_numbers(
        measured=measured,
        assigned=assigned,
        measured_expanded=u_measured,
        assigned_expanded=u_assigned,
    )


def test_the_normalised_error_is_reproduced():
    # ISO 13528: (10.15 - 10.00) / sqrt(0.12² + 0.08²)
    found = en(10.15, 10.00, 0.12, 0.08)
    assert found[0, 0] == pytest.approx(1.0401, abs=5e-5)
    assert not satisfactory(found)[0, 0]
    assert en(9.85, 10.0, 0.12, 0.08)[0, 0] == pytest.approx(-found[0, 0])
    assert satisfactory([[-1.0, 1.0, -1.0001]]).tolist() == [[True, True, False]]


def test_each_component_has_its_own_normalised_error():
    found = en([(50.1, 1.0, -2.0), (60, 1, 1)], [(50, 1.2, -2), (60, 1, 2)], [(0.1, 0.2, 0.3)], 0.1)
    roots = np.sqrt(np.array([0.1, 0.2, 0.3]) ** 2 + 0.01)
    assert found == pytest.approx(np.array([(0.1, -0.2, 0), (0, 0, -1)]) / roots, abs=1e-12)


DAYS = np.array([0, 3, 7, 8, 15, 20, 30, 31, 45, 60.0])


@settings(deadline=None)
@given(st.integers(0, 2**32 - 1), st.floats(-0.1, 0.1), st.floats(0.5, 0.999))
def test_the_trend_equals_the_statistics_library(seed, slope, confidence):
    values = 50 + slope * DAYS + np.random.default_rng(seed).normal(0, 0.05, 10)
    found = trend(DAYS, values[:, None], confidence=confidence)
    theirs = OLS(values, np.column_stack((np.ones(10), DAYS))).fit()
    assert found.intercept[0] == pytest.approx(theirs.params[0], rel=1e-9)
    assert found.slope[0] == pytest.approx(theirs.params[1], rel=1e-7, abs=1e-10)
    assert found.slope_error[0] == pytest.approx(theirs.bse[1], rel=1e-7)
    assert found.interval[:, 0] == pytest.approx(theirs.conf_int(1 - confidence)[1], rel=1e-7)
    assert found.probability[0] == pytest.approx(theirs.pvalues[1], rel=1e-6)
    assert found.residual[0] == pytest.approx(np.sqrt(theirs.mse_resid), rel=1e-9)


@pytest.mark.parametrize("seed", range(20))
def test_outliers_are_those_of_the_statistics_library(seed):
    rng = np.random.default_rng(seed)
    values = 50 + 0.01 * DAYS + rng.normal(0, 0.05, 10)
    values[seed % 10] += rng.uniform(-1, 1) * 0.8
    theirs = OLS(values, np.column_stack((np.ones(10), DAYS))).fit()
    studentised = theirs.get_influence().resid_studentized_external
    limit = t_law.ppf(1 - 0.05 / 20, 7)
    found = trend(DAYS, values[:, None])
    assert found.outliers[:, 0].tolist() == (np.abs(studentised) > limit).tolist()


def test_a_reading_far_off_is_told_in_its_component_and_row():
    rng = np.random.default_rng(3)
    values = np.array([50.0, 1.0, -3.0]) + rng.normal(0, 0.02, (10, 3))
    values[4, 1] += 0.5
    found = trend(DAYS, values).outliers
    assert np.argwhere(found).tolist() == [[4, 1]]


def test_the_wanted_risk_is_that_of_a_single_false_outlier():
    # Bonferroni's bound: no more than 5 % of clean series have any
    clean = 50 + np.random.default_rng(7).normal(0, 0.05, (10, 4000))
    share = trend(DAYS, clean).outliers.any(axis=0).mean()
    assert 0.03 < share < 0.06
    assert trend(DAYS, clean, outlier_risk=0.5).outliers.any(axis=0).mean() > 0.3


def test_the_interval_of_the_slope_covers_it():
    noise = np.random.default_rng(5).normal(0, 0.05, (10, 4000))
    found = trend(DAYS, 50 + 0.02 * DAYS[:, None] + noise)
    held = (found.interval[0] <= 0.02) & (found.interval[1] >= 0.02)
    assert 0.935 <= held.mean() <= 0.965


def test_order_does_not_matter_and_an_exact_line_has_no_outliers():
    values = np.column_stack((50 + 0.5 * DAYS, np.full(10, 3.0)))
    found = trend(DAYS, values)
    assert found.slope == pytest.approx([0.5, 0.0], abs=1e-15)
    assert not found.outliers.any()
    assert found.probability[1] == 1.0 and found.probability[0] < 1e-9
    order = np.random.default_rng(2).permutation(10)
    assert trend(DAYS[order], values[order]).slope == pytest.approx(found.slope, abs=1e-14)


def test_control_limits_stand_at_three_deviations_from_the_moving_range():
    values = np.array([1.0, 3.0, 2.0, 4.0, 2.0, 9.0, -4.0, 2.4])[:, None]
    found = control_limits(values, baseline=5)
    moving = (2 + 1 + 2 + 2) / 4
    # 2.66 = 3 / 1.128 (ISO 7870-2, from memory)
    assert found.centre[0] == pytest.approx(2.4)
    assert found.upper[0] == pytest.approx(2.4 + 2.66 * moving, abs=0.004)
    assert found.lower[0] == pytest.approx(2.4 - 2.66 * moving, abs=0.004)
    assert found.outside[:, 0].tolist() == [False] * 5 + [True, True, False]


def test_control_limits_hold_nearly_all_readings_of_a_steady_instrument():
    values = np.random.default_rng(11).normal(50, 0.03, (2000, 3))
    found = control_limits(values, baseline=2000)
    assert found.upper - found.centre == pytest.approx([0.09] * 3, rel=0.06)
    assert found.outside.mean() < 0.006


NONE = np.full((6, 3), np.nan)
HOLE = np.ones((6, 3))
HOLE[2, 1] = np.nan
REFUSED = [
    (lambda: repeatability(READINGS[:1], formula="CIELAB"), "readings", "few", None),
    (lambda: repeatability(HOLE, formula="CIELAB"), "reference Lab", "nan", 2),
    (lambda: repeatability(READINGS, formula="mean"), "formula", "range", None),
    (lambda: bias_region(reference=HOLE, specimen=HOLE), "reference", "nan", 2),
    (lambda: bias_region(reference=READINGS, specimen=HOLE[:5]), "specimen", "nan", 2),
    (lambda: bias_region(reference=READINGS, specimen=READINGS[:4]), "specimen", "shape", None),
    (lambda: bias_region(reference=READINGS, specimen=EFFLUENT[:5]), "specimen", "shape", None),
    (lambda: region(EFFLUENT, 1.0), "confidence", "range", None),
    (lambda: region(EFFLUENT, 0.0), "confidence", "range", None),
    (lambda: region(EFFLUENT).holds([[0, 0], [1, 1]]), "bias", "shape", None),
    (lambda: region(EFFLUENT).holds([0, 0, 0]), "bias", "shape", None),
    (lambda: region(EFFLUENT).holds([0, np.nan]), "bias", "nan", 0),
    (lambda: en(1, np.inf, 1, 1), "assigned", "inf", 0),
    (lambda: en([[1], [2]], [[1], [2], [3]], 1, 1), "measured", "shape", None),
    (
        lambda: en([[1], [2]], [[1], [2]], [[0], [-1]], 1),
        "measured expanded uncertainty",
        "range",
        1,
    ),
    (
        lambda: en([[1], [2]], [[1], [2]], [[1, 1]], 1),
        "measured expanded uncertainty",
        "shape",
        None,
    ),
    (lambda: en([[1], [2]], [[1], [2]], [[1], [0]], 0), "expanded uncertainty", "range", 1),
    (lambda: satisfactory([[np.nan]]), "En", "nan", 0),
    (lambda: trend(DAYS, HOLE), "readings", "nan", 2),
    (lambda: trend(DAYS[:6], np.ones((5, 1))), "days", "shape", None),
    (lambda: trend(DAYS[:4], np.ones((4, 1))), "readings", "few", None),
    (lambda: trend([1, 2, np.nan, 4, 5], np.ones((5, 1))), "days", "nan", 2),
    (lambda: trend([2] * 5, np.ones((5, 1))), "days", "singular", None),
    (lambda: trend(DAYS, np.ones((10, 1)), confidence=1.0), "confidence", "range", None),
    (lambda: trend(DAYS, np.ones((10, 1)), outlier_risk=0.0), "outlier risk", "range", None),
    (lambda: control_limits(HOLE, baseline=5), "readings", "nan", 2),
    (lambda: control_limits(np.ones((6, 1)), baseline=5), "readings", "singular", None),
    (lambda: control_limits(np.ones((6, 1)), baseline=4), "baseline", "few", None),
    (lambda: control_limits(np.ones((6, 1)), baseline=7), "baseline", "few", None),
    (lambda: control_limits(np.ones((6, 1)), baseline=5.0), "baseline", "type", None),
    (lambda: control_limits(np.ones((6, 1)), baseline=True), "baseline", "type", None),
]


@pytest.mark.parametrize("number", range(len(REFUSED)))
def test_what_does_not_fit_is_refused_with_its_place(number):
    call, what, problem, row = REFUSED[number]
    with pytest.raises(DomainError) as caught:
        call()
    assert (caught.value.what, caught.value.problem, caught.value.row) == (what, problem, row)


def test_five_readings_are_enough():
    assert trend(DAYS[:5], READINGS).slope.shape == (3,)
    assert control_limits(READINGS, baseline=5).outside.shape == (5, 3)
    assert ciede2000(READINGS[0], READINGS[1])[0] > 0
