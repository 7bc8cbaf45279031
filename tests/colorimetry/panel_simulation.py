"""Invented panels: observers with thresholds of their own judge specimens that differ by more.

logit P(accept) = steepness x (threshold of observer - colour difference - scatter of specimen)
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
from scipy.optimize import brentq
from scipy.special import expit

Floats = npt.NDArray[np.float64]
MIDDLE = 1.2


@dataclass(frozen=True)
class Design:
    """A panel: sizes, scatter of thresholds and specimens (in colour difference), what is left out.

    ``skewed``: thresholds scatter lognormally; ``steepness_scatter``: of log steepness between
    observers; ``left_out``: share of decisions that were not taken; ``trials``: decisions on each.
    """

    specimens: int
    observers: int
    thresholds: float = 0.25
    scatter: float = 0.20
    differences: Literal["even", "gamma", "lognormal"] = "even"
    steepness: float = 4.0
    steepness_scatter: float = 0.0
    skewed: bool = False
    left_out: float = 0.0
    trials: int = 1

    def thresholds_of(self, normal: Floats) -> Floats:
        """Thresholds of observers from standard normal draws."""
        if self.skewed:
            spread = self.thresholds / MIDDLE
            return np.asarray(MIDDLE * np.exp(spread * normal - spread**2 / 2))
        return np.asarray(MIDDLE + self.thresholds * normal)

    def true_tolerance(self, acceptance: float) -> float:
        """The difference that all observers and specimens together accept with this share."""
        rng = np.random.default_rng(2007)
        thresholds = self.thresholds_of(rng.standard_normal(400_000))
        shift = thresholds - self.scatter * rng.standard_normal(400_000)
        steepness = self.steepness * np.exp(self.steepness_scatter * rng.standard_normal(400_000))

        def excess(difference: float) -> float:
            return float(expit(steepness * (shift - difference)).mean()) - acceptance

        return float(brentq(excess, -2.0, 8.0))


def judged(design: Design, seed: int) -> dict[str, npt.NDArray[np.generic]]:
    """One panel's decisions as keyword arguments of ``fit_tolerance``."""
    rng = np.random.default_rng(seed)
    s, o = design.specimens, design.observers
    if design.differences == "even":
        difference = rng.uniform(0.1, 2.5, s)
    elif design.differences == "gamma":
        difference = rng.gamma(2.0, 0.6, s)
    else:
        difference = np.exp(rng.normal(0.0, 0.6, s))
    thresholds = design.thresholds_of(rng.standard_normal(o))
    shown = difference + design.scatter * rng.standard_normal(s)
    steepness = design.steepness * np.exp(design.steepness_scatter * rng.standard_normal(o))
    share = expit(steepness * (thresholds - shown[:, np.newaxis]))
    accepted = rng.random((design.trials, s, o)) < share
    specimen, observer = np.indices(accepted.shape)[1:]
    kept = rng.random(accepted.shape) >= design.left_out
    return {
        "difference": difference[specimen[kept]],
        "accepted": accepted[kept],
        "specimens": specimen[kept],
        "observers": observer[kept],
    }
