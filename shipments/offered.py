"""What a side has gathered for a lot or first article and would hand in now."""

from __future__ import annotations

from typing import Any

from evidence.models import Document, MeasuredSet, RetainedPiece, Sitting
from parties.models import Sitter
from shipments.models import FirstArticle, Lot


def offered(what: Lot | FirstArticle, sitter: Sitter) -> dict[str, Any]:
    """Evidence of the sitter's side about `what` that was not set aside."""
    own = (what.subject, sitter.seat.side)
    return {
        "sets": MeasuredSet.objects.visible_to(sitter)
        .about(*own)
        .select_related("file")
        .order_by("created_at"),
        "sittings": Sitting.objects.visible_to(sitter).about(*own).order_by("day"),
        "documents": Document.objects.visible_to(sitter)
        .about(*own)
        .select_related("file")
        .order_by("created_at"),
        "pieces": RetainedPiece.objects.visible_to(sitter).about(*own).order_by("seal"),
    }
