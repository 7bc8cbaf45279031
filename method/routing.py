"""Evidence check: what clause 8 makes due for a purpose against what the submission has.

Each kind of evidence is met, missing or invalid, with reasons. Readings and sittings are checked
whenever they are handed in, due or wanted by the combination table; whether one that is not met
makes the verdict incomplete is said by `required`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from method.reasons import Reason, because
from method.routing_measurement import measurement_reasons
from method.routing_references import approval_reasons
from method.routing_viewing import viewing_reasons
from method.submission import Submission
from method.terms.models import EvidenceDue
from method.verdict.findings import Findings
from method.verdict.rules import Rules
from method.verdict.spectra import Spectra

State = Literal["met", "missing", "invalid"]
LEADS = ("quality_lead", "deputy")
ABSENT = frozenset(
    (
        "readings_missing", "sitting_missing", "file_missing", "chip_missing",
        "limit_samples_missing", "article_not_approved",
    )
)  # fmt: skip


@dataclass(frozen=True)
class Checked:
    """One kind of evidence: `item` is the id in clause 8, None where only the table wants it."""

    what: str
    item: str | None
    required: bool
    reasons: tuple[Reason, ...]

    @property
    def state(self) -> State:
        """met without reasons; missing where nothing was handed in; else invalid."""
        if not self.reasons:
            return "met"
        return "missing" if any(one.id in ABSENT for one in self.reasons) else "invalid"

    def plain(self) -> dict[str, Any]:
        """As the verdict shows it."""
        value: dict[str, Any] = {
            "what": self.what,
            "required": self.required,
            "state": self.state,
            "reasons": [reason.plain() for reason in self.reasons],
        }
        if self.item is not None:
            value["item"] = self.item
        return value


def check(
    submission: Submission,
    rules: Rules,
    spectra: Spectra,
    findings: Findings,
    wanted: Mapping[str, bool],
) -> tuple[Checked, ...]:
    """Every kind of evidence due, handed in or wanted, by item id, then by kind.

    `wanted` says for "spectral" and "visual" whether the combination table cannot do without.
    """
    shared = {
        "spectral": _spectral(submission, rules, spectra, findings),
        "visual": tuple(viewing_reasons(submission, rules, findings.heard, findings.answers)),
    }
    checked = [_due(item, submission, shared, wanted) for item in rules.due]
    listed = {item.what for item in rules.due}
    handed_in = {"spectral": bool(submission.measured), "visual": bool(submission.sittings)}
    for what, reasons in shared.items():
        if what not in listed and (handed_in[what] or wanted[what]):
            checked.append(Checked(what, None, wanted[what], reasons))
    if rules.clauses.references.first_article_required and submission.purpose == "lot":
        approval = tuple(approval_reasons(submission))
        checked.append(Checked("first_article_approval", None, True, approval))
    return tuple(checked)


def _spectral(
    submission: Submission, rules: Rules, spectra: Spectra, findings: Findings
) -> tuple[Reason, ...]:
    return tuple(measurement_reasons(submission, rules, spectra, findings.instrument))


def _due(
    item: EvidenceDue,
    submission: Submission,
    shared: Mapping[str, tuple[Reason, ...]],
    wanted: Mapping[str, bool],
) -> Checked:
    what = str(item.what)
    reasons = list(shared[what] if what in shared else _other(item, submission))
    if item.signed_by_lead and submission.by.role not in LEADS:
        reasons.append(because("lead_missing", item=item.id, role=submission.by.role))
    required = item.required or wanted.get(what, False)
    return Checked(what, item.id, required, tuple(reasons))


def _other(item: EvidenceDue, submission: Submission) -> Iterator[Reason]:
    """Evidence that is neither readings nor judgements."""
    conditions = submission.conditions
    attached = any(attachment.item == item.id for attachment in submission.attachments)
    roles = {sitting.comparator.role for sitting in submission.sittings}
    used = {sitting.comparator.reference for sitting in submission.sittings}
    used |= {target.reference for target in conditions.targets}
    chips = any(one.chip is not None and one.id in used for one in conditions.references)
    if item.what == "reference_chip" and not chips:
        yield because("chip_missing", item=item.id)
    if item.what == "limit_samples" and "limit_sample" not in roles:
        yield because("limit_samples_missing", item=item.id)
    needed = item.pieces or 1
    if item.what == "physical_piece" and len(submission.retained) < needed:
        retained = len(submission.retained)
        yield because("retained_missing", item=item.id, retained=retained, needed=needed)
    reports = any(booth.report is not None for booth in conditions.booths)
    certificates = any(one.certificate is not None for one in conditions.instruments)
    files = {
        "booth_report": attached or reports,
        "calibration_certificate": attached or certificates,
        "photograph": attached,
        "process_record": attached,
    }
    if not files.get(str(item.what), True):
        yield because("file_missing", item=item.id, what=str(item.what))
