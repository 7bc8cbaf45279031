"""Which entries a part of the record, about one lot or one dispute, gives in full.

    numbers_in_full(sitter, "lot/<uuid>" or "dispute/<uuid>")  → numbers, for `full` of
    parties.signing.write_record(chain, out, about=subject, full=numbers)

A part gives whole subjects: of everything that belongs to the thing each entry, whoever made it.
To a lot belong its evidence with verdicts and signatures (those over a list of evidence too), its
disputes with posts, offers and settlements; to a dispute also its lot, with the rejection and the
evidence that this answers. Both lean on the revisions that bind them, on the references that their
evidence names, and on the first articles that these were approved as, with their own evidence.
The result is the same for everybody who may see the thing: the chain holds nothing that one side
alone may see.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable

from django.db.models import Q

from disputes.models import Dispute, Offer, Post
from ledger import chain
from ledger.kinds import Kind
from method.submission import parse_submission
from parties.models import Reference, Sitter
from shipments.models import (
    FirstArticle,
    ListedSubmission,
    Lot,
    Submission,
    SubmissionList,
)

SOME = 500  # subjects asked for at once


class NoPart(LookupError):
    """Nothing that this sitter sees has this name, or it is neither a lot nor a dispute."""


def numbers_in_full(sitter: Sitter, subject: str) -> frozenset[int]:
    """Numbers of the entries that a part about `subject` gives in full, for a sitter who may see
    the thing; raises NoPart."""
    place = sitter.dossier.chain
    found = _numbers(place, subjects_of(sitter, subject))
    seals: set[str] = set()
    for entry in chain.entries(place).filter(kind=Kind.DOCUMENT_SEALED.value):
        if entry.number in found:
            seals.update(f"seal:{one}" for one in entry.payload["seals"])
    return frozenset(found | _numbers(place, seals))


def _numbers(place: str, subjects: Iterable[str]) -> set[int]:
    """Numbers of the entries about these subjects."""
    wanted = sorted(subjects)
    found: set[int] = set()
    for start in range(0, len(wanted), SOME):
        rows = chain.entries(place).filter(subject__in=wanted[start:][:SOME])
        found.update(rows.values_list("number", flat=True))
    return found


def subjects_of(sitter: Sitter, subject: str) -> frozenset[str]:
    """The subjects that belong to a lot or dispute, as entries name them; raises NoPart."""
    lot = _lot(sitter, subject)
    handed_in = Submission.objects.visible_to(sitter).select_related("verdict")
    submissions = list(handed_in.filter(lot=lot))
    articles = _articles(sitter, submissions)
    submissions += handed_in.filter(article__in=articles)
    disputes = list(Dispute.objects.visible_to(sitter).filter(lot=lot))
    posts = Post.objects.visible_to(sitter).filter(dispute__in=disputes)
    offers = Offer.objects.visible_to(sitter).filter(dispute__in=disputes)
    verdicts = [one.verdict for one in submissions if hasattr(one, "verdict")]
    listed = ListedSubmission.objects.filter(submission__in=submissions).values("list")
    lists = SubmissionList.objects.visible_to(sitter).filter(pk__in=listed)
    things = [lot, *articles, *submissions, *lists, *disputes, *posts, *offers, *verdicts]
    bound = {str(one.revision_id) for one in (lot, *articles, *submissions)}
    named = {f"reference:{row.key.hex}:{row.version}" for row in _references(sitter, submissions)}
    return frozenset({one.subject for one in things} | bound | named)


def _lot(sitter: Sitter, subject: str) -> Lot:
    """The lot, or the one that a dispute is about."""
    noun, _, key = subject.partition("/")
    try:
        pk = uuid.UUID(key)
    except ValueError:
        raise NoPart(subject) from None
    found: Lot | None = None
    if noun == "lot":
        found = Lot.objects.visible_to(sitter).filter(pk=pk).first()
    elif noun == "dispute":
        dispute = Dispute.objects.visible_to(sitter).filter(pk=pk).select_related("lot").first()
        found = dispute.lot if dispute else None
    # The name as the chain writes it, and no other spelling of the same number.
    if found is None or str(pk) != key:
        raise NoPart(subject)
    return found


def _references(sitter: Sitter, submissions: Iterable[Submission]) -> list[Reference]:
    """Every row of the shared references that evidence names, by name or stored reading."""
    names, readings = set(), set()
    for one in submissions:
        for facts in parse_submission(bytes(one.bytes)).conditions.references:
            names.update({facts.code, facts.master} - {None})
            readings.update({facts.reading} - {None})
    shared = Reference.objects.visible_to(sitter)
    keys = shared.filter(Q(name__in=names) | Q(reading__in=readings)).values("key")
    return list(shared.filter(key__in=keys))


def _articles(sitter: Sitter, submissions: list[Submission]) -> list[FirstArticle]:
    """First articles whose approval the evidence states, or as which a reference was approved."""
    numbers = {row.approval for row in _references(sitter, submissions)}
    for one in submissions:
        numbers.add(parse_submission(bytes(one.bytes)).conditions.approval.article or "")
    found = FirstArticle.objects.visible_to(sitter).filter(number__in=numbers - {""})
    return list(found)
