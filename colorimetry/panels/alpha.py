"""Krippendorff's alpha: agreement of any number of raters, values missing, on four scales."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, name, real_array
from colorimetry.errors import DomainError
from colorimetry.panels.resampling import (
    ResampledInterval,
    bca_interval,
    checked_confidence,
    unit_weights,
    without_each,
)

Level = Literal["nominal", "ordinal", "interval", "ratio"]
MOST_VALUES = 2000
_CHUNK = 256


@dataclass(frozen=True)
class Alpha:
    """Alpha with what it was made from.

    ``value`` is None where alpha is undefined; ``undefined`` then says why: "no_pairs" (no unit was
    rated twice) or "one_category" (all pairable ratings are equal). ``units`` counts units rated at
    least twice, ``ratings`` the ratings in them; the others say nothing about agreement.
    """

    value: float | None
    level: Level
    units: int
    ratings: int
    undefined: Literal["", "no_pairs", "one_category"] = ""


def _unit_counts(ratings: npt.ArrayLike, level: Level) -> tuple[Floats, Floats]:
    """Return distinct values (k,) and counts (units, k) of the units rated at least twice."""
    name(level, "level", get_args(Level))
    table = real_array(ratings, "ratings")
    if table.ndim != 2:
        detail = f"raters in rows, units in columns expected, got {table.shape}"
        raise DomainError("ratings", "shape", detail=detail)
    refused = np.isinf(table) | ((table < 0.0) if level == "ratio" else False)
    if refused.any():
        row, band = (int(i) for i in np.argwhere(refused)[0])
        endless = bool(np.isinf(table[row, band]))
        detail = "" if endless else "a ratio scale starts at zero"
        problem = "inf" if endless else "range"
        raise DomainError("ratings", problem, row=row, band=band, detail=detail)
    table = table[:, np.isfinite(table).sum(axis=0) > 1]
    values, codes = np.unique(table[np.isfinite(table)], return_inverse=True)
    if values.size > MOST_VALUES:
        raise DomainError("ratings", "range", detail=f"more than {MOST_VALUES} distinct values")
    counts = np.zeros((table.shape[1], values.size))
    np.add.at(counts, (np.nonzero(np.isfinite(table))[1], codes), 1.0)
    return values, counts


def _squared_distances(values: Floats, level: Level) -> Floats:
    """Return the squared differences (k, k) of the scales whose metric does not depend on counts.

    Values are divided by the largest first: alpha does not change, and squares cannot overflow.
    """
    if level == "nominal":
        return 1.0 - np.eye(values.size)
    scaled = values / max(float(np.abs(values).max()), np.finfo(float).tiny)
    apart = np.subtract.outer(scaled, scaled)
    if level == "ratio":
        sums = np.add.outer(scaled, scaled)
        apart = np.divide(apart, sums, out=np.zeros_like(apart), where=sums > 0.0)
    squared: Floats = apart**2
    return squared


def _disagreements(counts: Floats, weights: Floats, squared: Floats) -> tuple[Floats, Floats]:
    """Return observed and expected sums (n,) for unit weights (n, units) and a fixed metric."""
    raters = counts.sum(axis=1)
    each = np.einsum("uc,uc->u", counts @ squared, counts) / (raters - 1.0)
    totals = weights @ counts
    return weights @ each, np.einsum("nc,nc->n", totals @ squared, totals)


def _rank_disagreements(counts: Floats, weights: Floats) -> tuple[Floats, Floats]:
    """Return the same for ordinal values: differences of mid-ranks within the weighted ratings."""
    raters = counts.sum(axis=1)
    totals = weights @ counts
    ranks = np.cumsum(totals, axis=1) - totals / 2.0
    ranks = ranks - (totals.sum(axis=1) / 2.0)[:, np.newaxis]  # centred: less cancellation
    sums, squares = ranks @ counts.T, ranks**2 @ counts.T
    each = 2.0 * (raters * squares - sums**2) / (raters - 1.0)
    whole = totals.sum(axis=1)
    sum_all = np.einsum("nc,nc->n", totals, ranks)
    square_all = np.einsum("nc,nc->n", totals, ranks**2)
    return np.einsum("nu,nu->n", weights, each), 2.0 * (whole * square_all - sum_all**2)


def _alphas(values: Floats, counts: Floats, weights: Floats, level: Level) -> Floats:
    """Return alpha (n,) for unit weights (n, units); NaN where one category alone is left."""
    if level == "ordinal":
        observed, expected = _rank_disagreements(counts, weights)
    else:
        observed, expected = _disagreements(counts, weights, _squared_distances(values, level))
    totals = weights @ counts
    several = (totals > 0).sum(axis=1) > 1
    share = (totals.sum(axis=1) - 1.0) * observed
    alphas: Floats = 1.0 - np.divide(
        share, expected, out=np.full_like(share, np.nan), where=several
    )
    return alphas


def krippendorff_alpha(ratings: npt.ArrayLike, *, level: Level) -> Alpha:
    """Return Krippendorff's alpha of ratings (raters, units); NaN means not rated.

    level: "nominal", "ordinal" (values in their numerical order), "interval", or "ratio" (values
    from zero). Order and number of raters and units do not matter.
    Raises DomainError for infinities, shapes, negative values on a ratio scale.
    Source: Hayes & Krippendorff, Commun. Methods Meas. 1 (2007; from memory).
    """
    values, counts = _unit_counts(ratings, level)
    units, rated = counts.shape[0], int(counts.sum())
    if units == 0:
        return Alpha(None, level, 0, 0, "no_pairs")
    if values.size == 1:
        return Alpha(None, level, units, rated, "one_category")
    value = float(_alphas(values, counts, np.ones((1, units)), level)[0])
    return Alpha(value, level, units, rated)


def alpha_interval(
    ratings: npt.ArrayLike,
    *,
    level: Level,
    seed: int,
    confidence: float = 0.95,
    resamples: int = 2000,
) -> ResampledInterval:
    """Return the bootstrap interval of ``krippendorff_alpha``: units drawn with replacement.

    Units rated once or never are left out before drawing. Where alpha itself is undefined, so is
    every resample, and the interval has no ends; of fewer than two units it has none either.
    Raises DomainError as ``krippendorff_alpha`` and for confidence, seed, resamples out of range.
    """
    checked_confidence(confidence)
    values, counts = _unit_counts(ratings, level)
    units = counts.shape[0]
    weights = unit_weights(max(units, 1), seed=seed, resamples=resamples)
    drawn, estimate, left = np.full(resamples, np.nan), np.nan, without_each(units)
    if units:
        estimate = float(_alphas(values, counts, np.ones((1, units)), level)[0])
        for start in range(0, resamples, _CHUNK):
            part = slice(start, start + _CHUNK)
            drawn[part] = _alphas(values, counts, weights[part], level)
    return bca_interval(
        drawn,
        estimate=estimate,
        left_out=_alphas(values, counts, left, level),
        times=np.ones(len(left)),
        confidence=confidence,
        seed=seed,
    )
