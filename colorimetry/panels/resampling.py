"""Bootstrap intervals: the figures drawn, and what is said about them."""

from __future__ import annotations

from dataclasses import dataclass
from numbers import Integral
from statistics import NormalDist

import numpy as np

from colorimetry.arrays import Floats, number
from colorimetry.errors import DomainError

FEWEST_RESAMPLES = 200
MOST_RESAMPLES = 20_000
MOST_UNITS = 5000
FEWEST_UNITS = 2  # drawn again, a single unit is always itself: no width, whatever was seen
# an interval from what is left of the resamples would be about other data than were seen
MOST_UNDEFINED = 0.05
OVER_UNITS = "bias-corrected and accelerated (BCa) bootstrap, units resampled"


@dataclass(frozen=True)
class ResampledInterval:
    """An interval from resampling; ``method`` says of what, and how its ends were taken.

    ``low`` and ``high`` are None where more than 5 % of the resamples have no value; ``undefined``
    counts those; they are left out of the percentiles. Units resampled: the interval speaks of
    other units and the same raters, and of fewer than ``FEWEST_UNITS`` there is none.
    """

    low: float | None
    high: float | None
    confidence: float
    resamples: int
    seed: int
    undefined: int
    method: str


def checked_confidence(confidence: float) -> float:
    """Return a confidence between 0.5 and 1 (both excluded)."""
    if not 0.5 < number(confidence, "confidence") < 1.0:
        raise DomainError("confidence", "range", detail="between 0.5 and 1 expected")
    return float(confidence)


def generator(seed: int, resamples: int) -> np.random.Generator:
    """Return the generator of a stated seed; DomainError for seeds and counts that do not fit."""
    if isinstance(seed, bool) or not isinstance(seed, int) or seed < 0:
        raise DomainError("seed", "type", detail="a whole number from 0 expected")
    if isinstance(resamples, bool) or not isinstance(resamples, Integral):
        raise DomainError("resamples", "type", detail="a whole number expected")
    if not FEWEST_RESAMPLES <= resamples <= MOST_RESAMPLES:
        detail = f"{FEWEST_RESAMPLES} to {MOST_RESAMPLES} expected"
        raise DomainError("resamples", "range", detail=detail)
    return np.random.default_rng(seed)


def unit_weights(units: int, *, seed: int, resamples: int) -> Floats:
    """Return how often each unit is drawn, (resamples, units), with replacement."""
    rng = generator(seed, resamples)
    if units > MOST_UNITS:
        raise DomainError("units", "range", detail=f"more than {MOST_UNITS} to resample")
    return rng.multinomial(units, np.full(units, 1.0 / units), size=resamples).astype(np.float64)


def without_each(units: int) -> Floats:
    """Return weights that leave out one unit each, (units, units); none for a single unit."""
    return 1.0 - np.eye(units) if units > 1 else np.empty((0, units))


def percentile_interval(
    drawn: Floats, *, confidence: float, seed: int, resamples: int, method: str
) -> ResampledInterval:
    """Return the percentile interval of drawn values (resamples,), NaN where there is no value."""
    tail = (1.0 - checked_confidence(confidence)) / 2.0
    ends = _quantiles(drawn, (tail, 1.0 - tail))
    undefined = int(np.isnan(drawn).sum())
    return ResampledInterval(*ends, confidence, resamples, seed, undefined, method)


def bca_interval(
    drawn: Floats,
    *,
    estimate: float,
    left_out: Floats,
    times: Floats,
    confidence: float,
    seed: int,
) -> ResampledInterval:
    """Return the bias-corrected and accelerated interval of drawn values (resamples,).

    estimate: the value of all units (NaN: undefined); left_out: values with one unit left out,
    (k,), each standing for ``times`` (k,) units alike. Plain percentiles hold the agreement among
    few units too rarely (tests/colorimetry/test_panels_agreement.py).
    Source: Efron, J. Am. Stat. Assoc. 82:171-185 (1987) (from memory; checked against an
    independent library).
    """
    tail = (1.0 - checked_confidence(confidence)) / 2.0
    defined = drawn[np.isfinite(drawn)]
    ends: tuple[float | None, float | None] = (None, None)
    if np.isfinite(estimate) and defined.size and times.sum() >= FEWEST_UNITS:
        below = float(np.mean(defined < estimate) + np.mean(defined == estimate) / 2.0)
        shares = _accelerated(below, _acceleration(left_out, times), tail, defined.size)
        if shares is not None:
            ends = _quantiles(drawn, shares)
    undefined = drawn.size - defined.size
    return ResampledInterval(*ends, confidence, drawn.size, seed, undefined, OVER_UNITS)


def _quantiles(drawn: Floats, shares: tuple[float, float]) -> tuple[float | None, float | None]:
    """Return the two quantiles of the values, None where too many resamples have none."""
    defined = drawn[np.isfinite(drawn)]
    if drawn.size - defined.size > MOST_UNDEFINED * drawn.size:
        return None, None
    low, high = np.quantile(defined, shares)
    return float(low), float(high)


def _acceleration(left_out: Floats, times: Floats) -> float:
    """Return the acceleration from values with one unit left out; 0 where they are all equal."""
    defined = np.isfinite(left_out)
    values, counts = left_out[defined], times[defined]
    if counts.sum() == 0:
        return 0.0
    away = np.sum(counts * values) / counts.sum() - values
    squares = float(np.sum(counts * away**2))
    return float(np.sum(counts * away**3)) / (6.0 * squares**1.5) if squares > 0.0 else 0.0


def _accelerated(
    below: float, acceleration: float, tail: float, size: int
) -> tuple[float, float] | None:
    """Return the shares at which quantiles are taken, None where the correction breaks down."""
    normal = NormalDist()
    bias = normal.inv_cdf(min(max(below, 0.5 / size), 1.0 - 0.5 / size))
    shares = []
    for share in (tail, 1.0 - tail):
        shifted = bias + normal.inv_cdf(share)
        room = 1.0 - acceleration * shifted
        if room <= 0.0:
            return None
        shares.append(normal.cdf(bias + shifted / room))
    return shares[0], shares[1]
