"""Conformance probability of a normal result against an upper, a lower or both limits."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from colorimetry.arrays import Floats, finite_table, real_array
from colorimetry.errors import DomainError


def column(value: npt.ArrayLike, what: str) -> Floats:
    """Return one number or n numbers as (n,), finite.

    Raises DomainError naming the row for NaN and infinity, and for other shapes and types.
    """
    numbers = real_array(value, what)
    if numbers.ndim > 1:
        raise DomainError(what, "shape", detail=f"(n,) expected, got {numbers.shape}")
    return finite_table(numbers.reshape(-1, 1), what, 1)[:, 0]


def together(**columns: Floats | None) -> dict[str, Floats]:
    """Return the columns that are given at one length (a column of one number serves all).

    Raises DomainError naming the first column that does not fit.
    """
    given = {name: c for name, c in columns.items() if c is not None}
    counts = [len(c) for c in given.values()]
    count = 0 if 0 in counts else max(counts)
    for name, c in given.items():
        if len(c) not in (1, count):
            detail = f"{len(c)} numbers where others have {count}"
            raise DomainError(name.replace("_", " "), "shape", detail=detail)
    return {name: np.broadcast_to(c, (count,)) for name, c in given.items()}


class Limits(NamedTuple):
    """Tolerance limits (n,), one of them None where there is one side only, and u (n,)."""

    lower: Floats | None
    upper: Floats | None
    uncertainty: Floats


def checked_limits(
    uncertainty: npt.ArrayLike, lower: npt.ArrayLike | None, upper: npt.ArrayLike | None
) -> Limits:
    """Return limits and standard uncertainty at one length.

    Raises DomainError where there is no limit, the lower one is not below the upper one, or the
    uncertainty is not positive (naming the row).
    """
    if lower is None and upper is None:
        raise DomainError("limits", "range", detail="an upper or a lower limit expected")
    fitted = together(
        lower_limit=None if lower is None else column(lower, "lower limit"),
        upper_limit=None if upper is None else column(upper, "upper limit"),
        standard_uncertainty=column(uncertainty, "standard uncertainty"),
    )
    low, high = fitted.get("lower_limit"), fitted.get("upper_limit")
    u = fitted["standard_uncertainty"]
    if (u <= 0.0).any():
        row = int(np.argmax(u <= 0.0))
        detail = "a positive number expected"
        raise DomainError("standard uncertainty", "range", row=row, detail=detail)
    if low is not None and high is not None and (low >= high).any():
        row = int(np.argmax(low >= high))
        raise DomainError("limits", "range", row=row, detail="lower below upper expected")
    return Limits(low, high, u)


def conformance_probability(
    result: npt.ArrayLike,
    uncertainty: npt.ArrayLike,
    *,
    lower: npt.ArrayLike | None = None,
    upper: npt.ArrayLike | None = None,
) -> Floats:
    """Return the probability (n,) that the true value lies within the limits.

    result, uncertainty: measured value and its standard uncertainty (k = 1), one unit, one number
    or (n,); lower, upper: the limits, at least one.
    Assumes a normal distribution about the result and no earlier knowledge of the process. Not for
    a colour difference, which is never negative: see ``probability_within``.
    Raises DomainError as ``checked_limits`` does and for results that do not fit.
    Source: JCGM 106:2012, clause 7 (= ISO/IEC Guide 98-4).
    """
    limits = checked_limits(uncertainty, lower, upper)
    fitted = together(result=column(result, "result"), limits=limits.uncertainty)
    y = fitted["result"]
    above = None if limits.upper is None else (limits.upper - y) / limits.uncertainty
    below = None if limits.lower is None else (y - limits.lower) / limits.uncertainty
    if above is None or below is None:
        probability: Floats = ndtr(above if below is None else below)
        return probability
    # taken on the side where both terms are small, so that a far tail keeps its digits
    nearer, other = np.minimum(above, below), np.maximum(above, below)
    between: Floats = ndtr(nearer) - ndtr(-other)
    return between
