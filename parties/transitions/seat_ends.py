"""Until when a guest (an auditor, a referee) sits: set and changed by the side that invited them.

The day after, the seat is closed by itself: `SitterQuerySet.today` gives no sitter of an ended one.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from django.db import transaction
from django.utils.translation import gettext_lazy as _

from ledger import chain, clock
from ledger.chain import Actor
from ledger.kinds import Kind
from parties.access import SIGNERS, TWO_SIDES
from parties.capacity import Capacity
from parties.models import Dossier, Invitation, Seat
from parties.refusal import Refusal
from parties.sides import GUESTS


def inviting_sides(dossiers: Iterable[Dossier]) -> dict[tuple[object, str], str]:
    """Which side invited a guest: (dossier's key, guest's side) → side. One query."""
    taken = Invitation.objects.filter(
        dossier__in=list(dossiers), side__in=GUESTS, status=Invitation.Status.ACCEPTED
    ).order_by("accepted_at")
    return {(one.dossier_id, one.side): one.side_only for one in taken}


def limitable(by: Capacity) -> list[Seat]:
    """The guests' seats whose end `by` may set: those that their side invited, and those of
    which nobody knows any more who invited them."""
    if by.side not in TWO_SIDES or by.role not in SIGNERS:
        return []
    seats = by.dossier.seats.filter(side__in=GUESTS).select_related("organisation", "dossier")
    invited = inviting_sides([by.dossier])
    return [
        seat
        for seat in seats.order_by("code")
        if invited.get((seat.dossier_id, seat.side), by.side) == by.side
    ]


def limit_seat(seat: Seat, *, by: Capacity, until: dt.date | None, reason: str = "") -> Seat:
    """Let a guest's seat end after this day, or go on without an end (None). Entry: seat.limited.

    An ended seat can be given a later end: its people sit again. Refused: a side's own seat, the
    other side's guest, a day that has gone by, the end it has already.
    """
    if seat not in limitable(by):
        raise Refusal(
            "seat.not_your_guest",
            _("Only the lead or deputy of the side that invited this firm sets its seat's end."),
        )
    if until is not None and until < clock.now().date():
        raise Refusal(
            "seat.day_past", _("This day has gone by: name today or a later one."), field="until"
        )
    if until == seat.until:
        raise Refusal("seat.same_end", _("The seat ends like this already."), field="until")
    with transaction.atomic():
        moved = Seat.objects.filter(pk=seat.pk, until=seat.until)
        if seat.until is None:
            moved = Seat.objects.filter(pk=seat.pk, until__isnull=True)
        if moved.update(until=until) != 1:
            raise Refusal("seat.moved", _("Somebody else has changed this seat: look again."))
        seat.until = until
        record_limit(seat, by.actor(), chain.new_act(), reason)
    return seat


def record_limit(seat: Seat, actor: Actor, act: str, reason: str = "") -> None:
    """The entry, where a chain exists."""
    if not chain.exists(seat.dossier.chain):
        return
    chain.append(
        seat.dossier.chain,
        by=actor,
        kind=Kind.SEAT_LIMITED,
        subject=f"seat:{seat.code}",
        act=act,
        payload={
            "side": seat.side,
            "organisation": seat.code,
            "until": seat.until.isoformat() if seat.until else None,
            "reason": reason,
        },
    )
