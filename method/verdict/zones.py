"""Conformance zones of one value against an upper limit, and of a lot against n and Ac.

Every comparison is made on the printed decimals: value, limit and uncertainty are quantised to
the item's decimals once, and only the results are compared.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Context, Decimal
from typing import Literal

from colorimetry import quantise

Zone = Literal["within", "between", "beyond"]
Outcome = Literal["conforming", "nonconforming", "inconclusive", "incomplete"]
Rule = Literal["release", "rejection"]
ZoneHolder = Literal["supplier", "customer", "nobody"]
Rounding = Literal["half_even", "half_up"]
_WIDE = Context(prec=400)


def printed(value: float | Decimal, decimals: int, rounding: Rounding) -> Decimal:
    """A value as printed: brought to its decimals once, at its shortest decimal form.

    half_even is `colorimetry.quantise`; half_up takes ties away from zero. Raises DomainError
    for NaN and infinity.
    """
    if rounding == "half_even":
        return quantise(value, decimals)
    exact = value if isinstance(value, Decimal) else Decimal(repr(float(value)))
    quantise(value, decimals)  # the same refusals
    step = Decimal(1).scaleb(-decimals)
    return exact.quantize(step, rounding=ROUND_HALF_UP, context=_WIDE) + 0


@dataclass(frozen=True)
class Limit:
    """An upper limit T with its expanded uncertainty U (k = 2), as printed."""

    limit: Decimal
    uncertainty: Decimal
    decimals: int
    rounding: Rounding = "half_even"

    @classmethod
    def of(
        cls, limit: Decimal, uncertainty: Decimal, decimals: int, rounding: Rounding = "half_even"
    ) -> Limit:
        """T and U brought to the item's decimals."""
        t, u = (printed(one, decimals, rounding) for one in (limit, uncertainty))
        return cls(t, u, decimals, rounding)

    def print(self, value: float) -> Decimal:
        """A value brought to the item's decimals; DomainError for NaN and infinity."""
        return printed(value, self.decimals, self.rounding)

    def zone(self, value: Decimal) -> Zone:
        """Where a printed value lies: within is value ≤ T - U, beyond is value > T + U.

        Between them neither conformity nor nonconformity is proven: uncertainty counts against
        whoever provides the proof (ISO 14253-1:2017; guarded acceptance and guarded rejection
        with guard band w = U, JCGM 106:2012 clauses 8.3.2 and 8.3.3, numbers from memory).
        """
        if value <= self.limit - self.uncertainty:
            return "within"
        if value > self.limit + self.uncertainty:
            return "beyond"
        return "between"


def settled(zone: Zone, rule: Rule, holder: ZoneHolder) -> Outcome:
    """What a zone means under a rule. At release the zone between decides nothing; at rejection
    it belongs to whom the terms say."""
    if zone == "within":
        return "conforming"
    if zone == "beyond":
        return "nonconforming"
    if rule == "rejection" and holder == "supplier":
        return "conforming"
    if rule == "rejection" and holder == "customer":
        return "nonconforming"
    return "inconclusive"


def worst(outcomes: tuple[Outcome, ...]) -> Outcome:
    """The outcome of a specimen from those of its values: one failing value fails it."""
    for outcome in ("nonconforming", "inconclusive"):
        if outcome in outcomes:
            return outcome
    return "conforming"


@dataclass(frozen=True)
class LotCount:
    """Specimens of a lot by outcome, against the acceptance number."""

    n: int
    nonconforming: int
    undecided: int
    acceptance: int

    @property
    def outcome(self) -> Outcome:
        """More nonconforming than Ac: nonconforming; if the undecided could tip it:
        inconclusive; else conforming."""
        if self.nonconforming > self.acceptance:
            return "nonconforming"
        if self.nonconforming + self.undecided > self.acceptance:
            return "inconclusive"
        return "conforming"


def count(outcomes: tuple[Outcome, ...], acceptance: int) -> LotCount:
    """Count the specimens' outcomes."""
    return LotCount(
        n=len(outcomes),
        nonconforming=outcomes.count("nonconforming"),
        undecided=outcomes.count("inconclusive"),
        acceptance=acceptance,
    )
