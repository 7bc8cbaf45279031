"""Blockers: drafts by which no lot could be judged, or no day counted."""

from __future__ import annotations

from typing import get_args
from zoneinfo import ZoneInfo

from method.terms.combination import combine, decides_by_eye, decides_by_instrument
from method.terms.draft.finding import Finding, Findings, open_fields, open_in
from method.terms.models import Resolved, Tolerance
from method.terms.models.decision import Finding as Found


def no_decision_basis(clauses: Resolved) -> Findings:
    """No row of the table gives a decided outcome."""
    if not (decides_by_eye(clauses.decision) or decides_by_instrument(clauses.decision)):
        yield Finding("no_decision_basis", "blocker", "decision")


def instrument_never_used(clauses: Resolved) -> Findings:
    """The terms do without an instrument, and without one no lot could ever conform."""
    if clauses.measurement.instrument == "required":
        return
    found: tuple[Found, ...] = get_args(Found)
    alone = {combine(clauses.decision, visual, "not_asked") for visual in found}
    if "conforming" not in alone and decides_by_instrument(clauses.decision):
        yield Finding("instrument_never_used", "blocker", "measurement")


def visual_without_panel(clauses: Resolved) -> Findings:
    """The eye decides, but size or rule of the panel is open or impossible."""
    if not decides_by_eye(clauses.decision):
        return
    size, rule = clauses.observers.panel_size, clauses.decision.panel_rule
    number = clauses.decision.panel_number
    if size is None or rule is None or (rule == "at_least" and number is None):
        clause = "observers" if size is None else "decision"
        yield Finding("visual_without_panel", "blocker", clause)
    elif rule == "at_least" and number is not None and number > size:
        params = {"number": str(number), "size": str(size)}
        yield Finding("panel_number_too_large", "blocker", "decision", params=params)


def measured_without_tolerance(clauses: Resolved) -> Findings:
    """The instrument decides, but tolerances, target or condition are open."""
    if not decides_by_instrument(clauses.decision):
        return
    if not clauses.tolerances.items:
        yield Finding("no_tolerance", "blocker", "tolerances")
    needed = tuple(name for name in Tolerance.model_fields if name not in ("id", "warning"))
    for item in clauses.tolerances.items:
        fields = open_fields(Tolerance, item, needed)
        if fields:
            params = {"fields": fields}
            yield Finding("tolerance_unfinished", "blocker", "tolerances", item.id, params)
    fields = open_in(clauses, "measurement", "observer")
    if fields:
        yield Finding("measurement_unfinished", "blocker", "measurement", params={"fields": fields})
    compared = {item.compared_with for item in clauses.tolerances.items}
    if "target" in compared and clauses.references.target is None:
        yield Finding("target_unsaid", "blocker", "references")


def no_acceptance_zone(clauses: Resolved) -> Findings:
    """U is open, or a limit less U is below nothing (ISO 14253-1)."""
    if not decides_by_instrument(clauses.decision):
        return
    uncertainty = clauses.decision.uncertainty_value
    fields = open_in(clauses, "decision", "uncertainty_value", "coverage_factor")
    if fields or uncertainty is None:
        yield Finding("uncertainty_unsaid", "blocker", "decision")
        return
    for item in clauses.tolerances.items:
        if item.limit is not None and item.limit - uncertainty < 0:
            params = {"uncertainty": str(uncertainty), "limit": str(item.limit)}
            yield Finding("no_acceptance_zone", "blocker", "tolerances", item.id, params)


def rule_unsaid(clauses: Resolved) -> Findings:
    """The instrument decides, but a decision rule is open."""
    names = ("rule_at_release", "rule_at_rejection", "zone_at_rejection")
    fields = open_in(clauses, "decision", *names)
    if decides_by_instrument(clauses.decision) and fields:
        yield Finding("rule_unsaid", "blocker", "decision", params={"fields": fields})


def sampling_unsaid(clauses: Resolved) -> Findings:
    """It is open which pieces are judged, or every lot would conform."""
    decision = clauses.decision
    size, number = decision.sample_size, decision.acceptance_number
    fixed_open = decision.sampling_kind == "fixed" and size is None
    if decision.sampling_kind is None or fixed_open or number is None:
        yield Finding("sampling_unsaid", "blocker", "decision")
    elif decision.sampling_kind == "fixed" and size is not None and number >= size:
        params = {"number": str(number), "size": str(size)}
        yield Finding("acceptance_number_too_large", "blocker", "decision", params=params)


def days_without_calendar(clauses: Resolved) -> Findings:
    """Days are counted, but calendar or event is open."""
    disputes = clauses.disputes
    if disputes.reject_window_days is not None and disputes.window_event is None:
        yield Finding("window_without_event", "blocker", "disputes")
    days = (disputes.reject_window_days, disputes.answer_days, disputes.examination_days)
    if all(count is None for count in days):
        return
    names = ("day_kind", "zone", "working_days")
    fields = open_in(
        clauses, "disputes", *names[: 2 if disputes.day_kind == "calendar_days" else 3]
    )
    if fields:
        params = {"fields": fields}
        yield Finding("days_without_calendar", "blocker", "disputes", params=params)
    if disputes.zone and not _zone_known(disputes.zone):
        yield Finding("zone_unknown", "blocker", "disputes", params={"zone": disputes.zone})


def _zone_known(zone: str) -> bool:
    """Whether the IANA list has the name."""
    try:
        ZoneInfo(zone)
    except (ValueError, OSError, LookupError):
        return False
    return True


BLOCKERS = (
    no_decision_basis,
    instrument_never_used,
    visual_without_panel,
    measured_without_tolerance,
    no_acceptance_zone,
    rule_unsaid,
    sampling_unsaid,
    days_without_calendar,
)
