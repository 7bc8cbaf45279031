"""What people typed in the played world: words that stand on pages as they are."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from agreements.models import Remark, Revision, Standing
from disputes.models import Dispute, Note, Offer, Post
from disputes.settlement import read_settlement
from evidence.models import EvidenceFile, MeasuredSet, RetainedPiece, Sitting
from ledger.models import Entry
from parties.keys import installation
from parties.models import (
    Booth,
    Dossier,
    Instrument,
    Invitation,
    Observer,
    Organisation,
    Person,
    Reference,
    Sitter,
)
from shipments.models import FirstArticle, Lot

FIELDS: dict[type[Any], tuple[str, ...]] = {
    Person: ("name", "email"),
    Organisation: ("name",),
    Dossier: ("title",),
    Sitter: ("code",),
    Invitation: ("email", "organisation_name"),
    Booth: ("name", "technology", "zone"),
    Instrument: ("name",),
    Observer: ("name",),
    Reference: ("name", "part", "colour"),
    EvidenceFile: ("name",),
    MeasuredSet: ("instrument_name", "reference_name"),
    RetainedPiece: ("seal", "note"),
    Sitting: ("booth_name", "reference_name"),
    FirstArticle: ("number", "part_words", "decision_note"),
    Lot: ("number", "order", "part_words"),
    Revision: ("note",),
    Remark: ("text", "struck_reason"),
    Standing: ("reason",),
    Dispute: ("text",),
    Post: ("text", "struck_reason"),
    Note: ("text",),
}
# What people typed into an act, as its entry keeps it.
TEXTS = ("text", "note", "reason", "name", "title")


def typed() -> Iterator[str]:
    """Every typed text, and the texts in the terms of the revisions."""
    for model, fields in FIELDS.items():
        for row in model.objects.all():
            yield from (str(getattr(row, name)) for name in fields)
    for revision in Revision.objects.all():
        for part in revision.document.parts:
            yield from (part.number, part.name, part.colour)
        yield from (one.label for one in revision.document.shared.changes.signatories)
    for booth in Booth.objects.all():
        yield from (str(light.get("technology", "")) for light in booth.other_lights)
    yield from (str(read_settlement(bytes(offer.bytes))["text"]) for offer in Offer.objects.all())
    for entry in Entry.objects.all():
        yield from (str(entry.payload[name]) for name in TEXTS if name in entry.payload)
        yield from (seat["name"] for seat in entry.payload.get("seats", []))
    yield installation().name
    yield from (post["name"] for row in Post.objects.all() for post in row.files)
