"""Enrolling and using keys of one's own in tests, through the transitions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db import transaction

from ledger import chain
from parties.capacity import Capacity
from parties.models import Key, Person, Sitter
from parties.own_keys import check_browser_key, check_passkey, new_challenge
from parties.signing import Wanted, prepare
from parties.signing_proofs import Proof
from parties.transitions.keys import confirm_key, enrol_key
from tests.cast import Cast
from tests.softauth import BrowserKey, SoftAuthenticator, unb64u

DIGEST = "ab" * 32
WANTED = Wanted("revision", "revision-3", 3, DIGEST, "I sign this revision.", service_held=False)


def in_register(cast: Cast, who: Person) -> Capacity:
    """As whom somebody acts in their firm's register."""
    firm = "cust" if who.email.startswith("customer") else "supp"
    return cast.capacity(who, cast.registers[firm])


@dataclass
class Held:
    """A key and what its holder has: a device or a browser's key."""

    key: Key
    holder: Any

    def proof(self, statement: bytes, **faults: Any) -> Proof:
        """What the browser would give back."""
        if isinstance(self.holder, BrowserKey):
            return Proof(self.key.fingerprint, statement, jws=self.holder.sign(statement, **faults))
        return passkey_proof(self.key, statement, self.holder.get(statement, **faults))

    def answers(self, statement: bytes) -> dict[str, str]:
        """The same as a form sends it."""
        names = ("jws", "authenticator_data", "client_data", "passkey_signature")
        proof = self.proof(statement)
        return {name: getattr(proof, name) for name in names if getattr(proof, name)}


def passkey_proof(key: Key, statement: bytes, evidence: dict[str, str]) -> Proof:
    """Evidence of an authenticator as a proof."""
    return Proof(
        key.fingerprint,
        statement,
        authenticator_data=evidence["authenticator_data"],
        client_data=evidence["client_data"],
        passkey_signature=evidence["signature"],
    )


def passkey(by: Capacity, *, replaces: Key | None = None, **options: Any) -> Held:
    """A passkey enrolled; `by` acts in the register."""
    soft, challenge = SoftAuthenticator(**options), new_challenge()
    new = check_passkey(soft.create(unb64u(challenge)), challenge)
    return Held(enrol_key(by, new=new, replaces=replaces), soft)


def browser_key(by: Capacity, *, replaces: Key | None = None) -> Held:
    """A key in the browser enrolled."""
    made, challenge = BrowserKey(), new_challenge()
    new = check_browser_key(
        made.public_key(), made.wrapped(), made.possession(challenge), challenge
    )
    return Held(enrol_key(by, new=new, replaces=replaces), made)


def confirmed(cast: Cast, held: Held) -> Held:
    """The key confirmed by a colleague who sits in the agreement: the supplier's deputy, or the
    customer's colleague, who becomes a deputy for it."""
    who = cast.supplier_deputy
    if held.key.organisation == cast.firms["cust"]:
        who = cast.customer_colleague
        Sitter.objects.filter(person=who, dossier=cast.registers["cust"]).update(role="deputy")
    confirm_key(held.key, by=in_register(cast, who))
    held.key.refresh_from_db()
    return held


def prepared(by: Capacity, held: Held, wanted: Wanted = WANTED) -> bytes:
    """A statement prepared for this key, in the agreement's chain."""
    with transaction.atomic():
        return prepare(by, wanted, held.key)


def kinds(name: str) -> list[str]:
    """The kinds of a chain in order."""
    return [entry.kind for entry in chain.entries(name)]
