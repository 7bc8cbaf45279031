"""What a side has gathered for a lot or first article and would hand in now."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.db.models import Q
from django.utils.translation import gettext

from evidence.models import Document, EvidenceFile, MeasuredSet, RetainedPiece, Sitting
from method.terms import resolve
from method.terms.models import EvidenceDue
from method.terms.sentences import item_sentence, render
from parties.models import Side, Sitter
from shipments.models import FirstArticle, Lot, Submission


def offered(what: Lot | FirstArticle, sitter: Sitter) -> dict[str, Any]:
    """Evidence of the sitter's side about `what` that was not set aside."""
    own = (what.subject, sitter.seat.side)
    sets = MeasuredSet.objects.visible_to(sitter).about(*own).select_related("file")
    return {
        "asked": asked_of(what, sitter.seat.side),
        "sets": sets.order_by("created_at"),
        "files": EvidenceFile.objects.visible_to(sitter)
        .about(*own)
        .waiting()
        .order_by("created_at"),
        "before": handed_in_before(
            what, sitter.seat.side, dict(sets.values_list("file__digest", "file__name"))
        ),
        "sittings": Sitting.objects.visible_to(sitter).about(*own).order_by("day"),
        "documents": Document.objects.visible_to(sitter)
        .about(*own)
        .select_related("file")
        .order_by("created_at"),
        "pieces": RetainedPiece.objects.visible_to(sitter).about(*own).order_by("seal"),
    }


def asked_of(what: Lot | FirstArticle, side: str) -> list[str]:
    """The evidence that the terms ask of this side on this occasion, a sentence for each item."""
    occasion = "first_article" if isinstance(what, FirstArticle) else "release"
    if side == Side.CUSTOMER:
        occasion = "rejection"
    return [
        render(item_sentence("evidence.items", EvidenceDue, item.model_dump(mode="json")), gettext)
        for item in resolve(what.revision.document, what.part).evidence.items
        if item.supplied_by == side and item.occasion == occasion
    ]


def handed_in_before(
    what: Lot | FirstArticle, side: str, names: Mapping[str, str], until: dt.datetime | None = None
) -> list[tuple[str, str]]:
    """Which of these files (digest → name) a side handed in for another lot or first article of
    this dossier (until a moment): (name, number). The same bytes seldom speak for two lots.

    What was only measured for another lot is that side's own affair: the submission must name it.
    """
    sets = MeasuredSet.objects.filter(dossier=what.dossier, side_only=side, file__digest__in=names)
    subjects = sets.exclude(subject__in=["", what.subject]).values_list("subject", flat=True)
    keys = [subject.split("/")[-1] for subject in subjects]
    handed_in = (
        Submission.objects.filter(dossier=what.dossier, side=side)
        .filter(Q(lot__in=keys) | Q(article__in=keys))
        .select_related("lot", "article")
        .order_by("created_at")
    )
    if until is not None:
        handed_in = handed_in.filter(created_at__lt=until)
    found = {
        (name, submission.what.number): None
        for submission in handed_in
        for digest, name in names.items()
        if digest.encode() in bytes(submission.bytes)
    }
    return list(found)
