"""The likelihood of a cumulative model: its loss, gradient and observed information."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats
from colorimetry.panels.links import INFINITE, Interval, Link, between
from colorimetry.panels.refusal import FitRefused


@dataclass(frozen=True)
class CumulativeModel:
    """Rows that give each judgement's bounds from the parameters, and the penalty.

    Parameters: thresholds, coefficients, effects of all observers but the last.
    """

    upper: Floats
    lower: Floats
    upper_fixed: Floats
    lower_fixed: Floats
    penalty: Floats
    thresholds: int
    link: Link

    def interval(self, parameters: Floats) -> Interval | None:
        """Return the judgements' intervals, None where thresholds are out of order."""
        if (np.diff(parameters[: self.thresholds]) <= 0.0).any():
            return None
        bounds = (
            np.einsum("np,p->n", rows, parameters) + fixed
            for rows, fixed in ((self.lower, self.lower_fixed), (self.upper, self.upper_fixed))
        )
        limit = INFINITE[self.link]
        low, high = (np.clip(bound, -limit, limit) for bound in bounds)
        return between(low, high, self.link) if (low < high).all() else None

    def loss(self, parameters: Floats) -> float:
        """Return the negative (penalised) log-likelihood, infinite out of order."""
        found = self.interval(parameters)
        if found is None:
            return np.inf
        penalty = 0.5 * float(np.einsum("p,pq,q->", parameters, self.penalty, parameters))
        return penalty - float(found.log_share.sum())

    def gradient(self, parameters: Floats) -> Floats:
        """Return the gradient of the loss."""
        found = self.inside(parameters)
        rise = np.einsum("n,np->p", found.at_upper, self.upper)
        rise = rise - np.einsum("n,np->p", found.at_lower, self.lower)
        slope: Floats = np.einsum("pq,q->p", self.penalty, parameters) - rise
        return slope

    def information(self, parameters: Floats) -> Floats:
        """Return the second derivatives of the loss: the observed information."""
        found = self.inside(parameters)
        parts = (
            (self.upper, self.upper, found.at_upper**2 - found.upper_slope),
            (self.lower, self.lower, found.at_lower**2 + found.lower_slope),
            (self.upper, self.lower, -found.at_upper * found.at_lower),
            (self.lower, self.upper, -found.at_upper * found.at_lower),
        )
        total = self.penalty.copy()
        for left, right, weight in parts:
            total += np.einsum("n,np,nq->pq", weight, left, right)
        return total

    def inside(self, parameters: Floats) -> Interval:
        """Return the intervals where the caller has made sure that they exist."""
        found = self.interval(parameters)
        if found is None:
            raise FitRefused("not_converged", {"parameters": parameters.size})
        return found


def cumulative_model(
    codes: npt.NDArray[np.intp], x: Floats, effects: Floats, ridge: float, link: Link
) -> CumulativeModel:
    """Return the model of coded grades, predictors (n, p) and effect columns (n, observers - 1)."""
    thresholds = int(codes.max())
    score = np.hstack([x, effects])
    bounds, fixed = [], []
    for edge, open_side in ((codes, codes == thresholds), (codes - 1, codes == 0)):
        rows = np.hstack([np.eye(thresholds)[np.clip(edge, 0, thresholds - 1)], -score])
        rows[open_side] = 0.0
        bounds.append(rows)
        sign = 1.0 if edge is codes else -1.0
        fixed.append(np.where(open_side, sign * INFINITE[link], 0.0))
    # the ridge is on all effects, the last being minus the sum of the others
    count = effects.shape[1]
    penalty = np.zeros((bounds[0].shape[1],) * 2)
    start = thresholds + x.shape[1]
    penalty[start:, start:] = ridge * (np.eye(count) + np.ones((count, count)))
    return CumulativeModel(bounds[0], bounds[1], fixed[0], fixed[1], penalty, thresholds, link)
