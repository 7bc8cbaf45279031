"""Firms, their members and their register dossier."""

from __future__ import annotations

from django.db import transaction
from django.utils.translation import gettext_lazy as _

from parties.access import KEEPERS
from parties.capacity import Capacity
from parties.models import Dossier, Membership, Organisation, Person, Role, Seat, Side, Sitter
from parties.refusal import Refusal
from parties.transitions.keys import revoke_keys_of
from parties.transitions.seats import get_up, role_on, seat_person_row, take_seat


def new_firm(name: str) -> tuple[Organisation, Dossier]:
    """An organisation and its register dossier with the `own` seat; nobody sits there yet."""
    organisation = Organisation.objects.create(name=name)
    register = Dossier.objects.create(purpose=Dossier.Purpose.REGISTER, title=name)
    take_seat(register, organisation, Side.OWN)
    return organisation, register


def register_of(organisation: Organisation) -> Dossier:
    """The firm's register dossier."""
    return Dossier.objects.get(
        purpose=Dossier.Purpose.REGISTER, seats__organisation=organisation, seats__side=Side.OWN
    )


def join(organisation: Organisation, person: Person, role: str) -> Sitter:
    """Make somebody a member who sits in the firm's register and in all its agreements.

    Returns the sitter in the register. Where the person sits on another side, that stays.
    """
    with transaction.atomic():
        member, made = Membership.objects.get_or_create(
            organisation=organisation, person=person, defaults={"role": role}
        )
        if not made:
            Membership.objects.filter(pk=member.pk).update(active=True, role=role)
        own = organisation.seats.select_related("dossier", "organisation").get(side=Side.OWN)
        sitter = seat_person_row(own, person, role)
        if role != Role.ADMINISTRATOR:
            _sit_in_agreements(organisation, person, role)
    return sitter


def _sit_in_agreements(organisation: Organisation, person: Person, role: str) -> None:
    seats = (
        Seat.objects.filter(organisation=organisation)
        .exclude(side=Side.OWN)
        .exclude(dossier__sitters__person=person)
        .select_related("dossier", "organisation")
    )
    for seat in seats.order_by("dossier_id"):  # sorted: several chains may be written
        seat_person_row(seat, person, role_on(seat.side, role))


def change_role(member: Membership, *, by: Capacity, role: str) -> Membership:
    """Another role in the firm and its register; seats in agreements keep theirs until changed."""
    _keeper(by, member.organisation)
    if member.person_id == by.person.pk:
        raise Refusal("member.oneself", _("Ask a colleague: nobody changes their own role."))
    with transaction.atomic():
        moved = Membership.objects.filter(pk=member.pk, active=True).update(role=role)
        if moved != 1:
            raise Refusal("member.gone", _("This person is no longer a member of your firm."))
        member.role = role
        own = member.organisation.seats.select_related("dossier", "organisation").get(side=Side.OWN)
        seat_person_row(own, member.person, role)
    return member


def remove_member(member: Membership, *, by: Capacity, reason: str = "") -> Membership:
    """The person leaves the firm and gets up from every seat of it; the record keeps them. Their
    keys for the firm end in every chain in which they were certified."""
    _keeper(by, member.organisation)
    if member.person_id == by.person.pk:
        raise Refusal("member.oneself", _("Ask a colleague: nobody removes themselves."))
    with transaction.atomic():
        moved = Membership.objects.filter(pk=member.pk, active=True).update(active=False)
        if moved != 1:
            raise Refusal("member.gone", _("This person is no longer a member of your firm."))
        sitting = Sitter.objects.filter(
            person=member.person, seat__organisation=member.organisation, active=True
        ).select_related("seat__dossier", "dossier", "person")
        written = [sitter.dossier.chain for sitter in sitting]
        revoke_keys_of(member.person, by=by, reason=reason, also=written)
        for sitter in sitting.order_by("dossier_id"):
            actor = _actor_there(sitter, by)
            get_up(sitter, actor.actor(), reason)
    member.active = False
    return member


def _actor_there(sitter: Sitter, by: Capacity) -> Capacity:
    """As whom `by` acts in that dossier: their own sitter, or, where they have none, the sitter
    who gets up (an administrator has no code in an agreement's chain)."""
    there = Sitter.objects.filter(dossier=sitter.dossier, person=by.person, seat=sitter.seat)
    return Capacity(there.select_related("seat", "person", "dossier").first() or sitter)


def _keeper(by: Capacity, organisation: Organisation) -> None:
    if by.organisation.pk != organisation.pk or by.role not in KEEPERS:
        raise Refusal(
            "member.keeper", _("Members are kept by your firm's administrator or quality lead.")
        )
