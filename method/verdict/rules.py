"""What judging reads from the terms for one submission, with silence made explicit.

The terms may leave anything unsaid. What the formula or the rule itself settles is settled here
(factors 1, no nonconforming piece without an acceptance number, ties to even); whatever would
have to be invented is reported as `unsaid` and decides nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from colorimetry import Grid, GridError
from method.reasons import Reason, because
from method.submission import Submission
from method.terms.combination import decides_by_eye, decides_by_instrument
from method.terms.models import EvidenceDue, Measurement, Resolved, Tolerance
from method.verdict.zones import Limit, Rounding, Rule, ZoneHolder

OCCASIONS = {"first_article": "first_article", "lot": "release", "rejection": "rejection"}
AMONG = ("among_pieces", "within_piece")


@dataclass(frozen=True)
class DifferenceItem:
    """A colour difference limit of clause 6 that says all it must."""

    id: str
    compared_with: str
    geometry: str | None
    illuminant: str
    observer: int
    limit: Limit
    warning: Decimal | None
    factors: tuple[Decimal, Decimal, Decimal]


@dataclass(frozen=True)
class PanelRule:
    """How many observers are due and how their votes decide on a specimen.

    kind: all, majority, at_least, or None where the terms do not say.
    """

    size: int
    kind: str | None
    least_accepting: int | None
    staff_entries_count: bool


@dataclass(frozen=True)
class Rules:
    """Everything that judging one submission reads from the terms."""

    clauses: Resolved
    rule: Rule
    holder: ZoneHolder
    panel: PanelRule
    grid: Grid | None
    differences: tuple[DifferenceItem, ...]
    due: tuple[EvidenceDue, ...]
    specimens: int
    acceptance: int
    eye: bool
    instrument: bool
    unsaid: tuple[Reason, ...]

    def needed(self, what: str) -> int:
        """Specimens due for a kind of evidence: the items' own number where one is given."""
        given = [item.pieces for item in self.due if item.what == what and item.pieces]
        return max([self.specimens, *given])


def rules_of(clauses: Resolved, submission: Submission) -> Rules:
    """The rules for one submission under the clauses that bind its part."""
    decision, observers = clauses.decision, clauses.observers
    instrument = clauses.measurement.instrument != "none" and decides_by_instrument(decision)
    eye = decides_by_eye(decision)
    differences, unsaid = _differences(clauses) if instrument else ((), ())
    if eye and decision.panel_rule is None:
        unsaid = (*unsaid, because("panel_rule_unsaid"))
    acceptance = 0 if submission.lot is None else decision.acceptance_number or 0
    return Rules(
        clauses=clauses,
        rule="release" if submission.purpose in ("first_article", "lot") else "rejection",
        holder=decision.zone_at_rejection or "nobody",
        panel=PanelRule(
            size=observers.panel_size or 1,
            kind=decision.panel_rule,
            least_accepting=decision.panel_number,
            staff_entries_count=observers.staff_entry_counts,
        ),
        grid=_grid(clauses.measurement),
        differences=differences,
        due=_due(clauses, submission),
        specimens=_specimens(clauses, submission, acceptance),
        acceptance=acceptance,
        eye=eye,
        instrument=instrument,
        unsaid=unsaid,
    )


def _due(clauses: Resolved, submission: Submission) -> tuple[EvidenceDue, ...]:
    """Items of clause 8 due with this submission from the side that submits, by id."""
    occasion = OCCASIONS.get(submission.purpose)
    return tuple(
        item
        for item in sorted(clauses.evidence.items, key=lambda item: item.id)
        if item.what is not None
        and item.occasion == occasion
        and item.supplied_by in (None, submission.by.side)
        and item.due in (None, "with_submission")
    )


def _specimens(clauses: Resolved, submission: Submission, acceptance: int) -> int:
    """Specimens due: the sample at release. At rejection the fewest that can prove a lot
    nonconforming, since one finding more than Ac does so whatever else the lot holds."""
    decision = clauses.decision
    if submission.purpose == "rejection":
        return acceptance + 1
    if submission.purpose != "lot" or submission.lot is None:
        return 1
    if decision.sampling_kind == "every_piece":
        return submission.lot.quantity
    return min(decision.sample_size or 1, submission.lot.quantity)


def _grid(measurement: Measurement) -> Grid | None:
    """The agreed wavelength grid; None where the terms do not say one in full."""
    start, end = measurement.grid_start_nm, measurement.grid_end_nm
    step = measurement.grid_step_nm
    if start is None or end is None or step is None:
        return None
    try:
        return Grid(start, end, step)
    except GridError:
        return None


def _differences(
    clauses: Resolved,
) -> tuple[tuple[DifferenceItem, ...], tuple[Reason, ...]]:
    """The tolerance items that say all they must, by id, and what the others leave unsaid."""
    items: list[DifferenceItem] = []
    unsaid: list[Reason] = []
    for tolerance in sorted(clauses.tolerances.items, key=lambda one: one.id):
        missing = _unsaid(tolerance, clauses)
        unsaid.extend(because("tolerance_unsaid", item=tolerance.id, field=f) for f in missing)
        if not missing:
            items.append(_item(tolerance, clauses))
    if not clauses.tolerances.items:
        unsaid.append(because("tolerances_unsaid"))
    return tuple(items), tuple(unsaid)


def _unsaid(tolerance: Tolerance, clauses: Resolved) -> list[str]:
    said = {
        "compared_with": tolerance.compared_with,
        "illuminant": tolerance.illuminant,
        "formula": tolerance.formula,
        "limit": tolerance.limit,
        "observer": clauses.measurement.observer,
        "uncertainty_value": clauses.decision.uncertainty_value,
    }
    return [field for field, value in said.items() if value is None]


def _item(tolerance: Tolerance, clauses: Resolved) -> DifferenceItem:
    limit, uncertainty = tolerance.limit, clauses.decision.uncertainty_value
    assert limit is not None and uncertainty is not None  # noqa: S101 - `_unsaid` has seen to it
    rounding: Rounding = clauses.decision.rounding or "half_even"
    decimals = tolerance.decimals
    if decimals is None:  # as many as the limit is written with
        decimals = max(0, -int(limit.as_tuple().exponent))
    one = Decimal(1)
    return DifferenceItem(
        id=tolerance.id,
        compared_with=str(tolerance.compared_with),
        geometry=tolerance.geometry,
        illuminant=str(tolerance.illuminant),
        observer=int(str(clauses.measurement.observer)),
        limit=Limit.of(limit, uncertainty, decimals, rounding),
        warning=tolerance.warning,
        factors=(tolerance.k_l or one, tolerance.k_c or one, tolerance.k_h or one),
    )
