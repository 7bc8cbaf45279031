"""The findings by eye and by instrument: counts over the lot against the acceptance number."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from method.reasons import Reason, because
from method.terms.models.decision import Finding
from method.verdict.instrument import Instrument, Value, zone_reasons
from method.verdict.panel import Heard, PanelAnswer
from method.verdict.rules import Rules
from method.verdict.zones import LotCount, count


@dataclass(frozen=True)
class Findings:
    """What was heard and measured, before anything is decided."""

    heard: tuple[Heard, ...]
    answers: tuple[PanelAnswer, ...]
    instrument: Instrument


@dataclass(frozen=True)
class Part:
    """One part's finding, its counts and its reasons."""

    finding: Finding
    count: LotCount
    reasons: tuple[Reason, ...]

    def plain(self) -> dict[str, Any]:
        """As the verdict shows it; specimens and values are added by the document."""
        return {
            "outcome": self.finding,
            "n": self.count.n,
            "nonconforming": self.count.nonconforming,
            "undecided": self.count.undecided,
            "acceptance": self.count.acceptance,
        }


def by_eye(rules: Rules, findings: Findings) -> Part:
    """The finding by eye; not asked where the table never rests on it or nobody judged."""
    counted = count(tuple(answer.outcome for answer in findings.answers), rules.acceptance)
    if not rules.eye or not findings.heard:
        return Part("not_asked", counted, ())
    finding = _finding(counted, ())
    reasons = [_lot("visual", finding, counted)]
    reasons.extend(reason for one in findings.heard for reason in one.against)
    reasons.extend(reason for answer in findings.answers for reason in answer.reasons)
    reasons.extend(one for one in rules.unsaid if one.clause == "decision")
    return Part(finding, counted, tuple(reasons))


def by_instrument(rules: Rules, findings: Findings) -> Part:
    """The finding by instrument; not asked where the terms ask none or nothing was handed in."""
    measured = findings.instrument
    counted = count(tuple(measured.outcomes(rules).values()), rules.acceptance)
    if not rules.instrument or not measured.handed_in:
        return Part("not_asked", counted, ())
    unsaid = tuple(one for one in rules.unsaid if one.clause == "tolerances")
    finding = _finding(counted, unsaid)
    reasons = [_lot("instrument", finding, counted), *unsaid]
    reasons.extend(_worst(measured))
    reasons.extend(zone_reasons(measured, rules))
    return Part(finding, counted, tuple(reasons))


def _finding(counted: LotCount, unsaid: tuple[Reason, ...]) -> Finding:
    """The lot's finding; where nothing was found, or the terms say too little to prove
    conformity, it is inconclusive."""
    if counted.outcome == "nonconforming":
        return "nonconforming"
    if counted.n == 0 or unsaid or counted.outcome != "conforming":
        return "inconclusive"
    return "conforming"


def _lot(part: str, finding: Finding, counted: LotCount) -> Reason:
    numbers: dict[str, str] = {
        "nonconforming": str(counted.nonconforming),
        "n": str(counted.n),
        "ac": str(counted.acceptance),
    }
    if finding == "inconclusive":
        numbers["undecided"] = str(counted.undecided)
    return because(f"{part}_{finding}", item=None, **numbers)


def _worst(measured: Instrument) -> list[Reason]:
    """For each item its greatest value that is not within; the verdict lists all values."""
    worst: dict[str, Value] = {}
    for value in measured.values:
        if value.zone != "within":
            known = worst.get(value.item.id)
            if known is None or value.value > known.value:
                worst[value.item.id] = value
    return [reason for value in worst.values() if (reason := value.why()) is not None]
