"""What awaits a sitter about first articles and lots; the desk merges the apps' lists."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterator, Sequence
from typing import Any

from django.db.models import OuterRef, Subquery
from django.urls import reverse
from django.utils.translation import gettext

from jobs import queue
from parties.access import LEADS, STAFF
from parties.capacity import Capacity
from parties.due import Due
from parties.models import Dossier, Side
from shipments.lists import NOTHING, asking, latest, signatures_of
from shipments.models import FirstArticle, Lot, Submission, Verdict

# (side, status) → id and words; what a side has to do next.
ARTICLES = {
    (Side.CUSTOMER, FirstArticle.Status.SUBMITTED): "decide",
    (Side.SUPPLIER, FirstArticle.Status.TO_BE_CORRECTED): "correct",
    (Side.SUPPLIER, FirstArticle.Status.PREPARING): "prepare",
}
LOTS = {
    (Side.SUPPLIER, Lot.Status.OPEN): "hand_in",
    (Side.SUPPLIER, Lot.Status.JUDGED): "release",
    (Side.CUSTOMER, Lot.Status.RELEASED): "receive",
    (Side.CUSTOMER, Lot.Status.RECEIVED): "accept",
}
SOME_SIGNED = b'"signed_by_lead":true'  # as canonical bytes of terms write it
# The verdict on a lot's last submission for release.
LAST_OUTCOME = Subquery(
    Verdict.objects.filter(submission__lot=OuterRef("pk"), submission__purpose="lot")
    .order_by("-submission__nth")
    .values("outcome")[:1]
)


def words_of(id: str, number: str, outcome: str = "") -> str:
    """What is to be done, in the reader's language."""
    templates = {
        "decide": gettext("Decide on first article %(number)s"),
        "correct": gettext("Correct first article %(number)s"),
        "prepare": gettext("Submit first article %(number)s"),
        "hand_in": gettext("Hand in the evidence of lot %(number)s"),
        "release": gettext("Release lot %(number)s"),
        "again": gettext("Lot %(number)s, %(outcome)s: hand in again, or withdraw it"),
        "receive": gettext("Confirm receipt of lot %(number)s"),
        "accept": gettext("Accept or reject lot %(number)s"),
        "sign": gettext("Sign the evidence of %(number)s, as clause 8 asks"),
        "lead_signs": gettext("The evidence of %(number)s waits for your quality lead's signature"),
        "try_again": gettext("Judging the evidence of %(number)s stopped: try again"),
    }
    words = dict(Verdict.Outcome.choices).get(outcome, "")
    return templates[id] % {"number": number, "outcome": words}


def due(capacity: Capacity, day: dt.date) -> list[Due]:
    """What this sitter's side has to do in one dossier."""
    return due_in([capacity], day)


def due_in(capacities: Sequence[Capacity], day: dt.date) -> list[Due]:
    """The same for several dossiers of one person, in a constant number of queries."""
    own = {
        by.dossier.pk: by
        for by in capacities
        if by.role in STAFF and by.dossier.purpose == Dossier.Purpose.AGREEMENT
    }
    if not own:
        return []
    return [*_articles(own, day), *_lots(own, day), *_stopped(own, day)]


def _articles(own: dict[object, Capacity], day: dt.date) -> Iterator[Due]:
    rows = FirstArticle.objects.visible_to_any(by.sitter for by in own.values())
    rows = rows.filter(status__in={status for _side, status in ARTICLES})
    found = list(rows.select_related("revision").order_by("created_at"))
    waiting = [row for row in found if row.status == FirstArticle.Status.SUBMITTED]
    unsigned = _unsigned(waiting)
    for row in found:
        by = own[row.dossier_id]
        if row.pk in unsigned and by.side == Side.SUPPLIER:
            yield _signing(row, by, day)
        what = ARTICLES.get((by.side, row.status))
        if what:
            yield Due(what, words_of(what, row.number), row.get_absolute_url(), day)


def _lots(own: dict[object, Capacity], day: dt.date) -> Iterator[Due]:
    rows = Lot.objects.visible_to_any(by.sitter for by in own.values())
    rows = rows.filter(status__in={status for _side, status in LOTS}).select_related("revision")
    found = list(rows.annotate(outcome=LAST_OUTCOME).order_by("created_at"))
    unsigned = _unsigned([row for row in found if row.outcome == Verdict.Outcome.CONFORMING])
    for row in found:
        by = own[row.dossier_id]
        what = LOTS.get((by.side, row.status))
        if what == "release" and row.outcome != Verdict.Outcome.CONFORMING:
            what = "again"
        elif what == "release" and row.pk in unsigned:
            yield _signing(row, by, day)
            continue
        if what:
            until = row.reject_until if what == "accept" else None
            words = words_of(what, row.number, row.outcome or "")
            yield Due(what, words, row.get_absolute_url(), until or day)


def _unsigned(found: Sequence[Any]) -> set[uuid.UUID]:
    """Those lots (or first articles) whose evidence a lead has yet to sign by clause 8."""
    asked = [row for row in found if _asked(row)]
    kind = "article" if asked and isinstance(asked[0], FirstArticle) else "lot"
    purpose = "first_article" if kind == "article" else "lot"
    # The empty key keeps the number of queries the same where nothing waits.
    keys = [NOTHING, *(row.pk for row in asked)]
    rows = Submission.objects.filter(purpose=purpose, **{f"{kind}__in": keys}).defer("bytes")
    last = list(latest(rows))
    made = signatures_of(last)
    return {getattr(one, f"{kind}_id") for one in last if one.pk not in made}


def _asked(row: Any) -> bool:
    """Whether clause 8 asks for it. Terms in which no item does are not looked through."""
    if SOME_SIGNED not in bytes(row.revision.terms):
        return False
    occasion = "first_article" if isinstance(row, FirstArticle) else "release"
    return occasion in asking(row.revision, row.part)


def _signing(row: Any, by: Capacity, day: dt.date) -> Due:
    """The lead signs; a colleague can draw up the list, and knows what the thing waits for."""
    what = "sign" if by.role in LEADS else "lead_signs"
    url = reverse("shipments:lists", kwargs={"dossier": row.dossier_id})
    return Due(what, words_of(what, row.number), url, day)


def _stopped(own: dict[object, Capacity], day: dt.date) -> Iterator[Due]:
    """Evidence that one's side handed in and whose judging failed: somebody has to act on it."""
    rows = Submission.objects.visible_to_any(by.sitter for by in own.values())
    rows = rows.filter(verdict__isnull=True).select_related("lot", "article")
    waiting = {row.subject: row for row in rows if row.side == own[row.dossier_id].side}
    # The empty subject keeps the number of queries the same where nothing waits.
    for job in queue.failed("", *waiting):
        row = waiting.get(job.subject)
        if row is not None:
            words = words_of("try_again", row.what.number)
            yield Due("try_again", words, row.get_absolute_url(), day)
