"""The ordinal model of grades: against a library, its own derivatives, and what it refuses."""

from __future__ import annotations

import warnings
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import approx_fprime
from scipy.special import expit, ndtr
from statsmodels.miscmodels.ordinal_model import OrderedModel

from colorimetry import DomainError
from colorimetry.panels.cumulative import cumulative_model
from colorimetry.panels.links import between
from colorimetry.panels.ordinal import OrdinalFit, fit_grades
from colorimetry.panels.refusal import FitRefused
from colorimetry.panels.separation import unbounded_direction

NAN = np.nan
LINKS = ("probit", "logit")
EFFECTS = np.array([-0.5, 0.1, 0.4])


def graded(
    seed: int = 1, specimens: int = 40, grades: int = 4
) -> dict[str, npt.NDArray[np.generic]]:
    """Grades of three observers on specimens of known differences, drawn from a probit model."""
    rng = np.random.default_rng(seed)
    difference = np.repeat(rng.uniform(0.0, 3.0, specimens), 3)
    observer = np.tile(np.arange(3), specimens)
    latent = 1.1 * difference + EFFECTS[observer] + rng.standard_normal(observer.size)
    edges = np.linspace(0.6, 2.9, grades - 1)
    return {
        "grades": 1.0 + np.searchsorted(edges, latent),
        "observers": np.array(["ann", "bo", "cy"])[observer],
        "x": difference,
    }


PANEL = graded()


def library_fit(panel: dict[str, Any], link: str) -> Any:
    """The same model by an independent library, observers as dummies of the first two."""
    dummies = [(panel["observers"] == name).astype(float) for name in ("ann", "bo")]
    design = np.column_stack([panel["x"], *dummies])
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        model = OrderedModel(panel["grades"], design, distr=link)
        return model, model.fit(method="bfgs", disp=0, gtol=1e-8, maxiter=500)


@pytest.mark.parametrize("link", LINKS)
@pytest.mark.parametrize("seed", [1, 2])
def test_estimates_and_errors_agree_with_an_independent_library(link: str, seed: int) -> None:
    panel = graded(seed)
    ours = fit_grades(**panel, link=link)  # type: ignore[arg-type]
    model, theirs = library_fit(panel, link)
    assert ours.log_likelihood == pytest.approx(theirs.llf, abs=1e-6)
    assert ours.coefficients[0] == pytest.approx(theirs.params[0], abs=1e-4)
    ann, bo = theirs.params[1:3]
    mean = (ann + bo) / 3
    assert ours.effects == pytest.approx([ann - mean, bo - mean, -mean], abs=1e-4)
    thresholds = model.transform_threshold_params(theirs.params)[1:-1]
    assert ours.thresholds == pytest.approx(thresholds - mean, abs=1e-4)
    assert ours.standard_errors()[3] == pytest.approx(theirs.bse[0], rel=1e-3)
    # difference of two effects: the dummy's own standard error
    d = np.array([1.0, 0.0, -1.0])
    error = np.sqrt(d @ ours.covariance[4:, 4:] @ d)
    assert error == pytest.approx(theirs.bse[1], rel=1e-3)
    assert ours.effects.sum() == pytest.approx(0.0, abs=1e-12)
    assert ours.grades == (1.0, 2.0, 3.0, 4.0)
    assert ours.observers == ("ann", "bo", "cy")
    assert (ours.judgements, ours.link, ours.ridge) == (120, link, 0.0)


def test_two_grades_are_the_binary_probit_model() -> None:
    panel = graded(grades=2)
    ours = fit_grades(**panel)
    dummies = [(panel["observers"] == name).astype(float) for name in ("ann", "bo", "cy")]
    design = np.column_stack([panel["x"], *dummies])
    theirs = sm.Probit(panel["grades"] == 2.0, design).fit(disp=0, tol=1e-12)
    assert ours.coefficients[0] == pytest.approx(theirs.params[0], abs=1e-6)
    assert ours.thresholds[0] == pytest.approx(-theirs.params[1:].mean(), abs=1e-6)
    assert ours.effects == pytest.approx(theirs.params[1:] - theirs.params[1:].mean(), abs=1e-6)
    assert ours.standard_errors()[1] == pytest.approx(theirs.bse[0], rel=1e-5)


@pytest.mark.parametrize("link", LINKS)
@pytest.mark.parametrize("ridge", [0.0, 2.5])
def test_gradient_and_information_are_the_derivatives_of_the_loss(link: str, ridge: float) -> None:
    _, codes = np.unique(PANEL["grades"], return_inverse=True)
    effects = np.vstack([np.eye(2), [[-1.0, -1.0]]])[np.tile(np.arange(3), 40)]
    x = PANEL["x"].astype(float)[:, np.newaxis]
    model = cumulative_model(codes, x, effects, ridge, link)  # type: ignore[arg-type]
    at = np.array([0.5, 1.4, 2.9, 0.8, -0.3, 0.6])
    slope = approx_fprime(at, model.loss, 1e-7)
    assert model.gradient(at) == pytest.approx(slope, abs=1e-3)
    curve = np.array(
        [approx_fprime(at, lambda p, i=i: model.gradient(p)[i], 1e-7) for i in range(6)]
    )
    assert model.information(at) == pytest.approx(curve, rel=1e-4, abs=1e-3)
    assert model.loss(np.array([1.4, 0.5, 2.9, 0.8, 0.0, 0.0])) == np.inf


@pytest.mark.parametrize("link", LINKS)
def test_shares_between_bounds_keep_their_digits_in_both_tails(link: str) -> None:
    lower, upper = np.array([-0.5, -9.0, 8.0, 0.2]), np.array([0.7, -8.0, 9.0, 0.20001])
    found = between(lower, upper, link)  # type: ignore[arg-type]
    mirrored = between(-upper, -lower, link)  # type: ignore[arg-type]
    assert mirrored.log_share == pytest.approx(found.log_share, rel=1e-12)
    assert mirrored.at_upper == pytest.approx(found.at_lower, rel=1e-9)
    assert mirrored.upper_slope == pytest.approx(-found.lower_slope, rel=1e-9)
    below = ndtr if link == "probit" else expit
    direct = below(upper[[0, 1, 3]]) - below(lower[[0, 1, 3]])
    assert np.exp(found.log_share[[0, 1, 3]]) == pytest.approx(direct, rel=1e-9)


def test_known_effects_are_found_again() -> None:
    fit = fit_grades(**graded(seed=5, specimens=3000))
    assert fit.coefficients[0] == pytest.approx(1.1, abs=0.05)
    assert fit.effects == pytest.approx(EFFECTS, abs=0.05)
    assert fit.thresholds == pytest.approx(np.linspace(0.6, 2.9, 3), abs=0.1)


def test_probabilities_sum_to_one_and_follow_the_model() -> None:
    fit = fit_grades(**PANEL)
    x = np.array([0.0, 1.0, 2.5])
    shares = fit.probabilities(x)
    assert shares.shape == (3, 4)
    assert shares.sum(axis=1) == pytest.approx([1.0, 1.0, 1.0])
    assert shares[1, 0] == pytest.approx(ndtr(fit.thresholds[0] - fit.coefficients[0]))
    low, high = fit.probabilities(x, observer="ann"), fit.probabilities(x, observer="cy")
    assert (low[:, 0] > shares[:, 0]).all() and (high[:, -1] > shares[:, -1]).all()
    with pytest.raises(DomainError, match="dee"):
        fit.probabilities(x, observer="dee")


def test_without_predictors_and_with_one_observer_thresholds_are_the_shares() -> None:
    grades = np.repeat([1.0, 2.0, 3.0], [10, 30, 60])
    fit = fit_grades(grades, observers=np.full(100, "ann"))
    assert fit.thresholds == pytest.approx([-1.2815516, -0.2533471], abs=1e-5)
    assert fit.effects.tolist() == [0.0]
    assert fit.probabilities(np.empty((1, 0)))[0] == pytest.approx([0.1, 0.3, 0.6], abs=1e-6)


def test_a_ridge_draws_effects_to_zero_and_is_stated() -> None:
    free = fit_grades(**PANEL)
    some, much = (fit_grades(**PANEL, ridge=ridge) for ridge in (10.0, 1e6))
    assert np.abs(some.effects).max() < np.abs(free.effects).max()
    assert np.abs(much.effects).max() < 1e-3
    assert some.ridge == 10.0
    assert some.log_likelihood < free.log_likelihood
    assert (some.standard_errors()[4:] < free.standard_errors()[4:]).all()


@given(st.integers(0, 500), st.floats(0.01, 100.0))
@settings(max_examples=20, deadline=None)
def test_order_names_and_units_do_not_matter(seed: int, unit: float) -> None:
    panel = graded(seed, specimens=30)
    order = np.random.default_rng(seed).permutation(panel["grades"].size)
    again = {name: column[order] for name, column in panel.items()}
    again["grades"] = np.exp(again["grades"].astype(float))  # any rising renaming of grades
    again["x"] = again["x"].astype(float) * unit
    try:
        first = fit_grades(**panel)
    except FitRefused as refusal:
        with pytest.raises(FitRefused, match=refusal.id):
            fit_grades(**again)
        return
    second = fit_grades(**again)
    assert second.thresholds == pytest.approx(first.thresholds, abs=1e-4)
    assert second.effects == pytest.approx(first.effects, abs=1e-4)
    assert unit * second.coefficients == pytest.approx(first.coefficients, abs=1e-4)


@given(st.integers(0, 500), st.sampled_from(LINKS))
@settings(max_examples=20, deadline=None)
def test_turning_the_scale_turns_all_signs(seed: int, link: str) -> None:
    panel = graded(seed, specimens=30)
    try:
        first = fit_grades(**panel, link=link)  # type: ignore[arg-type]
    except FitRefused:
        return
    turned = fit_grades(**panel | {"grades": -panel["grades"].astype(float)}, link=link)  # type: ignore[arg-type]
    assert turned.thresholds == pytest.approx(-first.thresholds[::-1], abs=1e-4)
    assert turned.coefficients == pytest.approx(-first.coefficients, abs=1e-4)
    assert turned.log_likelihood == pytest.approx(first.log_likelihood, abs=1e-6)


def refused(**panel: Any) -> FitRefused:
    """The refusal of a panel."""
    with pytest.raises(FitRefused) as caught:
        fit_grades(**panel)
    return caught.value


def test_one_grade_alone_is_refused() -> None:
    refusal = refused(grades=[2.0, 2.0], observers=["ann", "bo"])
    assert (refusal.id, refusal.numbers) == ("one_grade", {"judgements": 2})


def test_grades_that_a_threshold_divides_are_refused() -> None:
    x = PANEL["x"].astype(float)
    assert refused(**PANEL | {"grades": 1.0 + (x > 1.0) + (x > 2.0)}).id == "separated"
    # one observer who gives the best grade alone has an infinite effect, but not under a ridge
    grades = np.where(PANEL["observers"] == "cy", 4.0, PANEL["grades"])
    panel = PANEL | {"grades": grades}
    refusal = refused(**panel)
    assert (refusal.id, refusal.numbers) == ("separated", {"judgements": 120, "parameters": 6})
    assert fit_grades(**panel, ridge=1.0).effects[2] > 1.0


def test_predictors_that_observers_explain_are_refused() -> None:
    of_observer = np.where(PANEL["observers"] == "ann", 1.0, 0.0)
    x = np.column_stack([PANEL["x"], of_observer])
    refusal = refused(**PANEL | {"x": x})
    assert (refusal.id, refusal.numbers) == ("not_identified", {"columns": 5, "rank": 4})
    constant = np.column_stack([PANEL["x"], np.ones(120)])
    assert refused(**PANEL | {"x": constant}).id == "not_identified"
    assert refused(**PANEL | {"x": constant}, ridge=1.0).id == "not_identified"
    assert isinstance(fit_grades(**PANEL | {"x": x}, ridge=1.0), OrdinalFit)


def test_fewer_judgements_than_parameters_are_refused() -> None:
    refusal = refused(grades=[1, 2, 3, 1], observers=["ann", "bo", "ann", "bo"], x=[1, 3, 2, 5])
    assert (refusal.id, refusal.numbers) == ("few_judgements", {"found": 4, "needed": 5})


@pytest.mark.parametrize(
    ("panel", "what", "problem"),
    [
        ({"grades": np.where(np.arange(120) == 3, NAN, 1.0)}, "grades", "nan"),
        ({"grades": np.arange(120.0)}, "grades", "range"),
        ({"observers": PANEL["observers"][:-1]}, "observers", "shape"),
        ({"x": np.where(np.arange(120) == 3, np.inf, 1.0)}, "predictors", "inf"),
        ({"x": np.ones(119)}, "predictors", "shape"),
        ({"link": "cauchit"}, "link", "range"),
        ({"ridge": -1.0}, "ridge", "range"),
        ({"ridge": NAN}, "ridge", "range"),
    ],
)
def test_what_is_no_panel_is_refused(panel: dict[str, Any], what: str, problem: str) -> None:
    with pytest.raises(DomainError) as caught:
        fit_grades(**PANEL | panel)
    assert (caught.value.what, caught.value.problem) == (what, problem)
    if problem in ("nan", "inf"):
        assert caught.value.row == 3


def test_a_direction_without_bound_is_found_only_where_data_divide() -> None:
    # decisions at -1 (no) and +1 (yes): upper bound of "no", lower bound of "yes" on (threshold, x)
    no, yes = np.array([1.0, 1.0]), np.array([1.0, -1.0])
    upper, lower = np.array([no, no * 0]), np.array([yes * 0, yes])
    direction = unbounded_direction(upper, lower)
    assert direction is not None
    assert upper[0] @ direction >= 0 >= lower[1] @ direction
    mixed_upper = np.vstack([upper, [[1.0, -1.0]], [[0.0, 0.0]]])
    mixed_lower = np.vstack([lower, [[0.0, 0.0]], [[1.0, 1.0]]])
    assert unbounded_direction(mixed_upper, mixed_lower) is None


@pytest.mark.parametrize("offset", [738_000.0, 1e6, -3e7])
def test_predictors_of_large_offset_have_the_coefficients_of_those_without(offset: float) -> None:
    step = np.arange(40) / 64.0  # exact beside the offset
    grades = np.array([1, 1, 2, 1, 2, 2, 1, 3, 2, 3] * 4)[np.argsort(np.arange(40) % 7)]
    observers = np.tile(["ann", "bo"], 20)
    near = fit_grades(grades, observers=observers, x=step)
    far = fit_grades(grades, observers=observers, x=offset + step)
    assert far.coefficients == pytest.approx(near.coefficients, rel=1e-8)
    assert far.log_likelihood == pytest.approx(near.log_likelihood, rel=1e-12)
    assert far.standard_errors()[2:] == pytest.approx(near.standard_errors()[2:], rel=1e-6)
    shifted = near.thresholds + offset * near.coefficients[0]
    assert far.thresholds == pytest.approx(shifted, rel=1e-7)
    at = far.probabilities(offset + step), near.probabilities(step)
    assert at[0] == pytest.approx(at[1], abs=1e-6)


@pytest.mark.parametrize(
    "x", [738_000.0 + np.arange(40) / 24.0, 1e6 + 1e-3 * np.arange(40), 1e6 + 1e-5 * np.arange(40)]
)
def test_a_large_offset_never_makes_grades_separated(x: npt.NDArray[np.float64]) -> None:
    rng = np.random.default_rng(4)
    grades, observers = rng.integers(1, 4, 40), np.tile(["ann", "bo"], 20)
    near = fit_grades(grades, observers=observers, x=x - x[0])
    far = fit_grades(grades, observers=observers, x=x)
    assert far.coefficients == pytest.approx(near.coefficients, rel=1e-6)


def test_a_predictor_that_varies_by_rounding_alone_is_not_identified() -> None:
    x = np.where(np.arange(120) % 2 == 0, 0.1, np.nextafter(0.1, 1.0))
    assert refused(**PANEL | {"x": x}).id == "not_identified"
