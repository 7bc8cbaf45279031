"""Cumulative (ordinal) model of grades with an effect for each observer; two grades: probit."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from typing import NamedTuple, get_args

import numpy as np
import numpy.typing as npt
from scipy.optimize import minimize

from colorimetry.arrays import Floats, finite_table, name, number, real_array
from colorimetry.errors import DomainError
from colorimetry.panels.cumulative import CumulativeModel, cumulative_model
from colorimetry.panels.judgements import label_codes
from colorimetry.panels.links import Link, share_below
from colorimetry.panels.refusal import FitRefused
from colorimetry.panels.separation import unbounded_direction

_FLAT = 1e-6  # of the gradient, in log-likelihood per unit of a parameter
_ROUNDING = 4.0 * float(np.finfo(np.float64).eps)
MOST_GRADES = 20


@dataclass(frozen=True)
class OrdinalFit:
    """P(grade <= k) = F(threshold_k - x coefficients - effect of the observer).

    A positive coefficient or effect goes with higher grades. Effects sum to zero, so thresholds and
    coefficients are those of the average observer of this panel. ``covariance`` belongs to
    (thresholds, coefficients, effects) in that order: the inverse of the observed information, of
    the penalised likelihood where ``ridge`` is positive.
    """

    grades: tuple[float, ...]
    observers: tuple[Hashable, ...]
    thresholds: Floats
    coefficients: Floats
    effects: Floats
    covariance: Floats
    log_likelihood: float
    judgements: int
    link: Link
    ridge: float

    def standard_errors(self) -> Floats:
        """Return standard errors of (thresholds, coefficients, effects)."""
        return np.sqrt(np.diag(self.covariance))

    def probabilities(self, x: npt.ArrayLike, observer: Hashable | None = None) -> Floats:
        """Return the probability of each grade (n, grades) at x (n, p) for an observer or, None,
        the average one. DomainError for an observer without an effect and for x as in the fit.
        """
        table = _predictors(x, self.coefficients.size, None)
        score = np.einsum("np,p->n", table, self.coefficients)
        if observer is not None:
            if observer not in self.observers:
                raise DomainError("observer", "range", detail=f"no effect of {observer!r} is known")
            score = score + self.effects[self.observers.index(observer)]
        below = share_below(self.thresholds - score[:, np.newaxis], self.link)
        edges = np.zeros((score.size, 1))
        return np.diff(np.hstack([edges, below, edges + 1.0]), axis=1)


def _predictors(x: npt.ArrayLike | None, columns: int | None, rows: int | None) -> Floats:
    """Return predictors (n, p), p = 0 where there are none."""
    if x is None:
        return np.zeros((rows or 1, 0))
    raw = real_array(x, "predictors")
    if columns == 0 and raw.ndim == 2 and raw.shape[1] == 0:
        return raw
    table = finite_table(raw[:, np.newaxis] if raw.ndim == 1 else raw, "predictors", columns)
    if rows is not None and table.shape[0] != rows:
        detail = f"{table.shape[0]} rows for {rows} judgements"
        raise DomainError("predictors", "shape", detail=detail)
    return table


def _grade_codes(grades: npt.ArrayLike) -> tuple[Floats, npt.NDArray[np.intp]]:
    """Return the distinct grades in order and each judgement's place among them."""
    column = finite_table(np.atleast_1d(real_array(grades, "grades"))[..., np.newaxis], "grades", 1)
    values, codes = np.unique(column[:, 0], return_inverse=True)
    if values.size < 2:
        raise FitRefused("one_grade", {"judgements": codes.size})
    if values.size > MOST_GRADES:
        detail = f"more than {MOST_GRADES} distinct grades"
        raise DomainError("grades", "range", detail=detail)
    return values, codes


class _Standardised(NamedTuple):
    """Predictors (n, p) as values = (x - centre) / scale, in -1 to 1; constants become 0."""

    values: Floats
    centre: Floats
    scale: Floats


def _standardised(table: Floats) -> _Standardised:
    """Centre and scale predictors: a large offset would drown their differences."""
    if not table.shape[1]:
        return _Standardised(table, np.zeros(0), np.ones(0))
    low, high = table.min(axis=0), table.max(axis=0)
    centre, scale = low / 2.0 + high / 2.0, high / 2.0 - low / 2.0
    constant = scale <= _ROUNDING * np.maximum(np.abs(low), np.abs(high))
    scale = np.where(constant, 1.0, scale)
    return _Standardised(np.where(constant, 0.0, (table - centre) / scale), centre, scale)


def _refuse_hopeless(model: CumulativeModel, x: Floats, effects: Floats) -> None:
    """Raise FitRefused where predictors and observers cannot be told apart or grades separate."""
    free = np.diag(model.penalty) == 0.0
    # a penalised effect cannot run away, nor be mistaken for a predictor: only the others count
    told_apart = effects[:, : int(free.sum()) - model.thresholds - x.shape[1]]
    design = np.hstack([np.ones((x.shape[0], 1)), x, told_apart])
    scale = np.abs(design).max(axis=0)
    rank = int(np.linalg.matrix_rank(design / np.where(scale > 0.0, scale, 1.0)))
    if rank < design.shape[1]:
        raise FitRefused("not_identified", {"columns": design.shape[1], "rank": rank})
    parameters = model.upper.shape[1]
    if x.shape[0] <= parameters:
        raise FitRefused("few_judgements", {"found": x.shape[0], "needed": parameters + 1})
    if unbounded_direction(model.upper[:, free], model.lower[:, free]) is not None:
        figures = {"judgements": x.shape[0], "parameters": int(free.sum())}
        raise FitRefused("separated", figures)


def _start(codes: npt.NDArray[np.intp], model: CumulativeModel) -> Floats:
    """Return thresholds from the shares of the grades on the scale of the link, all else zero."""
    share = np.cumsum(np.bincount(codes))[:-1] / codes.size
    parameters = np.zeros(model.upper.shape[1])
    parameters[: model.thresholds] = np.log(share / (1.0 - share)) * (
        1.0 if model.link == "logit" else 0.6
    )
    return parameters


def fit_grades(
    grades: npt.ArrayLike,
    *,
    observers: npt.ArrayLike,
    x: npt.ArrayLike | None = None,
    link: Link = "probit",
    ridge: float = 0.0,
) -> OrdinalFit:
    """Return the cumulative model of n grades by maximum likelihood.

    grades: (n,) numbers in the order of the scale, distances without meaning; grades that nobody
    gave are not part of the model. observers: (n,) labels, one fixed effect each, summing to zero.
    x: (n, p) or (n,) predictors of the specimens, e.g. colour difference; None for none. ridge: 0
    or the weight of half the squared effects taken from the log-likelihood (a normal prior of
    variance 1 / ridge); it draws effects to zero and is stated in the result.
    Raises DomainError for NaN, shapes, links and ridge; FitRefused by id: "one_grade",
    "few_judgements", "not_identified" (predictors that observers explain), "separated" (an estimate
    would be infinite), "not_converged".
    Source: McCullagh, J. R. Stat. Soc. B 42:109-142 (1980) (from memory; checked against an
    independent library).
    """
    name(link, "link", get_args(Link))
    number(ridge, "ridge", 0.0)
    values, codes = _grade_codes(grades)
    names, who = label_codes(observers, "observers", codes.size)
    contrasts = np.vstack([np.eye(names.size - 1), -np.ones((1, names.size - 1))])
    table, effects = _predictors(x, None, codes.size), contrasts[who]
    standard = _standardised(table)
    model = cumulative_model(codes, standard.values, effects, ridge, link)
    _refuse_hopeless(model, standard.values, effects)
    found = minimize(
        model.loss,
        _start(codes, model),
        jac=model.gradient,
        hess=model.information,
        method="trust-exact",
        options={"gtol": _FLAT, "maxiter": 500},
    )
    if not np.abs(model.gradient(found.x)).max() <= 10 * _FLAT:
        raise FitRefused("not_converged", {"gradient": float(np.abs(found.jac).max())})
    return _assembled(model, found.x, values, names, standard, ridge)


def _assembled(
    model: CumulativeModel,
    parameters: Floats,
    values: Floats,
    names: npt.NDArray[np.generic],
    standard: _Standardised,
    ridge: float,
) -> OrdinalFit:
    """Return the fit in the units of the predictors, with the last observer's effect."""
    k, p, m = model.thresholds, standard.scale.size, names.size
    spread = np.zeros((k + p + m, parameters.size))
    spread[:k, :k] = np.eye(k)
    spread[k : k + p, k : k + p] = np.diag(1.0 / standard.scale)
    spread[:k, k : k + p] = standard.centre / standard.scale
    spread[k + p : -1, k + p :] = np.eye(m - 1)
    spread[-1, k + p :] = -1.0
    everything = np.einsum("ij,j->i", spread, parameters)
    inverse = np.linalg.inv(model.information(parameters))
    log_likelihood = float(model.inside(parameters).log_share.sum())
    return OrdinalFit(
        grades=tuple(values.tolist()),
        observers=tuple(names.tolist()),
        thresholds=everything[:k],
        coefficients=everything[k : k + p],
        effects=everything[k + p :],
        covariance=np.einsum("ij,jk,lk->il", spread, inverse, spread),
        log_likelihood=log_likelihood,
        judgements=model.upper.shape[0],
        link=model.link,
        ridge=float(ridge),
    )
