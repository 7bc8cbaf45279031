"""Keys that a signatory holds: enrolling, confirming by a second person, revoking.

A key enters a chain when it is first needed there (`parties.signing.certify`); it ends in every
chain in which it was certified, at once.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from django.db import IntegrityError, transaction
from django.utils.translation import gettext_lazy as _

from ledger import chain, clock
from ledger.erasure import lock
from parties.access import KEEPERS, SIGNERS
from parties.capacity import Capacity
from parties.chain_keys import actor_in, chains_of, enter_revocation
from parties.keys import certified, make_service_key, service_ended, service_refusal
from parties.models import Dossier, Key, Membership, Organisation, Person, Role, Signature, Sitter
from parties.own_keys import NewKey
from parties.refusal import Refusal

CONFIRMERS = SIGNERS | {Role.ADMINISTRATOR}


def may_sign(person: Person, organisation: Organisation) -> bool:
    """Whether this person sits anywhere for this organisation in a role that signs. The role in the
    firm alone does not tell: whoever is staff there may be a deputy in an agreement."""
    sitting = Sitter.objects.today().filter(person=person, seat__organisation=organisation)
    return sitting.filter(role__in=SIGNERS).exists()


def needs_second(person: Person, organisation: Organisation) -> bool:
    """Whether a new key waits for a second person: its holder had one before, signed already, or
    lost the one that the service held: revoking would be the way around otherwise, and so would
    asking for another one that waits."""
    return (
        had_own_key(person, organisation)
        or has_signed(person, organisation)
        or service_refusal(person, organisation) is not None
    )


def had_own_key(person: Person, organisation: Organisation) -> bool:
    """Whether this person ever had a key of their own in force for this organisation."""
    rows = Key.objects.own().filter(person=person, organisation=organisation)
    return rows.exclude(needs_confirmation=True, confirmed_at__isnull=True).exists()


def has_signed(person: Person, organisation: Organisation) -> bool:
    """Whether this person signed anything for this organisation, with whatever key."""
    prints = Key.objects.filter(person=person, organisation=organisation).values("fingerprint")
    return Signature.objects.filter(fingerprint__in=prints).exists()


def confirmers(key_holder: Person, organisation: Organisation) -> list[Membership]:
    """Who may confirm a key of this person: other leads, deputies and administrators."""
    rows = Membership.objects.filter(
        organisation=organisation, active=True, role__in=CONFIRMERS, person__is_active=True
    ).exclude(person=key_holder)
    return list(rows.select_related("person").order_by("person__name"))


def enrol_key(by: Capacity, *, new: NewKey, replaces: Key | None = None) -> Key:
    """Store and certify a key that the person of `by` holds for their organisation.

    The first one is in force at once for somebody who has signed nothing yet, and the key that it
    replaces ends; every other one waits for a second person. Refusal where the public part was
    enrolled before.
    """
    with transaction.atomic():
        # Of two first keys at the same moment the second one is no first any more.
        list(
            Membership.objects.select_for_update().filter(
                organisation=by.organisation, person=by.person
            )
        )
        waits = needs_second(by.person, by.organisation)
        replaced = [] if waits or replaces is None or replaces.revoked_at else [replaces]
        _hold(replaced)
        key = _stored(by, new, replaces=replaces, needs_confirmation=waits)
        _end(replaced, by, reason="")
    return key


def _stored(by: Capacity, new: NewKey, **more: Any) -> Key:
    try:
        with transaction.atomic():
            return Key.objects.create(
                assurance=new.assurance,
                sealed=b"",
                public_part=new.public_part,
                **more,
                **new.stored,
                **certified(new.public, by.person, by.organisation),
            )
    except IntegrityError:
        if not Key.objects.filter(public_part=new.public_part).exists():
            raise
        raise Refusal("key.known", _("This key was enrolled before.")) from None


def ask_service_key(by: Capacity) -> Key:
    """A new key held by the service for the person of `by`, whose last one was revoked: it waits
    for a second person. Refusal where none was revoked."""
    stands = Refusal(
        "key.service_stands",
        _("The key that this service holds for you was not revoked: there is nothing to ask for."),
    )
    if not service_ended(by.person, by.organisation):
        raise stands
    try:
        with transaction.atomic():
            return make_service_key(by.person, by.organisation, needs_confirmation=True)
    except IntegrityError:
        raise stands from None  # asked for twice at the same moment


def confirm_key(key: Key, *, by: Capacity) -> Key:
    """A second person of the organisation vouches for a key: from now on it may sign, and the key
    that it replaces ends."""
    if by.organisation.pk != key.organisation_id or by.role not in CONFIRMERS:
        raise Refusal(
            "key.confirmer",
            _("A quality lead, a deputy or an administrator of the same firm confirms a key."),
        )
    if by.person.pk == key.person_id:
        raise Refusal("key.oneself", _("Nobody confirms their own key."))
    now = clock.now()
    with transaction.atomic():
        replaced = _replaced(key)
        _hold(replaced)
        waiting = Key.objects.pending().filter(pk=key.pk, expires_at__gt=now)
        if waiting.update(confirmed_at=now, confirmed_by=by.person) != 1:
            raise Refusal("key.gone", _("This key does not wait for anybody any more."))
        _end(replaced, by, reason="")
    key.refresh_from_db()
    return key


def revoke_key(key: Key, *, by: Capacity, reason: str = "") -> Key:
    """End a key at once, in every chain in which it was certified: its holder does, or a quality
    lead or administrator of the same firm. What it signed before stands."""
    same_firm = by.organisation.pk == key.organisation_id
    if not same_firm or (by.person.pk != key.person_id and by.role not in KEEPERS):
        raise Refusal(
            "key.revoker",
            _("A key is revoked by its holder, or by a quality lead or administrator of the firm."),
        )
    with transaction.atomic():
        _hold([key])
        if _end([key], by, reason) != 1:
            raise Refusal("key.gone", _("This key was revoked already."))
    key.refresh_from_db()
    return key


def revoke_keys_of(person: Person, *, by: Capacity, reason: str, also: Iterable[str] = ()) -> None:
    """All keys of somebody who leaves the organisation of `by`, also those that the service holds;
    inside the caller's transaction. `also`: chains that the caller is going to write as well."""
    keys = list(
        Key.objects.filter(
            person=person, organisation=by.organisation, revoked_at__isnull=True
        ).order_by("created_at")
    )
    _hold(keys, also)
    _end(keys, by, reason)


class _CameIn(Exception):
    """A key was certified in a further chain while its chains were being held."""


def _hold(keys: Sequence[Key], also: Iterable[str] = ()) -> None:
    """Hold the chains in which these keys are certified, and then the keys, until the transaction
    ends. Whoever certifies holds the chain and then the key (`parties.signing.certify`), so the
    keys come into no further chain; and where one just came into one, that chain is held as well.
    """
    prints = [key.fingerprint for key in keys]
    places, certified_in = {*also}, {*chains_of(prints)}
    while True:
        places |= certified_in
        try:
            # Going back lets go of what is held, so that chains are always held in their order.
            with transaction.atomic():
                lock(places)
                rows = Key.objects.select_for_update().filter(fingerprint__in=prints)
                list(rows.order_by("pk"))
                certified_in = {*chains_of(prints)}
                if certified_in <= places:
                    return
                raise _CameIn
        except _CameIn:
            continue


def _replaced(key: Key) -> list[Key]:
    old = key.replaces
    return [old] if old is not None and old.revoked_at is None else []


def _end(keys: Iterable[Key], by: Capacity, reason: str) -> int:
    """Mark them as revoked and enter it in their chains, in order; how many there were."""
    now, act, ended = clock.now(), chain.new_act(), []
    for key in keys:
        rows = Key.objects.filter(pk=key.pk, revoked_at__isnull=True)
        if rows.update(revoked_at=now, revoked_by=by.person, revoked_reason=reason):
            key.refresh_from_db()
            ended.append(key)
    for name in chains_of(one.fingerprint for one in ended):
        dossier = Dossier.objects.get(pk=name)
        actor = actor_in(dossier, by.person, by.organisation)
        for key in ended:
            enter_revocation(dossier, key, by=actor, act=act)
    return len(ended)
