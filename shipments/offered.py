"""What a side has gathered for a lot or first article and would hand in now."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from evidence.models import Document, MeasuredSet, RetainedPiece, Sitting
from parties.models import Sitter
from shipments.models import FirstArticle, Lot, Submission


def offered(what: Lot | FirstArticle, sitter: Sitter) -> dict[str, Any]:
    """Evidence of the sitter's side about `what` that was not set aside."""
    own = (what.subject, sitter.seat.side)
    sets = MeasuredSet.objects.visible_to(sitter).about(*own).select_related("file")
    return {
        "sets": sets.order_by("created_at"),
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


def handed_in_before(
    what: Lot | FirstArticle, side: str, names: Mapping[str, str]
) -> list[tuple[str, str]]:
    """Which of these files (digest → name) a side handed in for another lot or first article of
    this dossier: (name, number). The same bytes seldom speak for two lots; readers are told.
    """
    sets = MeasuredSet.objects.filter(
        dossier=what.dossier, side_only=side, file__digest__in=list(names)
    ).filter(reference__isnull=True, set_aside_at__isnull=True)
    others = sets.exclude(subject__in=["", what.subject])
    keys = {
        subject.split("/")[-1]: names[digest]
        for digest, subject in others.values_list("file__digest", "subject")
    }
    handed_in = Submission.objects.filter(dossier=what.dossier, side=side)
    lots = handed_in.filter(lot__in=list(keys)).values_list("lot_id", "lot__number")
    articles = handed_in.filter(article__in=list(keys))
    found = {*lots, *articles.values_list("article_id", "article__number")}
    return sorted((keys[str(key)], number) for key, number in found)
