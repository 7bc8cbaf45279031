"""Whose personal data a firm may have erased, and what there is of it: codes, names, the account.

A person who has left the firm, or one of its observers who never had a login. Codes stand in
chains for ever; a name stands in one only where `name_person` entered it, and goes with its key.
Seen by the firm's administrator alone: names of the own firm, and codes; no agreement is named.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Exists, OuterRef, Value
from django.db.models.functions import Concat

from ledger.kinds import Kind
from ledger.models import Entry, PersonalKey
from parties.models import Code, Dossier, Key, Membership, Observer, Organisation, Person, Sitter

Place = tuple[str, str]  # the chain, and the person's code there


@dataclass(frozen=True)
class Traces:
    """What there is of one person. `named`: how many records hold the name behind a code.

    `signatory`: the name stands in certificates and signed statements, for good. `elsewhere`: the
    account serves another firm too and stays.
    """

    key: str
    name: str
    person: Person | None
    codes: tuple[Place, ...]
    live: frozenset[Place]
    signatory: bool = False
    elsewhere: bool = False
    erased_at: dt.datetime | None = None

    @property
    def named(self) -> int:
        """In how many records the name stands behind a code and can be erased."""
        return len(self.live)

    @property
    def code_words(self) -> str:
        """The codes, which stay."""
        return ", ".join(code for _, code in self.codes)


def traces_of(organisation: Organisation) -> list[Traces]:
    """Everybody of a firm who can be erased or was, in a fixed number of queries."""
    people = _gone(organisation)
    observers = list(Observer.objects.of_firm(organisation).current())
    codes = _codes(organisation, people, observers)
    keys = _keys({place for places in codes.values() for place in places})
    signers, busy = _signers(people), _elsewhere(organisation, people)
    found = [
        _traces(f"person-{one.pk}", one.name, one, codes[one.pk], keys,
                signatory=one.pk in signers, elsewhere=one.pk in busy)
        for one in people
    ]  # fmt: skip
    for row in observers:
        if row.person_id is None and codes[row.key]:
            found.append(_traces(f"observer-{row.key}", row.name, None, codes[row.key], keys))
    return sorted(found, key=lambda one: (one.name, one.key))


def _traces(
    key: str,
    name: str,
    person: Person | None,
    codes: set[Place],
    keys: dict[Place, PersonalKey],
    *,
    signatory: bool = False,
    elsewhere: bool = False,
) -> Traces:
    known = [keys[place] for place in codes if place in keys]
    days = [one.destroyed_at for one in known if one.destroyed_at is not None]
    if person is not None and person.erased_at is not None:
        days.append(person.erased_at)
    closed = person is None or elsewhere or person.erased_at is not None
    live = frozenset((one.chain, one.person) for one in known if one.destroyed_at is None)
    done = closed and not live and len(known) == len(codes) and bool(days)
    return Traces(
        key, name, person, tuple(sorted(codes)), live, signatory, elsewhere,
        max(days) if done else None,
    )  # fmt: skip


def _gone(organisation: Organisation) -> list[Person]:
    """People who were members and sit on no seat of the firm any more."""
    left = Membership.objects.filter(organisation=organisation, active=False)
    sitting = Sitter.objects.filter(seat__organisation=organisation, active=True)
    return list(
        Person.objects.filter(pk__in=left.values("person")).exclude(pk__in=sitting.values("person"))
    )


def _codes(
    organisation: Organisation, people: Iterable[Person], observers: Iterable[Observer]
) -> dict[object, set[Place]]:
    """Codes in agreements by person's key, or by key of an observer without login."""
    found: dict[object, set[Place]] = defaultdict(set)
    of_key = {f"observer:{row.key}": row.person_id or row.key for row in observers}
    sitters = Sitter.objects.filter(
        person__in=list(people),
        seat__organisation=organisation,
        dossier__purpose=Dossier.Purpose.AGREEMENT,
    )
    for person, dossier, code in sitters.values_list("person", "dossier", "code"):
        found[person].add((str(dossier), code))
    # An observer of several firms has a row in each register: these codes are of this firm's row.
    drawn = Code.objects.filter(key__in=["", *of_key])
    for key, dossier, code in drawn.values_list("key", "dossier", "code"):
        found[of_key[key]].add((str(dossier), code))
    return found


def _keys(places: set[Place]) -> dict[Place, PersonalKey]:
    rows = PersonalKey.objects.filter(
        chain__in=["", *sorted({chain for chain, _ in places})],
        person__in=["", *sorted({code for _, code in places})],
    )
    return {(one.chain, one.person): one for one in rows}


def _signers(people: Iterable[Person]) -> set[object]:
    """Whose key ever entered a chain: the certificate there bears the name, for good. A key that
    waited and never signed names nobody to others."""
    entered = Entry.objects.filter(kind=Kind.KEY_CERTIFIED.value, subject=OuterRef("subject"))
    keys = Key.objects.filter(person__in=list(people)).annotate(
        subject=Concat(Value("key:"), "fingerprint")
    )
    return set(keys.filter(Exists(entered)).values_list("person", flat=True))


def _elsewhere(organisation: Organisation, people: Iterable[Person]) -> set[object]:
    """Who is a member of another firm, or sits on a seat of one."""
    who = list(people)
    members = Membership.objects.filter(person__in=who, active=True)
    sitters = Sitter.objects.filter(person__in=who, active=True)
    found = set(members.exclude(organisation=organisation).values_list("person", flat=True))
    return found | set(
        sitters.exclude(seat__organisation=organisation).values_list("person", flat=True)
    )
