"""Decision rules: guard bands, acceptance zones, the risk at the limit, and zones between.

Rules: *simple acceptance* (the result within the limits), *guarded acceptance* (within the limits
by the guard band w) and *guarded rejection* (rejected only when outside by w). Where uncertainty
leaves no acceptance zone the outcome is *undecidable*: no result could have been accepted.
Sources: JCGM 106:2012, clause 8; ILAC-G8:09/2019, 4.2; ISO 14253-1.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr, ndtri

from colorimetry.arrays import Floats, finite_result, name, number
from colorimetry.decision.conformance import (
    Limits,
    checked_limits,
    column,
    conformance_probability,
    together,
)
from colorimetry.errors import DomainError

RULES = ("simple acceptance", "guarded acceptance", "guarded rejection")
_HALVINGS = 100

Words = npt.NDArray[np.str_]
Flags = npt.NDArray[np.bool_]


class AcceptanceZone(NamedTuple):
    """Results from lower to upper (n,) are accepted; one is None where there is one side only.

    exists (n,): whether any result can be accepted. Where not, the outcome is undecidable.
    """

    lower: Floats | None
    upper: Floats | None
    exists: Flags


def _checked_rule(rule: str) -> str:
    return name(rule, "rule", RULES)


def _checked_risk(risk: float) -> float:
    """A specific risk above 0 and at most one half (beyond it the limit itself would move out)."""
    if not 0.0 < number(risk, "risk") <= 0.5:
        raise DomainError("risk", "range", detail="above 0 and at most 0.5 expected")
    return float(risk)


def guard_band(uncertainty: npt.ArrayLike, *, multiple: float, coverage_factor: float) -> Floats:
    """Return w = multiple x coverage_factor x u (n,): a multiple r of the expanded uncertainty.

    uncertainty: standard uncertainty (k = 1), one number or (n,), positive. multiple: 0 or more.
    Raises DomainError for other numbers. Source: JCGM 106:2012, 8.3.2; ILAC-G8:09/2019, 4.2.2
    (w = U with k = 2: a risk below 2.5 %).
    """
    named = ((multiple, "multiple"), (coverage_factor, "coverage factor"))
    factors = [number(value, what, 0.0) for value, what in named]
    with np.errstate(over="ignore"):
        width = factors[0] * factors[1] * checked_limits(uncertainty, None, 0.0).uncertainty
    return finite_result(width, "guard band")


def guard_band_for_risk(uncertainty: npt.ArrayLike, *, risk: float) -> Floats:
    """Return the one-sided guard band w (n,) at whose acceptance limit the risk is ``risk``.

    uncertainty: standard uncertainty, one number or (n,), positive. risk: the specific risk wanted,
    above 0 and at most 0.5. Monotone: less risk, wider band.
    Raises DomainError for other numbers. Source: JCGM 106:2012, 8.3 (w = z_(1-R) u).
    """
    with np.errstate(over="ignore"):
        u = checked_limits(uncertainty, None, 0.0).uncertainty
        width: Floats = -ndtri(_checked_risk(risk)) * u
    return finite_result(width, "guard band")


def acceptance_zone(
    rule: str,
    guard: npt.ArrayLike,
    *,
    lower: npt.ArrayLike | None = None,
    upper: npt.ArrayLike | None = None,
    non_negative: bool = False,
) -> AcceptanceZone:
    """Return the acceptance zone of a rule with guard band ``guard`` (one number or (n,)).

    rule: one of RULES; simple acceptance takes no guard band (0). non_negative: the quantity cannot
    be below zero (a colour difference) and has an upper limit only: under guarded acceptance no
    zone is left where the limit does not exceed the guard band.
    Raises DomainError for other rules, limits as ``checked_limits`` does, negative guard bands
    (naming the row) and a lower limit of a non-negative quantity.
    Source: JCGM 106:2012, 8.2 and 8.3.
    """
    band = column(guard, "guard band")
    if (band < 0.0).any():
        row = int(np.argmax(band < 0.0))
        raise DomainError("guard band", "range", row=row, detail="zero or more expected")
    if _checked_rule(rule) == "simple acceptance" and (band != 0.0).any():
        row = int(np.argmax(band != 0.0))
        raise DomainError("guard band", "range", row=row, detail="simple acceptance has none")
    if non_negative and (lower is not None or upper is None):
        raise DomainError("limits", "range", detail="an upper limit alone expected")
    inwards = -band if rule == "guarded rejection" else band
    limits = checked_limits(np.ones(len(band)), lower, upper)
    low = None if limits.lower is None else limits.lower + inwards
    high = None if limits.upper is None else limits.upper - inwards
    exists = np.full(len(limits.uncertainty), True)
    if low is not None and high is not None:
        exists = low <= high
    if non_negative and high is not None and rule == "guarded acceptance":
        exists = high > 0.0
    return AcceptanceZone(low, high, exists)


def acceptance_zone_for_risk(
    uncertainty: npt.ArrayLike,
    *,
    risk: float,
    lower: npt.ArrayLike | None = None,
    upper: npt.ArrayLike | None = None,
    non_negative: bool = False,
) -> AcceptanceZone:
    """Return the zone of guarded acceptance in which the specific risk is at most ``risk``.

    uncertainty: standard uncertainty, one number or (n,). With two limits both tails count: the
    zone's ends are solved from conformance probability = 1 - risk, and no zone is left where not
    even a result in the middle reaches it.
    Raises DomainError as ``guard_band_for_risk`` and ``acceptance_zone`` do.
    Source: JCGM 106:2012, 8.3 and clause 7.
    """
    limits = checked_limits(uncertainty, lower, upper)
    if limits.lower is None or limits.upper is None:
        band = guard_band_for_risk(limits.uncertainty, risk=risk)
        return acceptance_zone(
            "guarded acceptance", band, lower=lower, upper=upper, non_negative=non_negative
        )
    if non_negative:
        raise DomainError("limits", "range", detail="an upper limit alone expected")
    return _between(limits.lower, limits.upper, limits, 1.0 - _checked_risk(risk))


def _between(low: Floats, high: Floats, limits: Limits, wanted: float) -> AcceptanceZone:
    """The two-sided zone, by halving the way from the middle to the upper limit."""
    middle, u = (low + high) / 2.0, limits.uncertainty
    inside, outside = np.zeros(len(u)), (high - low) / 2.0
    for _ in range(_HALVINGS):
        half = (inside + outside) / 2.0
        enough = conformance_probability(middle + half, u, lower=low, upper=high) >= wanted
        inside, outside = np.where(enough, half, inside), np.where(enough, outside, half)
    exists = conformance_probability(middle, u, lower=low, upper=high) >= wanted
    return AcceptanceZone(middle - inside, middle + inside, exists)


def risk_at_limit(guard: npt.ArrayLike, uncertainty: npt.ArrayLike) -> Floats:
    """Return the specific risk (n,) of a result exactly at an acceptance limit T -+ guard.

    guard: one number or (n,), positive inwards (guarded acceptance), negative outwards (guarded
    rejection), 0 for simple acceptance. One limit counts: the other one is taken as far away.
    Raises DomainError for numbers that do not fit and uncertainties that are not positive.
    Source: JCGM 106:2012, 8.3; ILAC-G8:09/2019, 4.2 (one half without a guard band).
    """
    limits = checked_limits(uncertainty, None, 0.0)
    fitted = together(guard_band=column(guard, "guard band"), uncertainty=limits.uncertainty)
    band, u = fitted["guard_band"], fitted["uncertainty"]
    risk: Floats = ndtr(-band / u)
    return risk


def decide(result: npt.ArrayLike, zone: AcceptanceZone) -> Words:
    """Return "accepted", "rejected" or "undecidable" for each result (n,).

    result: one number or (n,), as many as the zone has. An end of the zone belongs to it.
    Raises DomainError for results that do not fit. Source: JCGM 106:2012, clause 8.
    """
    fitted = together(
        result=column(result, "result"),
        lower=zone.lower,
        upper=zone.upper,
        zone=zone.exists.astype(np.float64),
    )
    y, low, high = fitted["result"], fitted.get("lower"), fitted.get("upper")
    within = np.full(len(y), True)
    if low is not None:
        within &= y >= low
    if high is not None:
        within &= y <= high
    answer: Words = np.where(
        fitted["zone"] > 0.0, np.where(within, "accepted", "rejected"), "undecidable"
    )
    return answer


def decide_by_probability(probability: npt.ArrayLike, rule: str, *, risk: float) -> Words:
    """Return "accepted" or "rejected" for each conformance probability (n,).

    For quantities that are not normal, such as a colour difference: guarded acceptance asks for a
    probability of at least 1 - risk, guarded rejection for more than risk. Simple acceptance
    looks at the result, not at a probability, and is refused here.
    Raises DomainError for other rules, and numbers outside 0 to 1 (naming the row).
    Source: JCGM 106:2012, 8.3 (the risk at the acceptance limit).
    """
    p = column(probability, "probability")
    outside = (p < 0.0) | (p > 1.0)
    if outside.any():
        row = int(np.argmax(outside))
        raise DomainError("probability", "range", row=row, detail="0 to 1 expected")
    if _checked_rule(rule) == "simple acceptance":
        raise DomainError("rule", "range", detail="simple acceptance needs no probability")
    wanted = _checked_risk(risk)
    enough = p >= 1.0 - wanted if rule == "guarded acceptance" else p > wanted
    answer: Words = np.where(enough, "accepted", "rejected")
    return answer
