"""What becomes due in a firm's register: calibrations, expiries, retests, booth checks; and where
guests' seats in agreements end."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.urls import reverse
from django.utils.translation import gettext

from ledger import clock
from method.days import months_after
from parties.access import READING, SIGNERS, STAFF, TWO_SIDES
from parties.capacity import Capacity
from parties.models import Booth, Dossier, Instrument, Observer, Reference, RegisterRow, Role, Seat
from parties.sides import GUESTS
from parties.transitions.seat_ends import inviting_sides

AHEAD = dt.timedelta(days=30)
# Intervals without an agreement's own clause, and how long before its end a seat is told of: common
# practice, no published source.
RETEST_MONTHS = 24
BOOTH_CHECK_DAYS = 30
SEAT_AHEAD = dt.timedelta(days=14)


@dataclass(frozen=True)
class Due:
    """One thing to do: a stable id, words, where to do it, and by when."""

    id: str
    words: str
    url: str
    day: dt.date

    def past(self, today: dt.date) -> bool:
        """Whether the day has gone by."""
        return self.day < today


def due(capacity: Capacity, day: dt.date | None = None) -> list[Due]:
    """What is due in this register within 30 days after `day` (today by default), oldest first.

    Retests of other people are told to the quality lead only; everybody sees their own; observers
    and readers keep no register.
    """
    return due_in([capacity], day or clock.now().date())


def due_in(capacities: Sequence[Capacity], day: dt.date) -> list[Due]:
    """The same for several dossiers of one person, in a constant number of queries."""
    own = {by.dossier.pk: by for by in capacities if by.dossier.purpose == Dossier.Purpose.REGISTER}
    if not own:
        return []
    sitters = [by.sitter for by in own.values()]
    found = [
        one
        for model in (Instrument, Booth, Reference, Observer)
        for row in model.objects.visible_to_any(sitters).current().filter(retired=False)
        for one in of_row(row, day)
        if _concerns(own[row.dossier_id], row)
    ]
    return sorted(found, key=lambda one: (one.day, one.id))


def seats_due_in(capacities: Sequence[Capacity], day: dt.date) -> list[Due]:
    """Seats of guests that end within 14 days after `day`: told to those who may set another end,
    and to the guests themselves. A constant number of queries."""
    sitting = {
        by.dossier.pk: by
        for by in capacities
        if by.role in (SIGNERS if by.side in TWO_SIDES else READING)
        and by.side in GUESTS | TWO_SIDES
    }
    if not sitting:
        return []
    ending = Seat.objects.filter(
        dossier__in=sitting, side__in=GUESTS, until__gte=day, until__lte=day + SEAT_AHEAD
    ).select_related("organisation", "dossier")
    invited = inviting_sides(by.dossier for by in sitting.values())
    found = []
    for seat in ending:
        by = sitting[seat.dossier_id]
        # Of a guest whom nobody is known to have invited, both sides are told.
        host = invited.get((seat.dossier_id, seat.side), by.side) if by.side in TWO_SIDES else ""
        if seat.until and by.side in {seat.side, host}:
            found.append(_seat_due(seat, by, seat.until))
    return sorted(found, key=lambda one: (one.day, one.id))


def _seat_due(seat: Seat, by: Capacity, day: dt.date) -> Due:
    """To the guest it is their own seat; to the side that invited, one they may prolong."""
    words = gettext("The seat of %(firm)s in “%(title)s” ends")
    if by.side == seat.side:
        words = gettext("Your seat in “%(title)s” ends: take what you still need")
    said = words % {"firm": seat.organisation.name, "title": seat.dossier.title}
    url = reverse("parties:people", kwargs={"dossier": seat.dossier_id})
    return Due(f"seat_ends:{seat.pk.hex}", said, url, day)


def of_row(row: RegisterRow, day: dt.date) -> Iterator[Due]:
    """What is due for one thing within 30 days after `day`, or overdue."""
    for kind, on in _days(row):
        if on is not None and on <= day + AHEAD:
            words = _words(kind, row.name)
            yield Due(f"{kind}:{row.key.hex}", words, row.get_absolute_url(), on)


def _days(row: RegisterRow) -> Iterator[tuple[str, dt.date | None]]:
    if isinstance(row, Instrument):
        yield "calibration", row.calibration_due
    elif isinstance(row, Booth):
        checked = row.checked_on
        yield "booth_check", checked and checked + dt.timedelta(days=BOOTH_CHECK_DAYS)
    elif isinstance(row, Reference):
        yield "expiry", row.expires_on
    elif isinstance(row, Observer):
        yield "retest", row.tested_on and months_after(row.tested_on, RETEST_MONTHS)


def _words(kind: str, name: str) -> str:
    words = {
        "calibration": gettext("Calibrate %(name)s"),
        "booth_check": gettext("Check the booth %(name)s"),
        "expiry": gettext("Reference %(name)s expires"),
        "retest": gettext("Hue arrangement test of %(name)s"),
    }
    return words[kind] % {"name": name}


def _concerns(capacity: Capacity, row: RegisterRow) -> bool:
    """A test concerns its observer and the lead; other things those who keep the register."""
    if isinstance(row, Observer):
        return capacity.role == Role.QUALITY_LEAD or row.person_id == capacity.person.pk
    return capacity.role in STAFF
