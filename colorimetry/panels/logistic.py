"""Logistic curves of acceptance against one measure, fitted many at once by Newton's method."""

from __future__ import annotations

import numpy as np
from scipy.special import expit

from colorimetry.arrays import Floats

_STEPS = 60
_TOLERANCE = 1e-10
# steps beyond this many logits overshoot; the likelihood is concave, so shorter ones arrive too
_LONGEST = 4.0


def inverse_information(x: Floats, weights: Floats, fitted: Floats) -> Floats:
    """Return inverse information matrices (m, 2, 2) of fitted probabilities (m, n) at x (n,)."""
    spread = weights * fitted * (1.0 - fitted)
    level = spread.sum(axis=1)
    cross = np.einsum("mn,n->m", spread, x)
    square = np.einsum("mn,n,n->m", spread, x, x)
    adjugate = np.array([[square, -cross], [-cross, level]])
    with np.errstate(divide="ignore", invalid="ignore"):  # a flat likelihood: such a curve is NaN
        inverse = adjugate / (level * square - cross**2)
    return np.moveaxis(inverse, 2, 0)


def fit_curves(x: Floats, accepted: Floats, weights: Floats) -> Floats:
    """Return intercepts and slopes (m, 2) of logit P(accept) for m sets of weights (m, n).

    x, accepted: (n,), x near unit scale; the caller makes sure that no set is separated. A curve
    that does not converge is NaN. Newton steps as in any logistic regression.
    """
    curves = np.zeros((weights.shape[0], 2))
    open_ = np.arange(weights.shape[0])
    for _ in range(_STEPS):
        part = weights[open_]
        fitted = expit(curves[open_, :1] + curves[open_, 1:] * x)
        residual = part * (accepted - fitted)
        gradient = np.array([residual.sum(axis=1), np.einsum("mn,n->m", residual, x)])
        step = np.einsum("mij,jm->mi", inverse_information(x, part, fitted), gradient)
        longest = np.abs(step).max(axis=1)
        curves[open_] += step * np.minimum(1.0, _LONGEST / np.maximum(longest, _LONGEST))[:, None]
        open_ = open_[longest > _TOLERANCE]
        if open_.size == 0:
            return curves
    curves[open_] = np.nan
    return curves
