"""People of a dossier: members and invitations of a firm, or who sits in an agreement."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from parties.access import KEEPERS, READING, for_seat
from parties.acts import Act
from parties.capacity import Capacity
from parties.models import Dossier, Invitation, Membership, Role, Seat, Sitter
from parties.people_acts import IN_AGREEMENT, IN_FIRM, INVITE, LIMIT, WITHDRAW
from parties.personal_acts import NAME
from parties.transitions import limitable
from parties.transitions.invitations import free_sides
from parties.transitions.personal import nameable

# Whose names the other sides read: those who sign. Everybody else is a code to them.
NAMED = frozenset({Role.QUALITY_LEAD, Role.DEPUTY})


@for_seat(roles=READING | {Role.ADMINISTRATOR})
def people(request: HttpRequest, sitter: Sitter, dossier: Dossier) -> HttpResponse:
    """Who sits here, and which invitations of one's own side are open."""
    own = dossier.purpose == Dossier.Purpose.REGISTER
    sitting = (
        Sitter.objects.today()
        .filter(dossier=dossier)
        .select_related("seat__organisation", "person")
        .order_by("seat__side", "seat__organisation__name", "code")
    )
    context = {
        "obj": dossier,
        "own": own,
        "sitting": [(one, _named(one, sitter)) for one in sitting],
        "members": _members(sitter) if own else [],
        "invitations": _invitations(sitter),
        "acts": IN_FIRM if own else _acts(sitter),
        "ends": [] if own else _ends(dossier),
        "today": timezone.now().date(),
        "withdraw": WITHDRAW if WITHDRAW.open_to(sitter) else None,
    }
    return render(request, "parties/people.html", context)


def _acts(sitter: Sitter) -> list[Act]:
    """An end is set only where a guest of one's own side sits, a name entered only where there is
    one to enter, and a firm invited only where a seat is free."""
    by = Capacity(sitter)
    wanted = {LIMIT.name: limitable(by), INVITE.name: free_sides(by)}
    found = [act for act in IN_AGREEMENT if wanted.get(act.name, True)]
    return [*found, NAME] if NAME.open_to(sitter) and nameable(by) else found


def _ends(dossier: Dossier) -> list[Seat]:
    """Seats that end or have ended."""
    seats = Seat.objects.filter(dossier=dossier, until__isnull=False)
    return list(seats.select_related("organisation").order_by("until", "code"))


def _named(one: Sitter, reader: Sitter) -> bool:
    return one.seat_id == reader.seat_id or one.role in NAMED


def _members(sitter: Sitter) -> list[Membership]:
    members = Membership.objects.filter(organisation=sitter.seat.organisation, active=True)
    return list(members.select_related("person").order_by("person__name"))


def _invitations(sitter: Sitter) -> list[Invitation]:
    """Open invitations with their addresses: for those who may invite."""
    if sitter.role not in NAMED | KEEPERS:
        return []
    found = Invitation.objects.visible_to(sitter).filter(status=Invitation.Status.OPEN)
    return list(found.order_by("-created_at"))
