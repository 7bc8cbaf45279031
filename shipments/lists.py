"""Lists of evidence: which submissions wait for a lead's signature, and what is then signed.

A list holds digests: whoever signs it signs every submission on it, of as many lots as it names,
under one revision of the terms.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet

from agreements.models import Revision
from ledger.canonical import canonical_bytes
from method.terms import parse_terms, resolve
from parties.models import Signature, Sitter
from shipments.models import FirstArticle, ListedSubmission, Lot, Submission, SubmissionList

SCHEMA = 1
NOTHING = uuid.UUID(int=0)
MOST = 200  # submissions on one list
ONE, LIST = "submission", "submissions"  # what signatures are over
# The occasion of clause 8 that a submission answers to.
OCCASIONS = {
    Submission.Purpose.FIRST_ARTICLE: "first_article",
    Submission.Purpose.LOT: "release",
    Submission.Purpose.REJECTION: "rejection",
}
# Things whose evidence may still come to be signed.
STANDING = ~Q(lot__status__in=[Lot.Status.WITHDRAWN, Lot.Status.ACCEPTED, Lot.Status.CLOSED]) & ~Q(
    article__status__in=[FirstArticle.Status.APPROVED, FirstArticle.Status.APPROVED_WITH_LIMITS]
)


def list_bytes(revision: Revision, submissions: Sequence[Submission]) -> bytes:
    """Canonical bytes of a list: each submission by its digest, with what it was handed in for."""
    return canonical_bytes(
        {
            "schema": SCHEMA,
            "document": LIST,
            "dossier": revision.dossier.chain,
            "terms": revision.digest,
            "revision": revision.number,
            "submissions": [_named(one) for one in submissions],
        }
    )


def _named(submission: Submission) -> dict[str, Any]:
    verdict = getattr(submission, "verdict", None)
    return {
        "submission": submission.digest,
        "purpose": submission.purpose,
        "lot" if submission.lot_id else "article": submission.what.number,
        "nth": submission.nth,
        **({"verdict": verdict.digest} if verdict is not None else {}),
    }


def asks_signature(revision: Revision, part: str, purpose: str) -> bool:
    """Whether clause 8 asks that a lead of the side that hands it in signs this evidence."""
    return OCCASIONS[Submission.Purpose(purpose)] in asking(revision, part)


def asking(revision: Revision, part: str) -> frozenset[str | None]:
    """The occasions on which clause 8 asks for a lead's signature, as it binds a part."""
    return _asking(bytes(revision.terms), part)


@lru_cache(maxsize=256)  # one revision binds many lots, and its bytes never change
def _asking(terms: bytes, part: str) -> frozenset[str | None]:
    items = resolve(parse_terms(terms), part).evidence.items
    return frozenset(item.occasion for item in items if item.signed_by_lead and item.required)


def signatures_of(submissions: Iterable[Submission]) -> dict[uuid.UUID, Signature]:
    """Each signed submission's signature, its own or that of a signed list, by its key.

    The submissions are of one dossier or of several. Always two queries.
    """
    found = {one.pk: one for one in submissions}
    covers = {one.subject: [one.pk] for one in found.values()}
    signed = SubmissionList.Status.SIGNED
    # The empty key and subject keep the number of queries the same where there is nothing.
    rows = ListedSubmission.objects.filter(submission__in=[NOTHING, *found], list__status=signed)
    for of_list, key in rows.values_list("list_id", "submission_id"):
        covers.setdefault(f"{LIST}/{of_list}", []).append(key)
    made: dict[uuid.UUID, Signature] = {}
    over = Signature.objects.filter(what__in=[ONE, LIST], subject__in=["", *covers])
    for row in over.with_key_ends().order_by("created_at"):
        for key in covers[row.subject]:
            if row.dossier_id == found[key].dossier_id:
                made.setdefault(key, row)
    return made


def signature_of(submission: Submission) -> Signature | None:
    """The signature over this submission, alone or on a list; None where there is none."""
    return signatures_of([submission]).get(submission.pk)


def unsigned(sitter: Sitter) -> list[Submission]:
    """The evidence of the sitter's side that may be put on a list: handed in last, not signed."""
    rows = latest(Submission.objects.visible_to(sitter)).filter(STANDING, side=sitter.seat.side)
    found = list(with_names(rows).order_by("created_at"))
    made = signatures_of(found)
    return [one for one in found if one.pk not in made]


def with_names(rows: QuerySet[Submission]) -> QuerySet[Submission]:
    """With all that a list says of them; their own bytes are left in the database."""
    named = rows.select_related("lot", "article", "revision", "verdict")
    return named.defer("bytes", "verdict__bytes")


def latest(rows: QuerySet[Submission]) -> QuerySet[Submission]:
    """Of submissions those that no later one of the same thing and purpose has replaced."""
    same = Submission.objects.filter(
        dossier=OuterRef("dossier"), purpose=OuterRef("purpose"), nth__gt=OuterRef("nth")
    )
    of_lot, of_article = same.filter(lot=OuterRef("lot")), same.filter(article=OuterRef("article"))
    return rows.exclude(Exists(of_lot)).exclude(Exists(of_article))
