"""The settlement as a document: what both leads sign."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext_lazy as _

from disputes.models import Dispute
from ledger.canonical import canonical_bytes
from shipments.models import Submission, Verdict

SCHEMA = 1
Pieces = Mapping[str, int]
# Where the pieces of the lot go; the settlement accounts for every one.
FATES = {
    "accepted": _("accepted as they are"),
    "accepted_by_concession": _("accepted by concession, for this lot only"),
    "sorted_out": _("sorted out"),
    "reworked": _("reworked"),
    "returned": _("returned"),
    "scrapped": _("scrapped"),
}


def settlement_bytes(
    dispute: Dispute,
    *,
    number: int,
    remedy: str,
    text: str,
    pieces: Pieces,
    costs: str,
    lessons: str,
) -> bytes:
    """Canonical bytes: what is settled, on which evidence, and where every piece goes."""
    value = {
        "schema": SCHEMA,
        "document": "settlement",
        "dossier": dispute.dossier.chain,
        "dispute": dispute.number,
        "offer": number,
        "lot": dispute.lot.number,
        "revision": dispute.lot.revision.number,
        "terms": dispute.lot.revision.digest,
        "evidence": evidence_of(dispute),
        "remedy": remedy,
        "text": text,
        "pieces": {fate: count for fate, count in pieces.items() if count},
        "costs": costs,
        "lessons": lessons,
        "precedent": False,
    }
    return canonical_bytes(value)


def evidence_of(dispute: Dispute) -> list[dict[str, str]]:
    """Both sides' submissions and verdicts by digest, the supplier's first."""
    rejection = dispute.rejection
    both = [rejection.answers, rejection] if rejection.answers else [rejection]
    return [_named(submission) for submission in both]


def _named(submission: Submission) -> dict[str, str]:
    verdict = Verdict.objects.filter(submission=submission).first()
    named = {"purpose": submission.purpose, "submission": submission.digest}
    if verdict is not None:
        named |= {"verdict": verdict.digest, "outcome": verdict.outcome}
    return named


def read_settlement(data: bytes) -> dict[str, Any]:
    """The document of stored bytes, for showing."""
    value: dict[str, Any] = json.loads(data)
    return value
