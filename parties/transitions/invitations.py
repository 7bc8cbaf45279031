"""Invitations: made for one address, accepted once by whoever holds the token and the address."""

from __future__ import annotations

import datetime as dt
import hashlib
import secrets
from dataclasses import dataclass

from django.conf import settings
from django.db import transaction
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from jobs import mail
from parties.access import KEEPERS, LEADS, SIGNERS, TWO_SIDES
from parties.capacity import Capacity
from parties.keys import installation
from parties.mailed_notes import KEEP_INVITATION, ending
from parties.models import Dossier, Invitation, Membership, Organisation, Person, Role, Side, Sitter
from parties.refusal import Refusal
from parties.transitions.firms import join, new_firm
from parties.transitions.seats import seat_organisation

TOKEN_BYTES = 32
VALID = dt.timedelta(days=14)
MOST_OPEN = 50  # open invitations of one dossier: mail cannot be sent without end
INVITED_SIDES = (Side.CUSTOMER, Side.SUPPLIER, Side.AUDITOR)
# Why a firm is not invited to a seat that is taken; of an auditor's, what to do instead.
TAKEN = {
    False: _("A firm sits on this side already. Nothing was sent."),
    True: _(
        "A firm sits as auditor already; a second one could not accept. Nothing was sent. Its own "
        "people invite their colleagues, who then read here too."
    ),
}
# Members who may bind their firm by taking a seat for it.
BINDING = frozenset({Role.QUALITY_LEAD, Role.DEPUTY, Role.ADMINISTRATOR})


@dataclass(frozen=True)
class Founded:
    """A new firm: its register, and the lead who sits there or the invitation for the lead."""

    organisation: Organisation
    register: Dossier
    lead: Sitter | None
    invitation: Invitation | None


def found_organisation(
    name: str, lead_name: str, lead_email: str, password: str | None = None
) -> Founded:
    """The operator's way to let a firm in: organisation, register with its `own` seat, lead.

    With a password the lead is made at once (a set-up by script); without one an invitation is
    made, whose link the operator hands over. An address that is known keeps its password.
    """
    with transaction.atomic():
        installation()
        organisation, register = new_firm(name)
        if password is None:
            invitation = _make(
                register, lead_email, Role.QUALITY_LEAD, None, organisation=organisation
            )
            _send(invitation, gettext("the operator of this installation"))
            return Founded(organisation, register, None, invitation)
        email = Person.objects.normal(lead_email)
        person = Person.objects.filter(email=email).first()
        if person is None:
            person = Person.objects.create_user(email, password, name=lead_name)
        lead = join(organisation, person, Role.QUALITY_LEAD)
    return Founded(organisation, register, lead, None)


def invite(
    by: Capacity,
    *,
    email: str,
    role: str = Role.QUALITY_LEAD,
    side: str = "",
    organisation_name: str = "",
    seat_until: dt.date | None = None,
) -> Invitation:
    """Invite an address: a colleague into one's own firm (no `side`), or another firm into the
    agreement's seat `side`. The dossier is that of `by`.

    Known and unknown addresses get the same answer, the same rows and the same mail. The token
    is on the returned object (`.token`) and in the mail; only its hash is stored.
    """
    _may_invite(by, side)
    if side and side not in free_sides(by):
        raise Refusal("seat.taken", TAKEN[side == Side.AUDITOR], field="side")
    colleague = not side
    with transaction.atomic():
        invitation = _make(
            by.dossier,
            email,
            Role.READER if side == Side.AUDITOR else role,
            by,
            organisation=by.organisation if colleague else None,
            side=side,
            organisation_name=by.organisation.name if colleague else organisation_name,
            seat_until=seat_until if side == Side.AUDITOR else None,
        )
        _send(invitation, by.organisation.name)
    return invitation


def withdraw_invitation(invitation: Invitation, *, by: Capacity) -> Invitation:
    """The link of an open invitation stops working."""
    _may_invite(by, invitation.side)
    moved = Invitation.objects.filter(
        pk=invitation.pk, status=Invitation.Status.OPEN, side_only=by.side
    ).update(status=Invitation.Status.WITHDRAWN)
    if moved != 1:
        raise Refusal("invitation.not_open", _("This invitation is not open any more."))
    invitation.status = Invitation.Status.WITHDRAWN
    return invitation


def find_invitation(token: str) -> Invitation | None:
    """The invitation that can be accepted with this token, or None."""
    return (
        Invitation.objects.filter(
            token_hash=_hashed(token),
            status=Invitation.Status.OPEN,
            expires_at__gt=timezone.now(),
        )
        .select_related("dossier", "organisation")
        .first()
    )


def accept_invitation(
    token: str,
    *,
    person: Person | None = None,
    name: str = "",
    password: str = "",
    language: str = "en",
    organisation: Organisation | None = None,
    organisation_name: str = "",
) -> Sitter:
    """Accept once, as the signed-in `person` of that address or as a new person.

    For another firm's seat: `organisation` is a firm that the person may bind; without it a new
    firm is made, with `organisation_name` or the name the inviter gave, and its register.
    Returns the sitter in the dossier invited to.
    """
    invitation = find_invitation(token)
    if invitation is None:
        raise Refusal(
            "invitation.unknown",
            _("This invitation was used, withdrawn or has expired. Ask for a new one."),
        )
    with transaction.atomic():
        if person is None:
            person = _new_person(invitation, name, password, language)
        elif person.email != invitation.email:
            raise Refusal(
                "invitation.other_address",
                _("This invitation is for another address. Sign in with the one it was sent to."),
            )
        moved = Invitation.objects.filter(
            pk=invitation.pk, status=Invitation.Status.OPEN, expires_at__gt=timezone.now()
        ).update(status=Invitation.Status.ACCEPTED, accepted_by=person, accepted_at=timezone.now())
        if moved != 1:
            raise Refusal("invitation.unknown", _("This invitation was used a moment ago."))
        if not invitation.side:
            return _join_firm(invitation, person)
        firm = organisation or _found_for(person, organisation_name or invitation.organisation_name)
        _may_bind(person, firm)
        return seat_organisation(
            invitation.dossier,
            firm,
            side=invitation.side,
            first=person,
            role=invitation.role,
            until=invitation.seat_until,
        )


def firms_to_bind(person: Person) -> list[Organisation]:
    """The firms for which this person may take a seat."""
    members = Membership.objects.filter(person=person, active=True, role__in=BINDING)
    return [member.organisation for member in members.select_related("organisation")]


def accept_url(token: str) -> str:
    """The public address of the page on which an invitation is accepted."""
    return settings.PUBLIC_URL + reverse("parties:accept", kwargs={"token": token})


def free_sides(by: Capacity) -> list[Side]:
    """The sides of this agreement on which no firm sits yet."""
    taken = set(by.dossier.seats.values_list("side", flat=True))
    return [side for side in INVITED_SIDES if side not in taken]


def _may_invite(by: Capacity, side: str) -> None:
    if side and side not in INVITED_SIDES:
        raise Refusal("invitation.side", _("Firms are invited as customer, supplier or auditor."))
    if by.dossier.purpose == Dossier.Purpose.REGISTER:
        allowed = not side and by.role in KEEPERS
    else:
        allowed = by.side in TWO_SIDES and by.role in (SIGNERS if side else LEADS)
    if not allowed:
        raise Refusal("invitation.may_not", _("You cannot invite here: ask your quality lead."))


def _make(
    dossier: Dossier,
    email: str,
    role: str,
    by: Capacity | None,
    *,
    organisation: Organisation | None = None,
    side: str = "",
    organisation_name: str = "",
    seat_until: dt.date | None = None,
) -> Invitation:
    """The row; earlier open invitations of the same address to the same seat are withdrawn."""
    email = Person.objects.normal(email)
    standing = Invitation.objects.filter(dossier=dossier, status=Invitation.Status.OPEN)
    standing.filter(email=email, side=side).update(status=Invitation.Status.WITHDRAWN)
    if standing.filter(expires_at__gt=timezone.now()).count() >= MOST_OPEN:
        raise Refusal(
            "invitation.many", _("Too many invitations are open here. Withdraw some first.")
        )
    token = secrets.token_urlsafe(TOKEN_BYTES)
    invitation = Invitation.objects.create(
        dossier=dossier,
        side_only=by.side if by else Side.OWN,
        email=email,
        role=role,
        side=side,
        organisation=organisation,
        organisation_name=organisation_name or (organisation.name if organisation else ""),
        seat_until=seat_until,
        token_hash=_hashed(token),
        expires_at=timezone.now() + VALID,
        invited_by=by.person if by else None,
    )
    invitation.token = token
    return invitation


def _send(invitation: Invitation, inviter: str) -> None:
    """The mail: the same words whether the address is known or not. It ends with a checkpoint where
    the dossier has a chain. No reading is logged of it: who will read it sits nowhere yet."""
    body = gettext(
        "%(inviter)s invites you to Countershade, where firms agree how colour is judged.\n\n"
        "Open this link to accept. It works once, for this address only, until %(day)s (UTC):\n"
        "%(link)s\n\n"
        "If you did not expect this, do nothing."
    ) % {
        "inviter": inviter,
        "day": f"{invitation.expires_at.astimezone(dt.UTC):%Y-%m-%d}",
        "link": accept_url(invitation.token),
    }
    last, _note = ending(invitation.dossier, KEEP_INVITATION)
    mail.post(
        to=invitation.email,
        subject=gettext("Invitation to Countershade"),
        body=body + (f"\n{last}" if last else ""),
        key=f"invitation:{invitation.pk}",
        secret=True,
    )


def _hashed(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


def _new_person(invitation: Invitation, name: str, password: str, language: str) -> Person:
    if Person.objects.filter(email=invitation.email).exists():
        raise Refusal(
            "invitation.sign_in_first",
            _("This address has an account. Sign in with it, then open the link again."),
        )
    if not name or not password:
        raise Refusal("invitation.incomplete", _("A name and a password are needed."))
    return Person.objects.create_user(invitation.email, password, name=name, language=language)


def _join_firm(invitation: Invitation, person: Person) -> Sitter:
    assert invitation.organisation is not None  # noqa: S101 - a firm's own invitation names it
    own = join(invitation.organisation, person, invitation.role)
    here = Sitter.objects.filter(
        dossier=invitation.dossier, person=person, seat__organisation=invitation.organisation
    ).first()
    return here or own


def _found_for(person: Person, name: str) -> Organisation:
    """A new firm with this person as its quality lead."""
    if not name:
        raise Refusal("invitation.firm_name", _("The name of your firm is needed."))
    organisation, _register = new_firm(name)
    join(organisation, person, Role.QUALITY_LEAD)
    return organisation


def _may_bind(person: Person, firm: Organisation) -> None:
    member = Membership.objects.filter(
        person=person, organisation=firm, active=True, role__in=BINDING
    )
    if not member.exists():
        raise Refusal(
            "invitation.may_not_bind",
            _("You cannot take a seat for this firm: its lead or administrator can."),
        )
