"""The logistic tolerance: fit and covariance against a library, symmetries, refusals by id."""

from __future__ import annotations

import warnings
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from colorimetry import DomainError
from colorimetry.panels.judgements import FEWEST_OBSERVERS, FEWEST_SPECIMENS
from colorimetry.panels.refusal import FitRefused
from colorimetry.panels.tolerance import ToleranceFit, fit_tolerance
from colorimetry.panels.tolerance_resampling import resampled_tolerance
from tests.colorimetry.panel_simulation import Design, judged

NAN = np.nan
PANEL = judged(Design(40, 6), seed=7)


def changed(**columns: npt.ArrayLike) -> dict[str, Any]:
    """The panel with some columns replaced."""
    return PANEL | {name: np.asarray(value) for name, value in columns.items()}


def reference_fit(panel: dict[str, Any], by: str | None) -> Any:
    """The same curve by an independent library, clustered by a column."""
    design = sm.add_constant(panel["difference"])
    options: dict[str, Any] = {"disp": 0, "tol": 1e-12}
    if by is not None:
        groups = {"groups": panel[by], "use_correction": False}
        options |= {"cov_type": "cluster", "cov_kwds": groups}
    return sm.Logit(panel["accepted"].astype(float), design).fit(**options)


def test_curve_and_covariance_parts_agree_with_an_independent_library() -> None:
    fit = fit_tolerance(**PANEL)
    by_specimen, by_observer = reference_fit(PANEL, "specimens"), reference_fit(PANEL, "observers")
    assert (fit.intercept, fit.slope) == pytest.approx(tuple(by_specimen.params), abs=1e-7)
    # each way enlarged for its number of clusters
    assert fit.by_specimen == pytest.approx(by_specimen.cov_params() * 40 / 38, rel=1e-5)
    assert fit.by_observer == pytest.approx(by_observer.cov_params() * 6 / 5, rel=1e-5)
    assert (fit.specimens, fit.observers, fit.decisions) == (40, 6, 240)
    assert fit.rejections == int((~PANEL["accepted"]).sum())


def test_cells_are_the_decisions_where_each_is_taken_once() -> None:
    fit = fit_tolerance(**PANEL)
    panel = PANEL | {"cells": np.arange(240)}
    assert fit.by_cell == pytest.approx(reference_fit(panel, "cells").cov_params(), rel=1e-5)


def test_repeated_decisions_alike_change_nothing() -> None:
    # the same decisions entered twice are not twice the evidence: all clusters stay what they were
    once = fit_tolerance(**PANEL)
    twice = fit_tolerance(**{name: np.tile(column, 2) for name, column in PANEL.items()})
    assert (twice.intercept, twice.slope) == pytest.approx((once.intercept, once.slope))
    for part in ("by_specimen", "by_observer", "by_cell"):
        assert getattr(twice, part) == pytest.approx(getattr(once, part), rel=1e-8)
    assert twice.tolerance().high == pytest.approx(once.tolerance().high)


@pytest.mark.parametrize("acceptance", [0.3, 0.5, 0.8])
def test_the_curve_passes_the_tolerance_at_its_share(acceptance: float) -> None:
    fit = fit_tolerance(**PANEL)
    found = fit.tolerance(acceptance)
    assert float(fit.acceptance(found.tolerance)) == pytest.approx(acceptance)
    assert found.low < found.tolerance < found.high
    assert found.acceptance == acceptance


def test_limits_are_where_the_curve_differs_by_the_quantile() -> None:
    # at a limit, the fitted logit is the quantile times its standard error away (Fieller)
    fit = fit_tolerance(**PANEL)
    found = fit.tolerance(0.6, confidence=0.9)
    covariance = fit.by_specimen + fit.by_observer - fit.by_cell
    quantile = stats.t.ppf(0.95, found.degrees_of_freedom)
    for limit in (found.low, found.high):
        at = np.array([1.0, limit])
        away = fit.intercept + fit.slope * limit - np.log(0.6 / 0.4)
        assert abs(away) == pytest.approx(quantile * np.sqrt(at @ covariance @ at), rel=1e-9)


def test_degrees_of_freedom_are_those_of_satterthwaite_at_the_tolerance() -> None:
    fit = fit_tolerance(**judged(Design(40, 6, thresholds=0.2, scatter=0.4), seed=2))
    found = fit.tolerance(0.7)
    at = np.array([1.0, found.tolerance])
    observer, specimen, cell = (
        at @ part @ at for part in (fit.by_observer, fit.by_specimen, fit.by_cell)
    )
    doubt = observer**2 / 5 + specimen**2 / 38 + cell**2 / (5 * 38)
    expected = (observer + specimen - cell) ** 2 / doubt
    assert expected > 5.0
    assert found.degrees_of_freedom == pytest.approx(expected)


def test_degrees_of_freedom_lie_between_those_of_the_ways() -> None:
    observers = judged(Design(60, 8, thresholds=0.6, scatter=0.05), seed=1)
    assert 6.0 < fit_tolerance(**observers).tolerance().degrees_of_freedom < 9.0
    specimens = judged(Design(60, 8, thresholds=0.0, scatter=0.5), seed=1)
    assert fit_tolerance(**specimens).tolerance().degrees_of_freedom > 12.0


def test_where_nothing_is_left_of_the_sum_single_decisions_rule() -> None:
    fit = fit_tolerance(**PANEL)
    parts = {"by_specimen": fit.by_cell * 0.5, "by_observer": fit.by_cell * 0.5}
    found = ToleranceFit(**{**vars(fit), **parts}).tolerance()
    assert found.degrees_of_freedom == 38 * 5
    quantile = stats.t.ppf(0.975, 38 * 5)
    at = np.array([1.0, found.high])
    away = fit.intercept + fit.slope * found.high
    assert abs(away) == pytest.approx(quantile * np.sqrt(at @ fit.by_cell @ at), rel=1e-9)


def test_degrees_of_freedom_are_never_fewer_than_those_of_the_smaller_way() -> None:
    fit = fit_tolerance(**PANEL)
    parts = {"by_specimen": fit.by_cell * 0.9, "by_observer": fit.by_cell * 0.9}
    found = ToleranceFit(**{**vars(fit), **parts}).tolerance()
    # Satterthwaite: 0.8² / (0.9² / 5 + 0.9² / 38 + 1 / 190) = 3.4
    assert found.degrees_of_freedom == 5
    parts = {"by_specimen": fit.by_cell * 3.0, "by_observer": fit.by_cell * 1.0}
    found = ToleranceFit(**{**vars(fit), **parts}).tolerance()
    assert found.degrees_of_freedom == pytest.approx(9.0 / (1 / 5 + 9 / 38 + 1 / 190))


@settings(deadline=None)
@given(st.floats(0.6, 0.98), st.floats(0.2, 0.8))
def test_more_confidence_widens_and_more_acceptance_lowers(
    confidence: float, acceptance: float
) -> None:
    fit = fit_tolerance(**PANEL)
    found = fit.tolerance(acceptance, confidence=confidence)
    wider = fit.tolerance(acceptance, confidence=confidence + 0.01)
    assert wider.low < found.low < found.high < wider.high
    assert fit.tolerance(acceptance + 0.01).tolerance < found.tolerance


@given(st.integers(0, 10_000), st.floats(0.01, 100.0), st.randoms(use_true_random=False))
@settings(max_examples=25, deadline=None)
def test_order_labels_and_unit_do_not_matter(seed: int, unit: float, random: Any) -> None:
    panel = judged(Design(30, 5, left_out=0.2), seed=seed % 50)
    order = np.random.default_rng(seed).permutation(panel["accepted"].size)
    names = [f"person {i}" for i in range(5)]
    random.shuffle(names)
    again = {name: column[order] for name, column in panel.items()}
    again["observers"] = np.array(names)[again["observers"].astype(int)]
    again["difference"] = again["difference"] * unit
    try:
        first = fit_tolerance(**panel).tolerance()
    except FitRefused as refusal:
        with pytest.raises(FitRefused, match=refusal.id):
            fit_tolerance(**again).tolerance()
        return
    second = fit_tolerance(**again).tolerance()
    for part in ("tolerance", "low", "high"):
        assert getattr(second, part) == pytest.approx(unit * getattr(first, part), rel=1e-7)
    assert second.degrees_of_freedom == pytest.approx(first.degrees_of_freedom, rel=1e-7)


def refused(panel: dict[str, Any]) -> FitRefused:
    """The refusal of a panel."""
    with pytest.raises(FitRefused) as caught:
        fit_tolerance(**panel).tolerance()
    return caught.value


def test_few_specimens_and_observers_are_refused_with_their_numbers() -> None:
    refusal = refused(judged(Design(FEWEST_SPECIMENS - 1, 6), seed=1))
    assert (refusal.id, refusal.numbers) == ("few_specimens", {"found": 19, "needed": 20})
    assert str(refusal) == "few_specimens: found 19, needed 20"
    refusal = refused(judged(Design(40, FEWEST_OBSERVERS - 1), seed=1))
    assert (refusal.id, refusal.numbers) == ("few_observers", {"found": 3, "needed": 4})


def test_few_decisions_either_way_are_refused_with_their_numbers() -> None:
    few = np.arange(240) % 27 == 0
    assert int(few.sum()) == 9
    refusal = refused(changed(accepted=~few))
    assert (refusal.id, refusal.numbers) == ("few_rejections", {"found": 9, "needed": 10})
    refusal = refused(changed(accepted=few))
    assert (refusal.id, refusal.numbers) == ("few_acceptances", {"found": 9, "needed": 10})


def test_decisions_on_few_specimens_are_refused() -> None:
    largest = np.argsort(np.bincount(PANEL["specimens"], weights=PANEL["difference"]))[-4:]
    rejected = np.isin(PANEL["specimens"], largest) & (PANEL["observers"] < 5)
    refusal = refused(changed(accepted=~rejected))
    assert (refusal.id, refusal.numbers) == ("few_rejected_specimens", {"found": 4, "needed": 5})
    smallest = np.argsort(np.bincount(PANEL["specimens"], weights=PANEL["difference"]))[:4]
    accepted = np.isin(PANEL["specimens"], smallest) & (PANEL["observers"] < 5)
    assert refused(changed(accepted=accepted)).id == "few_accepted_specimens"


def test_complete_and_nearly_complete_separation_are_refused() -> None:
    border = float(np.median(PANEL["difference"]))
    complete = refused(changed(accepted=PANEL["difference"] <= border))
    assert complete.id == "separated"
    assert complete.numbers["largest_accepted"] < complete.numbers["smallest_rejected"]
    at_border = np.sort(np.unique(PANEL["difference"]))[20]
    tied = np.where(
        PANEL["difference"] == at_border, PANEL["observers"] < 3, PANEL["difference"] < at_border
    )
    nearly = refused(changed(accepted=tied))
    assert nearly.id == "separated"
    assert nearly.numbers["largest_accepted"] == nearly.numbers["smallest_rejected"]
    other_way = refused(changed(accepted=PANEL["difference"] > border))
    assert other_way.id == "separated"
    assert other_way.numbers["largest_rejected"] < other_way.numbers["smallest_accepted"]


def test_one_decision_over_the_border_is_no_separation() -> None:
    border = float(np.median(PANEL["difference"]))
    accepted = PANEL["difference"] <= border
    accepted[np.argmax(PANEL["difference"])] = True
    fit = fit_tolerance(**changed(accepted=accepted))
    assert fit.slope < 0


def test_equal_differences_are_separated_not_divided_by_zero() -> None:
    assert refused(changed(difference=np.full(240, 1.0))).id == "separated"


def test_acceptance_that_grows_with_the_difference_is_refused() -> None:
    hardly = np.random.default_rng(3).random(240) < 0.45 + 0.08 * PANEL["difference"]
    for accepted in (~PANEL["accepted"], hardly):
        refusal = refused(changed(accepted=accepted))
        assert refusal.id == "slope_not_negative"
        assert refusal.numbers["slope"] > 0


def test_decisions_that_hardly_depend_on_the_difference_have_no_bounded_interval() -> None:
    noise = np.random.default_rng(3).random(240) < 0.55 - 0.03 * PANEL["difference"]
    refusal = refused(changed(accepted=noise))
    assert refusal.id in ("slope_undetermined", "slope_not_negative", "extrapolated")
    weak = ToleranceFit(**{**vars(fit_tolerance(**PANEL)), "by_observer": np.eye(2) * 100.0})
    with pytest.raises(FitRefused) as caught:
        weak.tolerance()
    assert caught.value.id == "slope_undetermined"
    assert caught.value.numbers["half_width"] > abs(caught.value.numbers["slope"])


def test_a_tolerance_outside_the_differences_judged_is_refused() -> None:
    fit = fit_tolerance(**PANEL)
    with pytest.raises(FitRefused) as caught:
        fit.tolerance(0.9999)
    assert caught.value.id == "extrapolated"
    assert caught.value.numbers["tolerance"] < caught.value.numbers["smallest"]
    with pytest.raises(FitRefused, match="extrapolated"):
        fit.tolerance(0.0001)


@pytest.mark.parametrize(
    ("columns", "what", "problem"),
    [
        ({"difference": np.where(np.arange(240) == 3, NAN, 1.0)}, "colour difference", "nan"),
        ({"difference": np.where(np.arange(240) == 3, np.inf, 1.0)}, "colour difference", "inf"),
        ({"difference": np.where(np.arange(240) == 3, -0.1, 1.0)}, "difference", "range"),
        ({"accepted": np.where(np.arange(240) == 3, NAN, 1.0)}, "accepted", "nan"),
        ({"accepted": np.where(np.arange(240) == 3, 2.0, 1.0)}, "accepted", "range"),
        ({"observers": np.where(np.arange(240) == 3, NAN, 1.0)}, "observers", "nan"),
    ],
)
def test_the_row_of_a_value_that_is_none_is_named(
    columns: dict[str, npt.ArrayLike], what: str, problem: str
) -> None:
    with pytest.raises(DomainError) as caught:
        fit_tolerance(**changed(**columns))
    assert (caught.value.what, caught.value.problem, caught.value.row) == (what, problem, 3)


@pytest.mark.parametrize("column", ["difference", "accepted", "specimens", "observers"])
def test_columns_of_unlike_lengths_are_refused(column: str) -> None:
    with pytest.raises(DomainError) as caught:
        fit_tolerance(**changed(**{column: PANEL[column][:-1]}))
    assert caught.value.problem == "shape"


def test_shares_and_confidences_outside_are_refused() -> None:
    fit = fit_tolerance(**PANEL)
    for acceptance in (0.0, 1.0, NAN):
        with pytest.raises(DomainError, match="acceptance"):
            fit.tolerance(acceptance)
        with pytest.raises(DomainError, match="acceptance"):
            resampled_tolerance(**PANEL, seed=1, acceptance=acceptance)
    with pytest.raises(DomainError, match="confidence"):
        fit.tolerance(confidence=1.0)


def test_the_pigeonhole_interval_is_what_refitting_each_resample_gives() -> None:
    found = resampled_tolerance(**PANEL, seed=11, resamples=200, acceptance=0.6)
    rng = np.random.default_rng(11)
    specimens = rng.multinomial(40, np.full(40, 1 / 40), size=200)
    observers = rng.multinomial(6, np.full(6, 1 / 6), size=200)
    design = sm.add_constant(PANEL["difference"])
    tolerances = []
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for s, o in zip(specimens, observers, strict=True):
            weights = s[PANEL["specimens"]] * o[PANEL["observers"]]
            model = sm.GLM(
                PANEL["accepted"].astype(float),
                design,
                family=sm.families.Binomial(),
                freq_weights=weights,
            )
            intercept, slope = model.fit(tol=1e-12).params
            tolerances.append((np.log(0.6 / 0.4) - intercept) / slope)
    low, high = np.quantile(tolerances, [0.025, 0.975])
    assert (found.low, found.high) == pytest.approx((low, high), rel=1e-6)
    assert (found.seed, found.resamples, found.undefined) == (11, 200, 0)
    assert "pigeonhole" in found.method


def test_both_intervals_tell_much_the_same_where_observers_and_specimens_scatter() -> None:
    panel = judged(Design(60, 15, thresholds=0.4, scatter=0.4), seed=5)
    found = fit_tolerance(**panel).tolerance()
    drawn = resampled_tolerance(**panel, seed=5, resamples=500)
    assert drawn.low is not None and drawn.high is not None
    assert (drawn.high - drawn.low) / (found.high - found.low) == pytest.approx(1.0, abs=0.2)
    assert drawn == resampled_tolerance(**panel, seed=5, resamples=500)


def test_resamples_without_a_tolerance_are_counted() -> None:
    steep = Design(20, 4, steepness=12.0, thresholds=0.1, scatter=0.1)
    many = resampled_tolerance(**judged(steep, seed=1), seed=1, resamples=400)
    assert many.undefined > 0.05 * 400
    assert (many.low, many.high) == (None, None)
    few = resampled_tolerance(**judged(steep, seed=52), seed=1, resamples=400)
    assert 0 < few.undefined < 0.05 * 400
    assert few.low is not None and few.high is not None
    assert few.low < fit_tolerance(**judged(steep, seed=52)).tolerance().tolerance < few.high


@pytest.mark.parametrize("wrong", [np.nan, -1.0, np.inf, "a", None])
def test_acceptance_is_told_at_finite_differences_from_zero_only(wrong: Any) -> None:
    fit = ToleranceFit(3.0, -2.0, *np.zeros((3, 2, 2)), 20, 4, 80, 30, 0.1, 3.0)
    assert fit.acceptance([[0.0, 1.5]]).shape == (1, 2)
    with pytest.raises(DomainError, match="difference"):
        fit.acceptance(wrong)
