"""Dossiers, seats and sitters: opening, taking a seat, sitting down, getting up."""

from __future__ import annotations

import datetime as dt

from django.db import IntegrityError, transaction
from django.utils.translation import gettext_lazy as _

from ledger import chain
from ledger.chain import Actor
from ledger.kinds import Kind
from parties.capacity import Capacity
from parties.codes import code_for
from parties.models import Dossier, Membership, Organisation, Person, Role, Seat, Side, Sitter
from parties.refusal import Refusal
from parties.transitions.seat_ends import record_limit


def open_agreement(by: Capacity, *, title: str, side: str) -> Dossier:
    """A new agreement's dossier in which the firm of `by` takes the seat of `side`.

    `by` acts in any dossier of that firm (its register, usually). All active members but
    administrators sit down. No chain yet: it starts with the first shared act.
    """
    if side not in {Side.CUSTOMER, Side.SUPPLIER}:
        raise Refusal("seat.side", _("A firm opens an agreement as customer or as supplier."))
    with transaction.atomic():
        dossier = Dossier.objects.create(purpose=Dossier.Purpose.AGREEMENT, title=title)
        seat = take_seat(dossier, by.organisation, side)
        seat_members(seat)
    return dossier


def open_dossier_chain(dossier: Dossier, by: Capacity) -> None:
    """Start the chain with the dossier, its seats and who sits there; again changes nothing.

    Call it at the start of every shared act of an agreement, inside the act's transaction.
    """
    if chain.exists(dossier.chain):
        return
    with transaction.atomic():
        chain.open_chain(dossier.chain)
        if chain.head(dossier.chain).number:
            return  # somebody else wrote the beginning while this act waited
        act, actor = chain.new_act(), by.actor()
        seats = list(dossier.seats.select_related("organisation").order_by("code"))
        chain.append(
            dossier.chain,
            by=actor,
            kind=Kind.DOSSIER_OPENED,
            subject="dossier",
            act=act,
            payload={
                "title": dossier.title,
                "purpose": dossier.purpose,
                "seats": [_seat_facts(seat) for seat in seats],
            },
        )
        for seat in seats:
            _record_seat(seat, actor, act)
        for sitter in dossier.sitters.filter(active=True).select_related("seat").order_by("code"):
            _record_sitter(sitter, actor, act)


def take_seat(
    dossier: Dossier, organisation: Organisation, side: str, until: dt.date | None = None
) -> Seat:
    """The firm's seat on `side`, made or found; writes no entry (see `seat_organisation`)."""
    seat = Seat.objects.filter(dossier=dossier, organisation=organisation).first()
    if seat is None:
        code = code_for(dossier, f"seat:{organisation.pk}", "O")
        try:
            with transaction.atomic():
                return Seat.objects.create(
                    dossier=dossier, organisation=organisation, side=side, code=code, until=until
                )
        except IntegrityError:
            raise Refusal(
                "seat.taken", _("Another firm has this seat. Nothing was changed.")
            ) from None
    if seat.side != side:
        raise Refusal(
            "seat.both_sides",
            _("This firm sits on another side of this agreement: nobody sits on both sides."),
        )
    return seat


def seat_organisation(
    dossier: Dossier,
    organisation: Organisation,
    *,
    side: str,
    first: Person,
    role: str,
    until: dt.date | None = None,
) -> Sitter:
    """Seat a firm: `first` accepts for it and sits in `role`; the other members sit down too.

    Returns the sitter of `first`, as whom the entries are written.
    """
    with transaction.atomic():
        known = Seat.objects.filter(dossier=dossier, organisation=organisation).exists()
        seat = take_seat(dossier, organisation, side, until)
        sitter, arrived = _sit(seat, first, role)
        if chain.exists(dossier.chain):
            actor, act = Capacity(sitter).actor(), chain.new_act()
            if not known:
                _record_seat(seat, actor, act)
                if until is not None:
                    record_limit(seat, actor, act)
            if arrived:
                _record_sitter(sitter, actor, act)
        if not known:
            seat_members(seat, recorded_by=Capacity(sitter))
    return sitter


def seat_members(seat: Seat, recorded_by: Capacity | None = None) -> None:
    """All active members sit down: in an agreement without administrators, on an auditor's seat
    as readers. Who sits on another side of the dossier stays there."""
    members = seat.organisation.memberships.filter(active=True, person__is_active=True)
    if seat.side != Side.OWN:
        members = members.exclude(role=Role.ADMINISTRATOR)
    elsewhere = set(seat.dossier.sitters.values_list("person_id", flat=True))
    act = chain.new_act()
    for member in members.select_related("person").order_by("pk"):
        if member.person_id in elsewhere:
            continue
        sitter, arrived = _sit(seat, member.person, role_on(seat.side, member.role))
        if arrived and recorded_by and chain.exists(seat.dossier.chain):
            _record_sitter(sitter, recorded_by.actor(), act)


def seat_person_row(seat: Seat, person: Person, role: str) -> Sitter:
    """Sit somebody down; where a chain exists the entry is written as them."""
    sitter, arrived = _sit(seat, person, role)
    if arrived and chain.exists(seat.dossier.chain):
        _record_sitter(sitter, Capacity(sitter).actor(), chain.new_act())
    return sitter


def role_on(side: str, role: str) -> str:
    """The role in which a member sits: an auditor's seat only reads."""
    return Role.READER if side == Side.AUDITOR else role


def seat_person(seat: Seat, *, by: Capacity, member: Membership, role: str) -> Sitter:
    """Seat a member of one's own firm on its seat, or give them another role there."""
    _own_seat(seat, by)
    if member.organisation_id != seat.organisation_id or not member.active:
        raise Refusal("seat.not_member", _("Only members of your firm can be seated here."))
    if role == Role.ADMINISTRATOR and seat.side != Side.OWN:
        raise Refusal(
            "seat.administrator",
            _("An administrator does no quality work: choose another role in an agreement."),
            field="role",
        )
    with transaction.atomic():
        sitter, changed = _sit(seat, member.person, role_on(seat.side, role))
        if changed and chain.exists(seat.dossier.chain):
            _record_sitter(sitter, by.actor(), chain.new_act())
    return sitter


def unseat(sitter: Sitter, *, by: Capacity, reason: str = "") -> Sitter:
    """A person of one's own firm gets up; what they did stays in the record."""
    _own_seat(sitter.seat, by)
    if sitter.person_id == by.person.pk:
        raise Refusal("seat.oneself", _("Ask a colleague to do this: nobody unseats themselves."))
    with transaction.atomic():
        get_up(sitter, by.actor(), reason)
    return sitter


def get_up(sitter: Sitter, actor: Actor, reason: str = "") -> None:
    """One conditional update, and the entry where a chain exists."""
    moved = Sitter.objects.filter(pk=sitter.pk, active=True).update(active=False)
    if moved != 1:
        raise Refusal("seat.gone", _("This person does not sit here any more."))
    sitter.active = False
    if chain.exists(sitter.dossier.chain):
        chain.append(
            sitter.dossier.chain,
            by=actor,
            kind=Kind.SITTER_UNSEATED,
            subject=f"sitter:{sitter.code}",
            act=chain.new_act(),
            payload={
                "person": sitter.code,
                "role": sitter.role,
                "side": sitter.side,
                "reason": reason,
            },
        )


def _own_seat(seat: Seat, by: Capacity) -> None:
    if seat.organisation_id != by.organisation.pk:
        raise Refusal("seat.foreign", _("Only your own firm's people are seated by you."))


def _sit(seat: Seat, person: Person, role: str) -> tuple[Sitter, bool]:
    """The sitter on this seat, and whether anything changed (new, back again, another role)."""
    code = code_for(seat.dossier, f"sitter:{person.pk}", "P")
    sitter, made = Sitter.objects.get_or_create(
        dossier=seat.dossier, person=person, defaults={"seat": seat, "role": role, "code": code}
    )
    if sitter.seat_id != seat.pk:
        raise Refusal(
            "seat.both_sides",
            _("This person sits on another side of this agreement: nobody sits on both sides."),
        )
    if made:
        return sitter, True
    standing = Sitter.objects.filter(pk=sitter.pk).exclude(active=True, role=role)
    changed = standing.update(active=True, role=role)
    sitter.active, sitter.role, sitter.seat = True, role, seat
    return sitter, changed == 1


def _seat_facts(seat: Seat) -> dict[str, str]:
    return {"side": seat.side, "organisation": seat.code, "name": seat.organisation.name}


def _record_seat(seat: Seat, actor: Actor, act: str) -> None:
    chain.append(
        seat.dossier.chain,
        by=actor,
        kind=Kind.SEAT_TAKEN,
        subject=f"seat:{seat.code}",
        act=act,
        payload=_seat_facts(seat),
    )


def _record_sitter(sitter: Sitter, actor: Actor, act: str) -> None:
    chain.append(
        sitter.dossier.chain,
        by=actor,
        kind=Kind.SITTER_SEATED,
        subject=f"sitter:{sitter.code}",
        act=act,
        payload={
            "person": sitter.code,
            "role": sitter.role,
            "side": sitter.seat.side,
            "organisation": sitter.seat.code,
        },
    )
