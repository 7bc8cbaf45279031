"""What the pages gather; every list starts from `visible_to`."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.http import Http404, HttpRequest
from django.utils.functional import Promise

from agreements import acts
from agreements.models import Draft, Remark, Revision
from agreements.moves import revision_acts
from agreements.transitions.signing import WHAT
from agreements.words import Said, Section
from parties.acts import Act
from parties.models import Invitation, Signature, Sitter
from parties.models.keys import ASSURANCES


@dataclass(frozen=True)
class Signed:
    """A signature with what can be said of its assurance."""

    row: Signature
    assurance: str | Promise


@dataclass(frozen=True)
class SaidWithRemarks:
    """A sentence and the remarks on its item."""

    said: Said
    remarks: list[Remark]


@dataclass(frozen=True)
class SectionWithRemarks:
    """A clause, its sentences, and the remarks on the clause as a whole."""

    section: Section
    lines: list[SaidWithRemarks]
    remarks: list[Remark]


def own_draft(sitter: Sitter) -> Draft | None:
    """The draft of the sitter's side, without its text."""
    rows = Draft.objects.visible_to(sitter).filter(side_only=sitter.seat.side)
    found: Draft | None = rows.defer("terms").first()
    return found


def acts_on(
    revision: Revision, sitter: Sitter, latest: Revision | None, draft: Draft | None
) -> list[Act]:
    """The acts that the revision's state leaves to the sitter's side."""
    names = revision_acts(
        revision,
        sitter.seat.side,
        latest=latest is not None and latest.pk == revision.pk,
        has_draft=draft is not None,
    )
    return acts.named(acts.REVISION, names)


def signatures(sitter: Sitter, revisions: Iterable[Revision]) -> dict[uuid.UUID, list[Signed]]:
    """The signatures on these revisions, by revision."""
    keys = {str(row.pk): row.pk for row in revisions}
    found: dict[uuid.UUID, list[Signed]] = {}
    rows = Signature.objects.visible_to(sitter).filter(what=WHAT, subject__in=list(keys))
    for row in rows.with_key_ends().order_by("created_at"):
        words = ASSURANCES.get(row.assurance, row.assurance)
        found.setdefault(keys[row.subject], []).append(Signed(row, words))
    return found


def invitations(sitter: Sitter) -> list[Invitation]:
    """The invitations that the sitter's side has open."""
    rows = Invitation.objects.visible_to(sitter).filter(status=Invitation.Status.OPEN)
    return list(rows.order_by("created_at"))


def with_remarks(
    sections: Sequence[Section], remarks: Sequence[Remark]
) -> list[SectionWithRemarks]:
    """Each clause with its remarks at the item, or at the clause, they were made on."""
    by_place: dict[tuple[str, str], list[Remark]] = {}
    for remark in remarks:
        by_place.setdefault((remark.clause, remark.item), []).append(remark)
    made = []
    for section in sections:
        lines = [
            SaidWithRemarks(said, by_place.get((section.id, said.item), []) if said.item else [])
            for said in section.said
        ]
        made.append(SectionWithRemarks(section, lines, by_place.get((section.id, ""), [])))
    return made


def chosen(
    request: HttpRequest, others: Sequence[Revision], usual: Revision | None
) -> Revision | None:
    """The revision that the reader asks to compare with, among those they see; or the usual one."""
    asked = request.GET.get("with", "")
    if not asked:
        return usual
    other = next((row for row in others if str(row.number) == asked), None)
    if other is None:
        raise Http404
    return other
