"""What awaits a sitter in their agreements; the desk merges this with the other apps' lists."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from agreements.models import Draft, Revision
from agreements.models.revisions import PARTIES
from agreements.moves import next_move
from parties.access import SIGNERS, STAFF
from parties.capacity import Capacity
from parties.due import Due
from parties.models import Dossier, Invitation, Sitter

WORDS: dict[str, str | Promise] = {
    "answer": _("Answer the proposal: %(title)s"),
    "sign": _("Sign the agreed revision: %(title)s"),
    "draft": _("Your side's draft is open: %(title)s"),
    "invitation": _("An invitation has not been accepted yet: %(title)s"),
}


def due(capacity: Capacity, day: dt.date) -> list[Due]:
    """What this sitter has to do in the dossier of `capacity`, as of a day."""
    return due_in([capacity], day)


def due_in(capacities: Sequence[Capacity], day: dt.date) -> list[Due]:
    """The same for several dossiers of one person, in a constant number of queries."""
    own = [
        by
        for by in capacities
        if by.side in PARTIES and by.dossier.purpose == Dossier.Purpose.AGREEMENT
    ]
    if not own:
        return []
    sitters = [by.sitter for by in own]
    latest = _latest(sitters)
    drafts = {row.dossier_id: row for row in Draft.objects.visible_to_any(sitters).defer("terms")}
    mine = Invitation.objects.visible_to_any(sitters)
    open_ones = mine.filter(status=Invitation.Status.OPEN)
    invited = {row.dossier_id: row for row in open_ones.order_by("created_at")}
    found: list[Due] = []
    for by in own:
        key = by.dossier.pk
        found += _of(by, day, latest.get(key), drafts.get(key), invited.get(key))
    return found


def _latest(sitters: list[Sitter]) -> dict[object, Revision]:
    """The latest revision of each dossier."""
    rows = Revision.objects.visible_to_any(sitters).defer("terms").order_by("number")
    return {row.dossier_id: row for row in rows}


def _of(
    by: Capacity,
    day: dt.date,
    latest: Revision | None,
    draft: Draft | None,
    invited: Invitation | None,
) -> list[Due]:
    """One dossier's list for one sitter; what has no agreed day is due on `day`."""
    found = []
    move = next_move(latest)
    signs = by.role in SIGNERS
    if latest is not None and move.awaits(by.side) and move.id in WORDS and signs:
        words, url = WORDS[move.id], latest.get_absolute_url()
        found.append(_due(by, f"revision_{move.id}", words, url, day))
    if draft is not None and by.role in STAFF:
        found.append(_due(by, "draft", WORDS["draft"], draft.get_absolute_url(), day))
    if invited is not None and signs:
        until = invited.expires_at.date()
        words, url = WORDS["invitation"], invited.get_absolute_url()
        found.append(_due(by, "invitation", words, url, until))
    return found


def _due(by: Capacity, id: str, words: str | Promise, url: str, day: dt.date) -> Due:
    title = by.dossier.title
    return Due(f"{id}:{by.dossier.pk.hex}", str(words) % {"title": title}, url, day)
