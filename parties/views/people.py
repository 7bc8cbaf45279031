"""People of a dossier: members and invitations of a firm, or who sits in an agreement."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from parties.access import READING, for_seat
from parties.models import Dossier, Invitation, Membership, Role, Sitter
from parties.people_acts import IN_AGREEMENT, IN_FIRM, KEEPERS, WITHDRAW

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
        "acts": IN_FIRM if own else IN_AGREEMENT,
        "withdraw": WITHDRAW if WITHDRAW.open_to(sitter) else None,
    }
    return render(request, "parties/people.html", context)


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
