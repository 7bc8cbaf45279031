"""The verdict as a document, version 1: outcome, reasons, evidence, both parts, conditions."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from ledger.canonical import decimal_text
from method.reasons import Reason, because
from method.routing import Checked
from method.submission import Submission
from method.terms.combination import combine
from method.verdict.findings import Findings, Part
from method.verdict.instrument import Instrument
from method.verdict.rules import DifferenceItem, Rules
from method.verdict.zones import Outcome

SCHEMA = 1


def document(
    submission: Submission,
    submission_digest: str,
    rules: Rules,
    findings: Findings,
    eye: Part,
    instrument: Part,
    checked: tuple[Checked, ...],
) -> dict[str, Any]:
    """The verdict's JSON value. `engine` is the submission's, whose meaning it was judged by."""
    outcome = _outcome(rules, eye, instrument, checked)
    reasons = _reasons(checked, eye, instrument)
    return {
        "schema": SCHEMA,
        "engine": submission.engine,
        "purpose": submission.purpose,
        "nth": submission.nth,
        "rule": rules.rule,
        "dossier": submission.dossier,
        "terms": submission.terms,
        "revision": submission.revision,
        "part": submission.part,
        "submission": submission_digest,
        "outcome": outcome,
        "reasons": [reason.plain() for reason in reasons],
        "evidence": [one.plain() for one in checked],
        "visual": _visual(eye, findings),
        "instrument": _instrument(instrument, findings.instrument, rules),
        "conditions": _conditions(rules, findings.instrument),
    }


def _outcome(rules: Rules, eye: Part, instrument: Part, checked: tuple[Checked, ...]) -> Outcome:
    """Incomplete overrides all; else the agreed table."""
    if any(one.required and one.state != "met" for one in checked):
        return "incomplete"
    return combine(rules.clauses.decision, eye.finding, instrument.finding)


def _reasons(checked: tuple[Checked, ...], eye: Part, instrument: Part) -> list[Reason]:
    """What the outcome rests on: faults of evidence first, then both parts, then the table."""
    found = [reason for one in checked if one.required for reason in one.reasons]
    found += [*eye.reasons, *instrument.reasons]
    found.append(because("combined", by_eye=eye.finding, by_instrument=instrument.finding))
    return _each_once(found)


def _each_once(reasons: Iterable[Reason]) -> list[Reason]:
    seen: set[tuple[str, str | None, tuple[tuple[str, str], ...]]] = set()
    kept: list[Reason] = []
    for reason in reasons:
        key = (reason.id, reason.item, tuple(sorted(reason.params.items())))
        if key not in seen:
            seen.add(key)
            kept.append(reason)
    return kept


def _visual(eye: Part, findings: Findings) -> dict[str, Any]:
    return {
        **eye.plain(),
        "specimens": [answer.plain() for answer in findings.answers],
        "judgements": [one.plain() for one in findings.heard],
    }


def _instrument(part: Part, measured: Instrument, rules: Rules) -> dict[str, Any]:
    outcomes = measured.outcomes(rules)
    return {
        **part.plain(),
        "specimens": [{"specimen": label, "outcome": one} for label, one in outcomes.items()],
        "items": [_item(item, measured) for item in rules.differences],
    }


def _item(item: DifferenceItem, measured: Instrument) -> dict[str, Any]:
    """One tolerance with its whole condition and every value under it."""
    value: dict[str, Any] = {
        "item": item.id,
        "compared_with": item.compared_with,
        "formula": "CIEDE2000",
        "factors": [decimal_text(factor) for factor in item.factors],
        "illuminant": item.illuminant,
        "observer": str(item.observer),
        "limit": decimal_text(item.limit.limit),
        "uncertainty": decimal_text(item.limit.uncertainty),
        "decimals": item.limit.decimals,
        "rounding": item.limit.rounding,
        "values": [one.plain() for one in measured.of_item(item)],
    }
    if item.geometry is not None:
        value["geometry"] = item.geometry
    if item.warning is not None:
        value["warning"] = decimal_text(item.warning)
    return value


def _conditions(rules: Rules, measured: Instrument) -> dict[str, Any]:
    """What the numbers rest on beside the items' own conditions."""
    decision, grid = rules.clauses.decision, measured.grid
    value: dict[str, Any] = {
        "zone_at_rejection": rules.holder,
        "specimens_due": rules.specimens,
        "acceptance": rules.acceptance,
        "panel": {"size": rules.panel.size},
    }
    if rules.panel.kind is not None:
        value["panel"]["rule"] = rules.panel.kind
    if rules.panel.least_accepting is not None:
        value["panel"]["least_accepting"] = rules.panel.least_accepting
    if grid is not None:
        value["grid"] = {"start": grid.start, "stop": grid.stop, "step": grid.step}
    if decision.coverage_factor is not None:
        value["coverage_factor"] = decimal_text(decision.coverage_factor)
    return value
