"""Kappa: agreement of two raters (plain and weighted) and of many raters, beyond chance."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, finite_table, name, number, real_array, within
from colorimetry.errors import DomainError
from colorimetry.panels.resampling import (
    ResampledInterval,
    bca_interval,
    checked_confidence,
    generator,
    unit_weights,
    without_each,
)

Weighting = Literal["none", "linear", "quadratic"]
MOST_COUNT = 1e9


@dataclass(frozen=True)
class Kappa:
    """A kappa with what it was made from.

    ``value`` is None where kappa is undefined, and ``undefined`` then says why: "one_category"
    (everything lies in one category, so that chance alone explains all agreement). ``observed`` and
    ``expected`` are agreements, weighted where ``weighting`` is not "none".
    """

    value: float | None
    observed: float
    expected: float
    weighting: Weighting
    undefined: Literal["", "one_category"] = ""


def _counts(table: npt.ArrayLike, what: str) -> Floats:
    """Return a table of counts: whole and not negative."""
    counts = within(finite_table(table, what), what, 0.0, MOST_COUNT)
    broken = counts != np.floor(counts)
    if broken.any():
        row, band = (int(i) for i in np.argwhere(broken)[0])
        raise DomainError(what, "range", row=row, band=band, detail="whole counts expected")
    return counts


def whole_categories(categories: int) -> int:
    """Return a number of categories, from 1; DomainError for others."""
    found = number(categories, "categories", 1.0, MOST_COUNT)
    if not found.is_integer():
        raise DomainError("categories", "type", detail="a whole number expected")
    return int(found)


def category_weights(categories: int, weighting: Weighting) -> Floats:
    """Return agreement weights (categories, categories): 1 on the diagonal, falling to 0.

    "none": 0 off the diagonal; "linear": 1 - |i - j| / (k - 1); "quadratic": 1 - the square of it.
    Raises DomainError for other weightings and fewer than one category.
    Source: Cohen, Psychol. Bull. 70:213-220 (1968) for weights in general (from memory).
    """
    name(weighting, "weighting", get_args(Weighting))
    whole_categories(categories)
    apart = np.abs(np.subtract.outer(np.arange(categories), np.arange(categories)))
    if weighting == "none":
        return np.where(apart == 0, 1.0, 0.0)
    share = apart / max(categories - 1, 1)
    return 1.0 - (share if weighting == "linear" else share**2)


def _agreements(tables: Floats, weights: Floats) -> tuple[Floats, Floats]:
    """Return observed and expected agreement of tables (n, k, k), each (n,)."""
    total = tables.sum(axis=(1, 2))
    rows, columns = tables.sum(axis=2), tables.sum(axis=1)
    observed = np.einsum("nij,ij->n", tables, weights) / total
    expected = np.einsum("ni,ij,nj->n", rows, weights, columns) / total**2
    return observed, expected


def _beyond_chance(observed: Floats, expected: Floats, defined: npt.NDArray[np.bool_]) -> Floats:
    """Return (observed - expected) / (1 - expected), NaN where undefined."""
    room = np.where(defined, 1.0 - expected, np.nan)
    kappas: Floats = (observed - expected) / room
    return kappas


def _several(tables: Floats) -> npt.NDArray[np.bool_]:
    """Return which tables (n, k, k) hold more than one category, rows and columns together."""
    used = (tables.sum(axis=1) + tables.sum(axis=2)) > 0
    more: npt.NDArray[np.bool_] = used.sum(axis=1) > 1
    return more


def _checked_square(table: npt.ArrayLike) -> Floats:
    """Return a square cross table of counts that holds at least one unit."""
    counts = _counts(table, "cross table")
    if counts.shape[0] != counts.shape[1]:
        detail = f"as many rows as columns expected, got {counts.shape}"
        raise DomainError("cross table", "shape", detail=detail)
    if counts.sum() == 0:
        raise DomainError("cross table", "range", detail="no units")
    return counts


def cross_table(first: npt.ArrayLike, second: npt.ArrayLike, categories: int) -> Floats:
    """Return how often rater one said i and rater two j, (categories, categories).

    first, second: category codes 0 to categories - 1 of the same units, each (n,).
    Raises DomainError for NaN, codes outside, unlike lengths and fewer than one category.
    Common practice, no published source.
    """
    codes = [
        _counts(np.atleast_1d(real_array(value, "ratings"))[np.newaxis], "ratings")[0]
        for value in (first, second)
    ]
    if codes[0].shape != codes[1].shape:
        raise DomainError("ratings", "shape", detail="both raters rate the same units")
    categories = whole_categories(categories)
    within(np.array(codes), "ratings", 0, categories - 1)
    table = np.zeros((categories, categories))
    np.add.at(table, tuple(code.astype(np.int64) for code in codes), 1.0)
    return table


def cohen_kappa(table: npt.ArrayLike, *, weighting: Weighting = "none") -> Kappa:
    """Return Cohen's kappa of a cross table of counts (k, k): rows rater one, columns rater two.

    Categories in their order where weighting is "linear" or "quadratic"; the result states it.
    Undefined where both raters used one and the same category alone.
    Raises DomainError for counts that are none, tables that are not square or empty.
    Source: Cohen, Educ. Psychol. Meas. 20:37-46 (1960); weighted: Cohen, Psychol. Bull.
    70:213-220 (1968) (both from memory; checked against an independent library).
    """
    tables = _checked_square(table)[np.newaxis]
    weights = category_weights(tables.shape[1], weighting)
    observed, expected = _agreements(tables, weights)
    defined = _several(tables)
    value = float(_beyond_chance(observed, expected, defined)[0]) if defined[0] else None
    reason: Literal["", "one_category"] = "" if defined[0] else "one_category"
    return Kappa(value, float(observed[0]), float(expected[0]), weighting, reason)


def cohen_interval(
    table: npt.ArrayLike,
    *,
    seed: int,
    weighting: Weighting = "none",
    confidence: float = 0.95,
    resamples: int = 2000,
) -> ResampledInterval:
    """Return the bootstrap interval of ``cohen_kappa``: units drawn again with replacement.

    Of fewer than two units the interval has no ends.
    Raises DomainError as ``cohen_kappa`` and for confidence, seed and resamples out of range.
    """
    checked_confidence(confidence)
    counts = _checked_square(table)
    weights = category_weights(counts.shape[0], weighting)
    rng = generator(seed, resamples)
    units = int(counts.sum())
    drawn = rng.multinomial(units, (counts / units).ravel(), size=resamples).astype(np.float64)
    filled = np.argwhere(counts > 0)
    less = np.repeat(counts[np.newaxis], len(filled), axis=0)
    less[np.arange(len(filled)), *filled.T] -= 1.0
    if units == 1:
        less = less[:0]

    def kappas(tables: Floats) -> Floats:
        return _beyond_chance(*_agreements(tables, weights), _several(tables))

    return bca_interval(
        kappas(drawn.reshape(resamples, *counts.shape)),
        estimate=float(kappas(counts[np.newaxis])[0]),
        left_out=kappas(less),
        times=counts[counts > 0][: len(less)],
        confidence=confidence,
        seed=seed,
    )


def _checked_ratings(counts: npt.ArrayLike) -> tuple[Floats, float]:
    """Return counts (units, categories) and the number of raters, the same for every unit."""
    table = _counts(counts, "rating counts")
    if not len(table):
        raise DomainError("rating counts", "few", detail="no units")
    raters = table.sum(axis=1)
    uneven = np.flatnonzero(raters != raters[0])
    if uneven.size:
        row = int(uneven[0])
        detail = f"{raters[row]:g} ratings where unit 0 has {raters[0]:g}; use alpha instead"
        raise DomainError("rating counts", "range", row=row, detail=detail)
    if raters[0] < 2:
        raise DomainError("rating counts", "range", row=0, detail="two or more raters expected")
    return table, float(raters[0])


def _fleiss(
    table: Floats, raters: float, weights: Floats
) -> tuple[Floats, Floats, npt.NDArray[np.bool_]]:
    """Return observed and expected agreement and definedness of weighted units (n, units)."""
    each = ((table**2).sum(axis=1) - raters) / (raters * (raters - 1.0))
    units = weights.sum(axis=1)
    shares = np.einsum("nu,uk->nk", weights, table) / (units * raters)[:, np.newaxis]
    observed = np.einsum("nu,u->n", weights, each) / units
    return observed, (shares**2).sum(axis=1), (shares > 0).sum(axis=1) > 1


def fleiss_kappa(counts: npt.ArrayLike) -> Kappa:
    """Return Fleiss' kappa of counts (units, categories): how many raters chose each category.

    The same number of raters, two or more, for every unit; not necessarily the same persons.
    Undefined where every rating lies in one category.
    Raises DomainError for counts that are none and units with unlike numbers of ratings.
    Source: Fleiss, Psychol. Bull. 76:378-382 (1971).
    """
    table, raters = _checked_ratings(counts)
    observed, expected, defined = _fleiss(table, raters, np.ones((1, table.shape[0])))
    value = float(_beyond_chance(observed, expected, defined)[0]) if defined[0] else None
    reason: Literal["", "one_category"] = "" if defined[0] else "one_category"
    return Kappa(value, float(observed[0]), float(expected[0]), "none", reason)


def fleiss_interval(
    counts: npt.ArrayLike, *, seed: int, confidence: float = 0.95, resamples: int = 2000
) -> ResampledInterval:
    """Return the bootstrap interval of ``fleiss_kappa``: units drawn again with replacement.

    Of fewer than two units the interval has no ends.
    Raises DomainError as ``fleiss_kappa`` and for confidence, seed and resamples out of range.
    """
    checked_confidence(confidence)
    table, raters = _checked_ratings(counts)
    units = table.shape[0]
    weights = unit_weights(units, seed=seed, resamples=resamples)
    left = without_each(units)
    return bca_interval(
        _beyond_chance(*_fleiss(table, raters, weights)),
        estimate=float(_beyond_chance(*_fleiss(table, raters, np.ones((1, units))))[0]),
        left_out=_beyond_chance(*_fleiss(table, raters, left)),
        times=np.ones(len(left)),
        confidence=confidence,
        seed=seed,
    )
