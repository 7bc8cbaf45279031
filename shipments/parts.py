"""Parts and colours of a revision, by their ids."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from agreements.models import Revision
from method.terms import Part
from parties.refusal import Refusal


def part_of(revision: Revision, part: str) -> Part:
    """The part of this id; Refusal where the revision has none."""
    for one in revision.document.parts:
        if one.id == part:
            return one
    raise Refusal(
        "unknown_part",
        _("Revision %(number)s knows no such part."),
        field="part",
        number=revision.number,
    )


def part_words(part: Part) -> str:
    """How people name a part: number, name, colour."""
    return ", ".join(text for text in (part.number, part.name, part.colour) if text) or part.id
