"""Keys as a chain knows them: certified, and from which entry on revoked."""

from __future__ import annotations

import base64
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from cryptography import x509
from cryptography.x509.oid import NameOID

from ledger import chain
from ledger.chain import Actor
from ledger.kinds import Kind
from ledger.models import Entry
from parties.codes import code_for
from parties.models import Dossier, Key, Organisation, Person, Role, Seat, Side, Sitter
from parties.models.keys import ASSURANCES


@dataclass(frozen=True)
class ChainKey:
    """One certified key; `revoked`: the number of the entry that ended it, or None."""

    number: int
    person: str
    organisation: str
    side: str
    fingerprint: str
    assurance: str
    name: str
    revoked: int | None = None

    @property
    def side_words(self) -> str:
        """Of which side."""
        return str(dict(Side.choices).get(self.side, self.side))

    @property
    def assurance_words(self) -> str:
        """Who could use it."""
        return str(ASSURANCES.get(self.assurance, self.assurance))


def chain_keys(name: str) -> dict[str, ChainKey]:
    """All keys that were ever certified in the chain, by fingerprint, in order."""
    found: dict[str, ChainKey] = {}
    kinds = [Kind.KEY_CERTIFIED.value, Kind.KEY_REVOKED.value]
    for entry in chain.entries(name).filter(kind__in=kinds):
        said = entry.payload
        print_of = said["fingerprint"]
        if entry.kind == Kind.KEY_CERTIFIED:
            found[print_of] = _certified(entry, said)
        elif print_of in found and found[print_of].revoked is None:
            facts = {**vars(found[print_of]), "revoked": entry.number}
            found[print_of] = ChainKey(**facts)
    return found


def standing(name: str) -> list[ChainKey]:
    """Those that are not revoked: the ones that the next statement names, by side."""
    keys = [key for key in chain_keys(name).values() if key.revoked is None]
    return sorted(keys, key=lambda key: (key.side, key.number))


def chains_of(fingerprints: Iterable[str]) -> list[str]:
    """The chains in which any of these keys was certified, sorted."""
    subjects = [f"key:{one}" for one in fingerprints]
    rows = Entry.objects.filter(kind=Kind.KEY_CERTIFIED.value, subject__in=subjects)
    return sorted(set(rows.values_list("chain", flat=True)))


def actor_in(dossier: Dossier, person: Person, organisation: Organisation) -> Actor:
    """As whom somebody acts in a dossier for their organisation: their sitter there, or a code of
    their own where they have no seat (an administrator keeps people, and does no quality work)."""
    sitter = (
        Sitter.objects.filter(dossier=dossier, person=person, seat__organisation=organisation)
        .select_related("seat")
        .first()
    )
    seat = sitter.seat if sitter else Seat.objects.get(dossier=dossier, organisation=organisation)
    return Actor(
        person=sitter.code if sitter else code_for(dossier, f"sitter:{person.pk}", "P"),
        organisation=seat.code,
        side=seat.side,
        role=sitter.role if sitter else Role.ADMINISTRATOR.value,
    )


def enter_revocation(dossier: Dossier, key: Key, *, by: Actor, act: str) -> None:
    """The entry with which `key` ends in this dossier's chain; nothing where it is not certified
    there, or has ended already."""
    known = chain_keys(dossier.chain).get(key.fingerprint)
    if known is None or known.revoked is not None:
        return
    payload: dict[str, Any] = {
        "person": known.person,
        "organisation": known.organisation,
        "side": known.side,
        "fingerprint": key.fingerprint,
    }
    if key.revoked_reason:
        payload["reason"] = key.revoked_reason
    chain.append(
        dossier.chain,
        by=by,
        kind=Kind.KEY_REVOKED,
        subject=f"key:{key.fingerprint}",
        act=act,
        payload=payload,
    )


def _certified(entry: Entry, said: Any) -> ChainKey:
    certificate = x509.load_der_x509_certificate(base64.b64decode(said["certificate"]))
    names = certificate.subject.get_attributes_for_oid(NameOID.COMMON_NAME)
    return ChainKey(
        entry.number,
        said["person"],
        said["organisation"],
        said["side"],
        said["fingerprint"],
        said["assurance"],
        str(names[0].value) if names else "",
    )
