"""The combination table of clause 7 as a total function, and the tables in common use.

A pair of findings that no row names is inconclusive: silence never releases a lot.
"""

from __future__ import annotations

import random
from typing import Literal, get_args

from method.terms.models import Combination, Decision, new_id
from method.terms.models.decision import Finding, Outcome

Template = Literal["visual", "instrument", "both", "instrument_then_visual"]

_DECIDED: tuple[Finding, ...] = ("conforming", "nonconforming", "inconclusive")


def combine(decision: Decision, visual: Finding, instrument: Finding) -> Outcome:
    """The outcome for a pair of findings; "inconclusive" where no row decides it."""
    for row in decision.combination:
        if (row.visual, row.instrument) == (visual, instrument):
            return row.outcome or "inconclusive"
    return "inconclusive"


def visual_due(decision: Decision, instrument: Finding) -> bool:
    """Whether the eye is needed beside this instrumental finding: without it nothing is decided."""
    return combine(decision, "not_asked", instrument) == "inconclusive" and any(
        combine(decision, visual, instrument) != "inconclusive" for visual in _DECIDED
    )


def instrument_due(decision: Decision, visual: Finding) -> bool:
    """Whether the instrument is needed beside this finding by eye."""
    return combine(decision, visual, "not_asked") == "inconclusive" and any(
        combine(decision, visual, instrument) != "inconclusive" for instrument in _DECIDED
    )


def decides_by_eye(decision: Decision) -> bool:
    """Whether any decided outcome of the table rests on a finding by eye."""
    return any(
        row.visual not in (None, "not_asked") and row.outcome in ("conforming", "nonconforming")
        for row in decision.combination
    )


def decides_by_instrument(decision: Decision) -> bool:
    """Whether any decided outcome of the table rests on an instrumental finding."""
    return any(
        row.instrument not in (None, "not_asked") and row.outcome in ("conforming", "nonconforming")
        for row in decision.combination
    )


def _both(visual: Finding, instrument: Finding) -> Outcome:
    """Conforming when both conform, nonconforming when either does not."""
    if "nonconforming" in (visual, instrument):
        return "nonconforming"
    return "conforming" if visual == instrument == "conforming" else "inconclusive"


def _then_visual(visual: Finding, instrument: Finding) -> Outcome:
    """The instrument decides; the eye only where the instrument is inconclusive."""
    first = visual if instrument == "inconclusive" else instrument
    return "inconclusive" if first == "not_asked" else first


def template_pairs(template: Template) -> dict[tuple[Finding, Finding], Outcome]:
    """(by eye, by instrument) → outcome, for the pairs that a template decides."""
    findings: tuple[Finding, ...] = get_args(Finding)
    pairs: dict[tuple[Finding, Finding], Outcome] = {}
    for visual in findings:
        for instrument in findings:
            if template == "visual" and instrument == "not_asked" and visual != "not_asked":
                pairs[visual, instrument] = visual
            elif template == "instrument" and visual == "not_asked" and instrument != "not_asked":
                pairs[visual, instrument] = instrument
            elif template == "both":
                pairs[visual, instrument] = _both(visual, instrument)
            elif template == "instrument_then_visual":
                pairs[visual, instrument] = _then_visual(visual, instrument)
    return {pair: outcome for pair, outcome in pairs.items() if outcome != "inconclusive"}


def combination_template(template: Template, source: random.Random) -> tuple[Combination, ...]:
    """The rows of a template with fresh ids; `source` as for `new_id`."""
    return tuple(
        Combination(id=new_id("cmb", source), visual=visual, instrument=instrument, outcome=outcome)
        for (visual, instrument), outcome in template_pairs(template).items()
    )


def template_of(decision: Decision) -> Template | None:
    """The template that decides every pair as this table does; None for a table of one's own."""
    findings: tuple[Finding, ...] = get_args(Finding)
    templates: tuple[Template, ...] = get_args(Template)
    for template in templates:
        pairs = template_pairs(template)
        if all(
            combine(decision, visual, instrument) == pairs.get((visual, instrument), "inconclusive")
            for visual in findings
            for instrument in findings
        ):
            return template
    return None
