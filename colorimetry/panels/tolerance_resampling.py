"""The tolerance interval by drawing specimens and observers again: a second, slower opinion."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, number
from colorimetry.errors import DomainError
from colorimetry.panels.judgements import (
    Judgements,
    checked_judgements,
    refuse_separated,
    refuse_thin,
)
from colorimetry.panels.logistic import fit_curves
from colorimetry.panels.resampling import (
    ResampledInterval,
    checked_confidence,
    generator,
    percentile_interval,
)

PIGEONHOLE = "percentile bootstrap, specimens and observers resampled independently (pigeonhole)"
_CHUNK = 250


def resampled_tolerance(
    difference: npt.ArrayLike,
    accepted: npt.ArrayLike,
    *,
    specimens: npt.ArrayLike,
    observers: npt.ArrayLike,
    seed: int,
    acceptance: float = 0.5,
    confidence: float = 0.95,
    resamples: int = 2000,
) -> ResampledInterval:
    """Return the tolerance's percentile interval from the pigeonhole bootstrap.

    Arguments and refusals as ``tolerance.fit_tolerance``, whose interval is the one to state: this
    one counts the scatter of single decisions more than once and is too wide where specimens and
    observers scatter little. Each resample draws specimens and observers with replacement; a
    decision counts as often as its specimen times its observer was drawn. Resamples that are
    separated or whose slope is not negative have no tolerance and are counted as undefined.
    Source: Owen, Ann. Appl. Stat. 1 (2007; from memory).
    """
    checked_confidence(confidence)
    if not 0.0 < number(acceptance, "acceptance") < 1.0:
        raise DomainError("acceptance", "range", detail="between 0 and 1 expected")
    data = checked_judgements(difference, accepted, specimens=specimens, observers=observers)
    refuse_thin(data)
    refuse_separated(data)
    rng = generator(seed, resamples)
    drawn = np.empty(resamples)
    logit = float(np.log(acceptance / (1.0 - acceptance)))
    for start in range(0, resamples, _CHUNK):
        size = min(_CHUNK, resamples - start)
        ways = (
            rng.multinomial(count, np.full(count, 1.0 / count), size=size)[:, codes]
            for count, codes in ((data.specimens, data.specimen), (data.observers, data.observer))
        )
        weights = np.prod(list(ways), axis=0).astype(np.float64)
        drawn[start : start + size] = _tolerances(data, weights, logit)
    return percentile_interval(
        drawn, confidence=confidence, seed=seed, resamples=resamples, method=PIGEONHOLE
    )


def _tolerances(data: Judgements, weights: Floats, logit: float) -> Floats:
    """Return the tolerance (m,) for decision weights (m, n), NaN where there is none."""
    centre, scale = float(data.difference.mean()), float(data.difference.std())
    x = (data.difference - centre) / scale
    ends = []
    for decision in (data.accepted == 1.0, data.accepted == 0.0):
        counted = (weights > 0.0) & decision
        least = np.where(counted, x, np.inf).min(axis=1)
        ends.append((least, np.where(counted, x, -np.inf).max(axis=1)))
    (accepted_least, accepted_most), (rejected_least, rejected_most) = ends
    overlapping = (accepted_most > rejected_least) & (rejected_most > accepted_least)
    curves = np.full((weights.shape[0], 2), np.nan)
    curves[overlapping] = fit_curves(x, data.accepted, weights[overlapping])
    falling = curves[:, 1] < 0.0
    middle = np.full(weights.shape[0], np.nan)
    middle[falling] = (logit - curves[falling, 0]) / curves[falling, 1]
    return centre + scale * middle
