"""Bootstrap intervals: the figures drawn, and what is said about them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from colorimetry.arrays import Floats
from colorimetry.errors import DomainError

FEWEST_RESAMPLES = 200
MOST_RESAMPLES = 100_000
# an interval from what is left of the resamples would be about other data than were seen
MOST_UNDEFINED = 0.05
OVER_UNITS = "percentile bootstrap, units resampled"


@dataclass(frozen=True)
class ResampledInterval:
    """A percentile interval; ``method`` says what was resampled.

    ``low`` and ``high`` are None where more than 5 % of the resamples have no value; ``undefined``
    counts those; they are left out of the percentiles. Units resampled: the interval speaks of
    other units and the same raters, and for few units it is too narrow (Hughes, arXiv:2210.13265,
    2022, on alpha).
    """

    low: float | None
    high: float | None
    confidence: float
    resamples: int
    seed: int
    undefined: int
    method: str = OVER_UNITS


def checked_confidence(confidence: float) -> float:
    """Return a confidence between 0.5 and 1 (both excluded)."""
    if not 0.5 < confidence < 1.0:
        raise DomainError("confidence", "range", detail="between 0.5 and 1 expected")
    return float(confidence)


def generator(seed: int, resamples: int) -> np.random.Generator:
    """Return the generator of a stated seed; DomainError for seeds and counts that do not fit."""
    if isinstance(seed, bool) or not isinstance(seed, int) or seed < 0:
        raise DomainError("seed", "type", detail="a whole number from 0 expected")
    if not FEWEST_RESAMPLES <= resamples <= MOST_RESAMPLES:
        detail = f"{FEWEST_RESAMPLES} to {MOST_RESAMPLES} expected"
        raise DomainError("resamples", "range", detail=detail)
    return np.random.default_rng(seed)


def unit_weights(units: int, *, seed: int, resamples: int) -> Floats:
    """Return how often each unit is drawn, (resamples, units), with replacement."""
    rng = generator(seed, resamples)
    return rng.multinomial(units, np.full(units, 1.0 / units), size=resamples).astype(np.float64)


def percentile_interval(
    drawn: Floats, *, confidence: float, seed: int, resamples: int, method: str = OVER_UNITS
) -> ResampledInterval:
    """Return the interval of drawn values (resamples,), NaN where a resample has no value."""
    defined = drawn[np.isfinite(drawn)]
    undefined = resamples - defined.size
    low = high = None
    if undefined <= MOST_UNDEFINED * resamples:
        tail = (1.0 - checked_confidence(confidence)) / 2.0
        low, high = (float(q) for q in np.quantile(defined, [tail, 1.0 - tail]))
    return ResampledInterval(low, high, confidence, resamples, seed, undefined, method)
