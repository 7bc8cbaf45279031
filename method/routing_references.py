"""Evidence check of references: kind, likeness to the part, expiry, drift; the approval."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from ledger.canonical import decimal_text
from method.days import months_after
from method.facts import ReferenceFacts
from method.reasons import Reason, because
from method.submission import Sitting, Submission
from method.terms.models import References
from method.verdict.targets import reference_of


def comparator_reasons(
    sitting: Sitting, submission: Submission, clause: References
) -> Iterator[Reason]:
    """What is wrong with what a sitting's specimens were held against."""
    reference = reference_of(submission, sitting.comparator.reference)
    if reference is None:
        yield because("comparator_missing", day=sitting.day)
    else:
        yield from reference_reasons(reference, clause, sitting.day)


def reference_reasons(reference: ReferenceFacts, clause: References, day: date) -> Iterator[Reason]:
    """Where a reference used on a day is unlike clause 4.

    Limit samples and pieces of other lots are of their own kind; kind and likeness bind masters
    and duplicates only.
    """
    code = reference.code
    if reference.role in ("master", "duplicate"):
        if clause.kind is not None and reference.kind != clause.kind:
            found = reference.kind or "?"
            yield because("reference_kind_unlike", reference=code, found=found, agreed=clause.kind)
        for field in clause.must_match:
            if field not in reference.like_part:
                yield because("reference_unlike_part", reference=code, field=field)
    yield from _expiry(reference, clause, day)
    drift, limit = reference.drift, clause.drift_limit
    if drift is not None and limit is not None and drift > limit:
        texts = {"drift": decimal_text(drift), "limit": decimal_text(limit)}
        yield because("reference_drifted", reference=code, **texts)
    apart, most = reference.difference, clause.duplicate_limit
    if reference.role == "duplicate" and apart is not None and most is not None and apart > most:
        texts = {"difference": decimal_text(apart), "limit": decimal_text(most)}
        yield because("reference_apart", reference=code, **texts)


def _expiry(reference: ReferenceFacts, clause: References, day: date) -> Iterator[Reason]:
    """Expired on the day: by its own date, or by the terms' interval from opening."""
    days = [] if reference.expires_on is None else [reference.expires_on]
    if clause.replacement_months is not None and reference.opened_on is not None:
        days.append(months_after(reference.opened_on, clause.replacement_months))
    expires = min(days, default=None)
    if expires is None and clause.replacement_months is not None:
        yield because("reference_expiry_unknown", reference=reference.code)
    elif expires is not None and day > expires:
        yield because("reference_expired", reference=reference.code, expires=expires, day=day)


def approval_reasons(submission: Submission) -> Iterator[Reason]:
    """Why the first article's approval does not cover this lot (clause 4 asks for one)."""
    approval, lot = submission.conditions.approval, submission.lot
    if approval.outcome not in ("approved", "approved_with_limits") or lot is None:
        yield because("article_not_approved")
        return
    if approval.outcome == "approved":
        return
    if approval.until is not None and submission.submitted_at.date() > approval.until:
        yield because("article_approval_lapsed", until=approval.until)
    taken = approval.taken_up or 0
    if approval.quantity is not None and taken + lot.quantity > approval.quantity:
        yield because(
            "article_quantity_passed",
            quantity=approval.quantity,
            taken=taken,
            lot=lot.quantity,
        )
