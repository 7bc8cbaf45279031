"""Check 8: certified, replaced and revoked keys, and who had to agree to them.

State goes by entry number: a key may sign in the entries after the one that certifies it and before
the one that revokes it.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from hashlib import sha256
from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec

from ledger.verify import certs
from ledger.verify.container import Container
from ledger.verify.entries import in_payload, payload_of
from ledger.verify.headers import Chain, read_header
from ledger.verify.passkeys import Credential, credential
from ledger.verify.report import Refusal
from ledger.verify.roots import Root
from ledger.verify.strict import Fields, b64, moment

PASSKEY, BROWSER_HELD, SERVICE_HELD = "passkey", "browser-held", "service-held"
OWN = {PASSKEY, BROWSER_HELD}  # the operator cannot use them
SYSTEM = "system"  # the organisation code under which the service itself acts

Holder = tuple[str, str, str]  # person, organisation, side
Point = tuple[int, int]

CERTIFIED: Fields = {
    "person": str,
    "organisation": str,
    "side": str,
    "certificate": str,
    "fingerprint": str,
    "assurance": str,
}
CERTIFIED_OPTIONAL: Fields = {"replaces": str, "confirmed_by": str, "credential": dict}
REVOKED: Fields = {"person": str, "organisation": str, "side": str, "fingerprint": str}
REVOKED_OPTIONAL: Fields = {"reason": str, "confirmed_by": str}
SEATED: Fields = {"person": str, "role": str, "side": str}


@dataclass
class Key:
    """A key that was certified in the chain; `revoked`: by which entry, 0 for none."""

    number: int
    fingerprint: str
    holder: Holder
    assurance: str
    certificate: x509.Certificate
    key: ec.EllipticCurvePublicKey
    credential: Credential | None
    revoked: int = 0

    @cached_property
    def point(self) -> Point:
        """The public key itself, whatever certificate it is in."""
        numbers = self.key.public_numbers()
        return numbers.x, numbers.y

    def stands(self, number: int) -> bool:
        """Whether it is certified and not revoked in the state after an entry."""
        return self.number <= number and not (self.revoked and self.revoked <= number)


@dataclass
class Keys:
    """All certified keys, looked up in three ways, and which of them stand at each entry.

    A certificate that is entered again adds nothing: it is the same key's, of the same holder.
    """

    by_print: dict[str, Key] = field(default_factory=dict)
    by_point: dict[Point, Key] = field(default_factory=dict)  # the first under each public key
    by_holder: dict[Holder, set[str]] = field(default_factory=dict)  # their assurances
    ended: dict[Point, int] = field(default_factory=dict)  # by which entry
    events: list[int] = field(default_factory=list)  # entries that change which keys stand
    states: dict[int, dict[str, list[str]]] = field(default_factory=dict)  # the last few asked for

    def add(self, key: Key) -> None:
        """Certify."""
        if key.fingerprint in self.by_print:
            return
        self.by_print[key.fingerprint] = key
        self.by_point.setdefault(key.point, key)
        self.by_holder.setdefault(key.holder, set()).add(key.assurance)
        self.events.append(key.number)

    def revoke(self, fingerprint: str, number: int) -> None:
        """Revoke, for good; a second revocation changes nothing."""
        key = self.by_print[fingerprint]
        if not key.revoked:
            key.revoked = number
            self.ended.setdefault(key.point, number)
            self.events.append(number)

    def as_of(self, number: int) -> dict[str, list[str]]:
        """Per side the fingerprints certified and not revoked up to an entry, sorted."""
        state = bisect_right(self.events, number)
        if state not in self.states:
            if len(self.states) >= 8:
                self.states.clear()
            result: dict[str, set[str]] = {}
            for fingerprint, key in self.by_print.items():
                if key.stands(number):
                    result.setdefault(key.holder[2], set()).add(fingerprint)
            self.states[state] = {side: sorted(prints) for side, prints in result.items()}
        return self.states[state]


Known = set[tuple[str, str | None, str]]  # who is known for which organisation and side so far


def certified(box: Container, chain: Chain, trusted: Root) -> Keys:
    """Check 8: every key was certified by the root, replaced and revoked by those who may."""
    keys, known = Keys(), Known()
    for number in chain.of("key.certified", "key.revoked", "sitter.seated"):
        header = read_header(box, number)
        if header["kind"] == "sitter.seated":
            said = payload_of(box, number, SEATED, {"organisation": str})
            known.add((said["person"], said.get("organisation"), said["side"]))
            continue
        if header["kind"] == "key.certified":
            _certify(box, header, keys, known, chain, trusted)
        else:
            _revoke(box, header, keys, known)
        known.add((header["actor"], header["organisation"], header["side"]))
    return keys


def _certify(
    box: Container,
    header: dict[str, Any],
    keys: Keys,
    known: Known,
    chain: Chain,
    trusted: Root,
) -> None:
    number = header["number"]
    payload = payload_of(box, number, CERTIFIED, CERTIFIED_OPTIONAL)
    _own_organisation(box, header, payload, "key.organisation")
    try:
        certificate, public = leaf(payload, moment(header["time"]), trusted)
    except Refusal as refusal:
        raise in_payload(box, number, "certificate", refusal) from None
    key = Key(
        number=number,
        fingerprint=payload["fingerprint"],
        holder=_holder(payload),
        assurance=payload["assurance"],
        certificate=certificate,
        key=public,
        credential=_credential(box, number, payload),
    )
    _alone(box, key, keys)
    _replaces(box, key, payload, keys)
    _confirmed(box, number, payload, known)
    if "confirmed_by" not in payload and _needs_second(key, keys, chain):
        raise in_payload(box, number, "person", Refusal(
            "key.unconfirmed",
            "a new key for somebody who signs here already needs a second person",
        ))  # fmt: skip
    keys.add(key)


def leaf(
    payload: dict[str, Any], at: datetime, trusted: Root
) -> tuple[x509.Certificate, ec.EllipticCurvePublicKey]:
    """The certificate in a payload and its key: its fingerprint's, issued by the root, valid."""
    certificate = load(payload)
    return certificate, certs.check_leaf(trusted.certificate, certificate, at)


def load(payload: dict[str, Any]) -> x509.Certificate:
    """The certificate in a payload that has the fingerprint said beside it."""
    der = b64(payload["certificate"])
    if sha256(der).hexdigest() != payload["fingerprint"]:
        raise Refusal("certificate.fingerprint", "fingerprint is not the certificate's")
    return certs.load(der)


def _holder(payload: dict[str, Any]) -> Holder:
    return payload["person"], payload["organisation"], payload["side"]


def _own_organisation(
    box: Container, header: dict[str, Any], payload: dict[str, Any], id: str
) -> None:
    """Entries about keys are made by somebody of the same organisation, or by the service."""
    if header["organisation"] not in (payload["organisation"], SYSTEM):
        raise in_payload(
            box, header["number"], "organisation", Refusal(id, "entered by another organisation")
        )


def _credential(box: Container, number: int, payload: dict[str, Any]) -> Credential | None:
    """The credential of a passkey, and of nothing else."""
    assurance = payload["assurance"]
    if assurance not in OWN | {SERVICE_HELD}:
        raise in_payload(box, number, "assurance", Refusal("key.assurance", "no such assurance"))
    if (assurance == PASSKEY) != ("credential" in payload):
        raise in_payload(
            box, number, "credential" if "credential" in payload else "assurance",
            Refusal("key.credential", "a passkey, and nothing else, has a credential"),
        )  # fmt: skip
    if assurance != PASSKEY:
        return None
    try:
        return credential(payload["credential"])
    except Refusal as refusal:
        raise in_payload(box, number, "credential", refusal) from None


def _alone(box: Container, key: Key, keys: Keys) -> None:
    """One public key is one person's, held in one way, and never comes back once revoked."""
    other = keys.by_point.get(key.point)
    if other is None:
        return
    # All certificates of this public key passed here: what holds of the first holds of each.
    if key.point in keys.ended:
        refusal = Refusal("key.revoked", f"this key was revoked in entry {keys.ended[key.point]}")
    elif other.holder != key.holder:
        refusal = Refusal("key.shared", "this key was certified for somebody else")
    elif other.assurance != key.assurance:
        refusal = Refusal("key.assurance", f"this key was certified as {other.assurance}")
    else:
        return
    raise in_payload(box, key.number, "certificate", refusal)


def _replaces(box: Container, key: Key, payload: dict[str, Any], keys: Keys) -> None:
    replaced = payload.get("replaces")
    if replaced is None:
        return
    other = keys.by_print.get(replaced)
    if other is None or other.holder != key.holder or replaced == key.fingerprint:
        refusal = Refusal("key.replaces", "no other key of this person was certified before")
        raise in_payload(box, key.number, "replaces", refusal)


def _confirmed(box: Container, number: int, payload: dict[str, Any], known: Known) -> None:
    """Whoever confirmed is another person, known in the chain before for the same organisation."""
    second = payload.get("confirmed_by")
    if second is None:
        return
    message = ""
    if second == payload["person"]:
        message = "nobody is their own second person"
    elif known.isdisjoint(
        (second, organisation, payload["side"]) for organisation in (payload["organisation"], None)
    ):
        message = "the second person neither sat nor acted for this organisation before"
    if message:
        raise in_payload(box, number, "confirmed_by", Refusal("key.confirmed-by", message))


def _needs_second(key: Key, keys: Keys, chain: Chain) -> bool:
    """A person's own key beside one that has signed; or a service-held key beside an own one."""
    if key.point in keys.by_point:
        return False  # the same key under another certificate
    if key.assurance in OWN:
        person, organisation, side = (text.encode("utf-8") for text in key.holder)
        signed = chain.signed.get((person, organisation, side))
        return signed is not None and signed < key.number
    return not OWN.isdisjoint(keys.by_holder.get(key.holder, ()))


def _revoke(box: Container, header: dict[str, Any], keys: Keys, known: Known) -> None:
    number = header["number"]
    payload = payload_of(box, number, REVOKED, REVOKED_OPTIONAL)
    _own_organisation(box, header, payload, "revocation.organisation")
    key = keys.by_print.get(payload["fingerprint"])
    if key is None or key.holder != _holder(payload):
        refusal = Refusal("revocation.key", "no such key of this person was certified before")
        raise in_payload(box, number, "fingerprint", refusal)
    _confirmed(box, number, payload, known)
    keys.revoke(payload["fingerprint"], number)
