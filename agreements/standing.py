"""What is in force: derived from signatures, dates, supersession and standing, never stored."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from agreements.models import Revision, Standing
from ledger import clock
from method.terms.models import Terms
from parties.models import Dossier

TAKES_NEW = "take_new_revision"


def in_force(dossier: Dossier, day: dt.date) -> Revision | None:
    """The revision that binds the two sides on this day (a day in the agreement's zone).

    A signed revision is in force from the day that its clause 10 names, or from the day of the
    second signature; a later signed one supersedes it from its own first day, and when that one
    ends, the earlier does not come back. Nothing is in force while suspended or once ended.
    """
    if stands_on(dossier, day) in (Standing.State.SUSPENDED, Standing.State.ENDED):
        return None
    for revision in signed(dossier):
        starts, ends = term_of(revision)
        if starts <= day:
            return revision if ends is None or day <= ends else None
    return None


def revision_for_order(
    dossier: Dossier, accepted_on: dt.date, opened_on: dt.date | None = None
) -> Revision | None:
    """The revision that binds a lot of an order accepted on a day.

    By default the one in force on that day. Where the revision in force on `opened_on` (when the
    lot is opened) says that open orders take the new revision, it is that one.
    """
    if opened_on is not None:
        present = in_force(dossier, opened_on)
        if present is not None and present.document.shared.scope.open_orders == TAKES_NEW:
            return present
    return in_force(dossier, accepted_on)


def signed(dossier: Dossier) -> list[Revision]:
    """The signed revisions, latest first."""
    rows = Revision.objects.filter(dossier=dossier, status=Revision.Status.SIGNED)
    return list(rows.order_by("-number"))


def term_of(revision: Revision) -> tuple[dt.date, dt.date | None]:
    """First and last day of a signed revision; None for the last while no end is agreed."""
    terms = revision.document
    changes = terms.shared.changes
    assert revision.signed_at is not None  # noqa: S101  (a constraint of the table)
    first = changes.starts_on or revision.signed_at.astimezone(zone_of(terms)).date()
    return first, changes.ends_on


def zone_of(terms: Terms) -> ZoneInfo:
    """The zone in which the agreement's days are counted; UTC where the terms name none."""
    try:
        return ZoneInfo(terms.shared.disputes.zone or "UTC")
    except (ValueError, OSError, ZoneInfoNotFoundError):  # free text in the terms: a folder's name
        return ZoneInfo("UTC")


def today_in(dossier: Dossier) -> dt.date:
    """The present day in the zone of the revision signed last (UTC before any is signed)."""
    latest = signed(dossier)[:1]
    zone = zone_of(latest[0].document) if latest else ZoneInfo("UTC")
    return clock.now().astimezone(zone).date()


def stands_on(dossier: Dossier, day: dt.date) -> str:
    """The standing on a day: "", suspended, resumed or ended."""
    rows = Standing.objects.filter(dossier=dossier, from_day__lte=day).order_by("-number")
    return rows.values_list("state", flat=True).first() or ""


def standing_of(dossier: Dossier) -> str:
    """The standing last decided, from whichever day: "", suspended, resumed or ended."""
    rows = Standing.objects.filter(dossier=dossier).order_by("-number")
    return rows.values_list("state", flat=True).first() or ""
