"""Zones on both sides of a limit: what is proven, and what lies between."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats
from colorimetry.decision.conformance import checked_limits, column, together
from colorimetry.decision.guard import Words
from colorimetry.errors import DomainError


def _inside_by(
    result: npt.ArrayLike,
    guard: npt.ArrayLike,
    lower: npt.ArrayLike | None,
    upper: npt.ArrayLike | None,
) -> tuple[Floats, Floats]:
    """Return how far each result lies inside the nearer limit (n,), and the guard bands (n,)."""
    band = column(guard, "guard band")
    if (band < 0.0).any():
        row = int(np.argmax(band < 0.0))
        raise DomainError("guard band", "range", row=row, detail="zero or more expected")
    limits = checked_limits(np.ones(len(band)), lower, upper)
    fitted = together(
        result=column(result, "result"),
        guard_band=band,
        lower_limit=limits.lower,
        upper_limit=limits.upper,
    )
    y, w = fitted["result"], fitted["guard_band"]
    inside = np.full(len(y), np.inf)
    if "lower_limit" in fitted:
        inside = np.minimum(inside, y - fitted["lower_limit"])
    if "upper_limit" in fitted:
        inside = np.minimum(inside, fitted["upper_limit"] - y)
    return inside, w


def four_zones(
    result: npt.ArrayLike,
    guard: npt.ArrayLike,
    *,
    lower: npt.ArrayLike | None = None,
    upper: npt.ArrayLike | None = None,
) -> Words:
    """Return "pass", "conditional pass", "conditional fail" or "fail" for each result (n,).

    Inside the limits by the guard band or more: pass; inside: conditional pass; outside by the
    guard band at most: conditional fail; else fail. guard: w, zero or more, one number or (n,).
    Raises DomainError as ``checked_limits`` does, and for negative guard bands.
    Source: ILAC-G8:09/2019, 4.2.3 (its end of the failing side from memory: check your copy).
    """
    inside, w = _inside_by(result, guard, lower, upper)
    answer: Words = np.select(
        [inside >= w, inside >= 0.0, inside >= -w],
        ["pass", "conditional pass", "conditional fail"],
        "fail",
    )
    return answer


def proof_zones(
    result: npt.ArrayLike,
    guard: npt.ArrayLike,
    *,
    lower: npt.ArrayLike | None = None,
    upper: npt.ArrayLike | None = None,
) -> Words:
    """Return "conformity proven", "nonconformity proven" or "neither proven" for each result (n,).

    Conformity is proven inside the limits by the guard band or more, nonconformity outside them by
    it or more: the uncertainty counts against whoever provides the proof, the supplier of the one,
    the customer of the other. guard: w, zero or more, one number or (n,); the standard's own
    width (1.65 u in the edition of 2017) is from memory: check your copy, state it in the terms.
    With w = 0 the limit itself conforms. Raises DomainError as ``four_zones`` does.
    Source: ISO 14253-1.
    """
    inside, w = _inside_by(result, guard, lower, upper)
    answer: Words = np.select(
        [inside >= w, inside <= -w], ["conformity proven", "nonconformity proven"], "neither proven"
    )
    return answer
