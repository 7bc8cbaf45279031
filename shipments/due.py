"""What awaits a sitter about first articles and lots; the desk merges the apps' lists."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from django.db.models import OuterRef, Subquery
from django.utils.translation import gettext

from jobs import queue
from parties.access import STAFF
from parties.capacity import Capacity
from parties.due import Due
from parties.models import Dossier, Side
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
        "try_again": gettext("Judging the evidence of %(number)s stopped: try again"),
    }
    words = dict(Verdict.Outcome.choices).get(outcome, "")
    return templates[id] % {"number": number, "outcome": words}


def due(capacity: Capacity, day: dt.date) -> list[Due]:
    """What this sitter's side has to do in one dossier."""
    return due_in([capacity], day)


def due_in(capacities: Sequence[Capacity], day: dt.date) -> list[Due]:
    """The same for several dossiers of one person, in four queries."""
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
    for row in rows.order_by("created_at"):
        what = ARTICLES.get((own[row.dossier_id].side, row.status))
        if what:
            yield Due(what, words_of(what, row.number), row.get_absolute_url(), day)


def _lots(own: dict[object, Capacity], day: dt.date) -> Iterator[Due]:
    rows = Lot.objects.visible_to_any(by.sitter for by in own.values())
    rows = rows.filter(status__in={status for _side, status in LOTS})
    for row in rows.annotate(outcome=LAST_OUTCOME).order_by("created_at"):
        what = LOTS.get((own[row.dossier_id].side, row.status))
        if what == "release" and row.outcome != Verdict.Outcome.CONFORMING:
            what = "again"
        if what:
            until = row.reject_until if what == "accept" else None
            words = words_of(what, row.number, row.outcome or "")
            yield Due(what, words, row.get_absolute_url(), until or day)


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
