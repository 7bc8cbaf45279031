"""Drift of an instrument, read on a check tile over time: trend, outliers, control limits."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy.special import stdtr, stdtrit

from colorimetry.arrays import Floats, finite_result, finite_table, number, real_array
from colorimetry.errors import DomainError

FEWEST = 5
# mean range of two normal readings, in standard deviations: d_2 of ISO 7870-2 (exactly 2/sqrt(pi))
_D2 = 2.0 / np.sqrt(np.pi)


class Trend(NamedTuple):
    """A straight line through readings over time, with interval and outliers.

    slope, intercept per component (p,): unit per day, and at day 0. slope_error (p,), interval
    (2, p) of the slope, probability (p,) of such a slope without drift. residual (p,): standard
    deviation about the line. outliers (n, p).
    """

    slope: Floats
    intercept: Floats
    slope_error: Floats
    interval: Floats
    probability: Floats
    residual: Floats
    outliers: npt.NDArray[np.bool_]


def _checked_days(days: npt.ArrayLike, count: int) -> Floats:
    """Days (n,) as a column, not all the same."""
    column = finite_table(np.reshape(real_array(days, "days"), (-1, 1)), "days", 1)[:, 0]
    if len(column) != count:
        raise DomainError("days", "shape", detail=f"{len(column)} days for {count} readings")
    if count < FEWEST:
        detail = f"{count} readings; {FEWEST} at least expected"
        raise DomainError("readings", "few", detail=detail)
    if column.max() == column.min():
        raise DomainError("days", "singular", detail="all readings are of one moment")
    return column


def trend(
    days: npt.ArrayLike,
    readings: npt.ArrayLike,
    *,
    confidence: float = 0.95,
    outlier_risk: float = 0.05,
) -> Trend:
    """Return the least-squares line of each component of the readings over time.

    days: times in days (n,), in any order, n at least 5. readings: signed components (n, p), such
    as L*, a*, b* of one tile; never colour differences, whose sign is lost. confidence: of the
    slope's interval. Outliers: readings whose externally studentised residual exceeds Student's t
    with n - 3 degrees of freedom at outlier_risk / (2n) (Bonferroni over the n readings of one
    component); they are told, not removed.
    Raises DomainError naming row and band for NaN and infinity, "few", "singular" for readings of
    one moment, "range" for shares outside 0 to 1.
    Source: Cook & Weisberg, Residuals and Influence in Regression (1982; from memory).
    """
    for share, what in ((confidence, "confidence"), (outlier_risk, "outlier risk")):
        if not 0.0 < number(share, what) < 1.0:
            raise DomainError(what, "range", detail="between 0 and 1 expected")
    table = finite_table(readings, "readings")
    column = _checked_days(days, len(table))
    n = len(table)
    # powers of two taken out of both cost no bit and keep the squares inside floats
    day_power = np.frexp(np.abs(column).max())[1]
    power = np.frexp(np.abs(table).max(axis=0))[1]
    column, table = np.ldexp(column, -day_power), np.ldexp(table, -power)
    off = column - np.einsum("n->", column) / n
    squares = float(np.einsum("n,n->", off, off))
    mean = np.einsum("nk->k", table) / n
    slope = np.einsum("n,nk->k", off, table - mean) / squares
    left = table - mean - off[:, None] * slope
    sums = np.einsum("nk,nk->k", left, left)
    error = np.sqrt(sums / (n - 2) / squares)
    half = stdtrit(n - 2, (1.0 + confidence) / 2.0) * error
    intercept = mean - slope * np.einsum("n->", column) / n
    interval = np.stack((slope - half, slope + half))
    with np.errstate(over="ignore"):
        slopes = np.ldexp(np.vstack((slope, error, interval)), power - day_power)
        levels = np.ldexp(np.vstack((intercept, np.sqrt(sums / (n - 2)))), power)
    finite_result(np.vstack((slopes, levels)).T, "readings")
    return Trend(
        slope=slopes[0],
        intercept=levels[0],
        slope_error=slopes[1],
        interval=slopes[2:],
        probability=_two_sided(slope, error, n - 2),
        residual=levels[1],
        outliers=_outliers(left, 1.0 / n + off**2 / squares, outlier_risk),
    )


def _two_sided(slope: Floats, error: Floats, freedom: int) -> Floats:
    """P of a t at least as large; 1 where nothing varied, 0 where the line is exact."""
    exact = error == 0.0
    ratio = np.abs(slope) / np.where(exact, 1.0, error)
    result: Floats = np.where(exact, np.where(slope == 0.0, 1.0, 0.0), 2.0 * stdtr(freedom, -ratio))
    return result


def _outliers(left: Floats, leverage: Floats, risk: float) -> npt.NDArray[np.bool_]:
    """Which externally studentised residuals are too large."""
    n = len(left)
    share = 1.0 - leverage[:, None]
    sums = np.einsum("nk,nk->k", left, left)
    others = np.maximum(sums - left**2 / np.maximum(share, 1e-12), 0.0) / (n - 3)
    limit = stdtrit(n - 3, 1.0 - risk / (2.0 * n))
    # rounding alone makes no outlier; a reading that alone fixes the line cannot be one
    noise = 1e-12 * np.abs(left).max(axis=0, initial=0.0) ** 2
    told: npt.NDArray[np.bool_] = (left**2 > limit**2 * others * share + noise) & (share > 1e-9)
    return told


class ControlLimits(NamedTuple):
    """Centre, lower and upper limit (p,), and which readings lie outside (n, p)."""

    centre: Floats
    lower: Floats
    upper: Floats
    outside: npt.NDArray[np.bool_]


def control_limits(readings: npt.ArrayLike, *, baseline: int) -> ControlLimits:
    """Return Shewhart's limits for individual readings in time order (n, p).

    baseline: the first so many readings (at least 5) make centre and limits; all are compared.
    Limits: mean +- 3 x mean moving range / 1.128, which a slow drift hardly widens.
    Raises DomainError naming row and band for NaN and infinity, "few" for a short baseline,
    "singular" naming the band where the baseline does not vary.
    Source: ISO 7870-2 (from memory: check your copy); d_2 for two readings is exactly 2/sqrt(pi).
    """
    table = finite_table(readings, "readings")
    if isinstance(baseline, bool) or not isinstance(baseline, int):
        raise DomainError("baseline", "type", detail="a whole number expected")
    if not FEWEST <= baseline <= len(table):
        detail = f"{FEWEST} to {len(table)} readings expected"
        raise DomainError("baseline", "few", detail=detail)
    first = table[:baseline]
    centre = np.einsum("nk->k", first) / baseline
    moving = np.einsum("nk->k", np.abs(np.diff(first, axis=0))) / (baseline - 1)
    if (moving == 0.0).any():
        band = int(np.argmax(moving == 0.0))
        raise DomainError("readings", "singular", band=band, detail="the baseline does not vary")
    half = 3.0 * moving / _D2
    outside = (table < centre - half) | (table > centre + half)
    return ControlLimits(centre, centre - half, centre + half, outside)
