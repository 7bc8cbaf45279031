"""What can be done about people: invite, seat, unseat, change a role, let go."""

from __future__ import annotations

import datetime as dt
from typing import Any

from django.utils.translation import gettext_lazy as _

from parties.access import KEEPERS, LEADS, SIGNERS, TWO_SIDES
from parties.acts import Act
from parties.capacity import Capacity
from parties.forms.people import (
    ColleagueForm,
    FirmForm,
    LeavingForm,
    RoleForm,
    SeatEndForm,
    UnseatForm,
)
from parties.models import Dossier, Invitation, Membership, Role, Seat, Side, Sitter
from parties.transitions import (
    change_role,
    invite,
    limit_seat,
    remove_member,
    seat_person,
    unseat,
    withdraw_invitation,
)

SENT = _("The invitation was sent, if mail can reach this address.")


def _invite_colleague(dossier: Dossier, *, by: Capacity, email: str, role: str) -> Any:
    return invite(by, email=email, role=role)


def _invite_firm(
    dossier: Dossier,
    *,
    by: Capacity,
    email: str,
    side: str,
    organisation_name: str,
    seat_until: dt.date | None,
) -> Any:
    return invite(
        by,
        email=email,
        side=side,
        organisation_name=organisation_name,
        seat_until=seat_until,
    )


def _seat(dossier: Dossier, *, by: Capacity, member: Membership, role: str) -> Any:
    seat_person(by.sitter.seat, by=by, member=member, role=role)


def _unseat(dossier: Dossier, *, by: Capacity, sitter: Sitter, reason: str) -> Any:
    unseat(sitter, by=by, reason=reason)


def _limit(
    dossier: Dossier, *, by: Capacity, seat: Seat, until: dt.date | None, reason: str
) -> Any:
    limit_seat(seat, by=by, until=until, reason=reason)


def _change_role(dossier: Dossier, *, by: Capacity, member: Membership, role: str) -> Any:
    change_role(member, by=by, role=role)


def _let_go(dossier: Dossier, *, by: Capacity, member: Membership, reason: str) -> Any:
    remove_member(member, by=by, reason=reason)


FIRM = {
    "sides": {Side.OWN},
    "roles": KEEPERS,
    "purpose": Dossier.Purpose.REGISTER,
    "back": "parties:people",
}

IN_FIRM = [
    Act(
        name="invite-colleague",
        title=_("Invite a colleague"),
        do=_invite_colleague,
        form=ColleagueForm,
        explain=_(
            "They become a member of your firm and sit in its register and, unless they are an "
            "administrator, in its agreements."
        ),
        done=SENT,
        **FIRM,
    ),
    Act(
        name="change-role",
        title=_("Change a colleague's role"),
        do=_change_role,
        form=RoleForm,
        explain=_("In the firm and its register. In agreements the role is changed there."),
        done=_("The role was changed."),
        **FIRM,
    ),
    Act(
        name="let-go",
        title=_("Let a colleague go"),
        do=_let_go,
        form=LeavingForm,
        explain=_("They leave the firm and all its seats. What they did stays in the records."),
        done=_("They are no longer a member of your firm."),
        **FIRM,
    ),
]
LIMIT = Act(
    name="limit-seat",
    title=_("Set until when an auditor sits here"),
    do=_limit,
    form=SeatEndForm,
    roles=SIGNERS,
    explain=_(
        "From the day after, nobody of that firm reads here any more. What they did stays in the "
        "record. The end enters the record too."
    ),
    done=_("The end of the seat was set."),
)
INVITE = Act(
    name="invite-firm",
    title=_("Invite a firm or an auditor"),
    do=_invite_firm,
    form=FirmForm,
    roles=SIGNERS,
    explain=_("Whoever accepts sees what is shared here. An auditor sees what entered the chain."),
    done=SENT,
)
IN_AGREEMENT = [
    INVITE,
    Act(
        name="seat-colleague",
        title=_("Seat a colleague, or change their role here"),
        do=_seat,
        form=RoleForm,
        roles=LEADS,
        done=_("They sit here now."),
    ),
    Act(
        name="unseat-colleague",
        title=_("Unseat a colleague"),
        do=_unseat,
        form=UnseatForm,
        roles=LEADS,
        done=_("They do not sit here any more."),
    ),
    LIMIT,
]
WITHDRAW = Act(
    name="withdraw",
    noun="invitation",
    model=Invitation,
    title=_("Withdraw the invitation"),
    do=withdraw_invitation,
    sides=TWO_SIDES | {Side.OWN},
    roles=SIGNERS | {Role.ADMINISTRATOR},
    purpose=None,
    explain=_("The link that was sent stops working."),
    done=_("The invitation was withdrawn."),
)
ACTS = [*IN_FIRM, *IN_AGREEMENT, WITHDRAW]
