"""Other evidence of clause 8: documents and retained pieces, as a submission carries them."""

from __future__ import annotations

from collections.abc import Iterator

from django.utils.translation import gettext_lazy as _

from evidence.models import Document, MeasuredSet, RetainedPiece
from method import submission as doc
from method.terms import Resolved
from method.terms.models import Measurement
from method.verdict.rules import OCCASIONS
from parties.refusal import Refusal


def attachments(
    documents: list[Document], terms: Resolved, purpose: str, side: str
) -> tuple[doc.Attachment, ...]:
    """Each document once for every item of clause 8 that it answers on this occasion.

    A document that nobody asked for is handed in all the same, under the name of its kind.
    """
    return tuple(
        doc.Attachment(
            item=item,
            file=one.file.digest,
            name=one.file.name,
            media_type=one.file.media_type or None,
        )
        for one in documents
        for item in answered(one.answers, terms, purpose, side)
    )


def answered(kind: str, terms: Resolved, purpose: str, side: str) -> list[str]:
    """Ids of the items of clause 8 that a kind of evidence answers; the kind where there is none.

    The day by which it is due is not asked: what comes early is not late.
    """
    items = [
        item.id
        for item in terms.evidence.items
        if item.what == kind
        and item.occasion == OCCASIONS.get(purpose)
        and item.supplied_by in (None, side)
    ]
    return items or [kind]


def retained(pieces: list[RetainedPiece]) -> tuple[doc.Retained, ...]:
    """Pieces under seal."""
    return tuple(doc.Retained(seal=one.seal, specimen=one.specimen or None) for one in pieces)


def readings(one: MeasuredSet, clause: Measurement) -> Iterator[doc.Reading]:
    """A reading for every row of a set, with the place on the piece where one was said.

    Raises Refusal for a place that clause 5 does not name, where it names any: two spellings of
    one place would be two places.
    """
    known = [place.name for place in clause.places if place.name]
    if one.place and known and one.place not in known:
        raise Refusal(
            "place_unknown",
            _("%(file)s reads the place “%(place)s”, which the terms do not name. They name:"
              " %(known)s. Set these readings aside and confirm the file again."),
            file=one.file.name,
            place=one.place,
            known=", ".join(known),
        )  # fmt: skip
    for row, label in enumerate(one.labels):
        yield doc.Reading(row=row, specimen=label, place=one.place or None)
