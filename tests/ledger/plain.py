"""A chain made in memory, without the service: what a stranger who read the document would write.

Everything follows docs/record-format.md; from the project come the canonical form, the root's
certificates and the zip's form. Invented people and firms.
"""

from __future__ import annotations

import base64
import hashlib
import json
import os
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

from cryptography.hazmat.primitives.asymmetric import ec

from ledger import certificates, clock
from ledger.canonical import canonical_bytes
from ledger.verify import jws
from tests.ledger.authenticator import Authenticator
from tests.ledger.forge import Forgery, Part

CHAIN = "plain-chain"
START = datetime(2026, 3, 3, 8, 0, tzinfo=UTC)
TERMS = b'{"schema":1,"title":"Example terms"}'
REVISION, LOT, OTHER_LOT = "revision-1", "lot/one", "lot/two"


@dataclass(frozen=True)
class Who:
    """A person with their organisation and side."""

    person: str
    organisation: str
    side: str
    name: str
    organisation_name: str

    @property
    def fields(self) -> dict[str, str]:
        """As a header names them."""
        return {
            "actor": self.person, "organisation": self.organisation, "side": self.side,
            "role": "quality_lead",
        }  # fmt: skip


ADA = Who("C-1", "ORG-C", "customer", "Ada Example", "Example Interiors")
CY = Who("C-2", "ORG-C", "customer", "Cy Example", "Example Interiors")
BO = Who("S-1", "ORG-S", "supplier", "Bo Example", "Example Mouldings")
DI = Who("S-2", "ORG-S", "supplier", "Di Example", "Example Mouldings")
SYSTEM = Who("system", "system", "system", "", "")
PEOPLE = (ADA, CY, BO, DI)


@dataclass
class Held:
    """A certified key: its private part or its authenticator, and what was entered."""

    who: Who
    assurance: str
    fingerprint: str
    certificate: bytes
    private: ec.EllipticCurvePrivateKey
    passkey: Authenticator | None = None


@dataclass
class Plain:
    """The chain so far."""

    chain: str = CHAIN
    root_key: ec.EllipticCurvePrivateKey = field(init=False)
    root: bytes = field(init=False)
    entries: list[Part] = field(default_factory=list)
    blobs: dict[str, bytes] = field(default_factory=dict)
    keys: list[tuple[Held, int]] = field(default_factory=list)
    now: datetime = START

    def __post_init__(self) -> None:
        with clock.fixed(START):
            self.root_key, self.root = certificates.make_root(demo=True)

    @property
    def fingerprint(self) -> str:
        """The root's."""
        return hashlib.sha256(self.root).hexdigest()

    @property
    def terms(self) -> str:
        """Digest of the terms."""
        return hashlib.sha256(TERMS).hexdigest()

    def add(
        self, by: Who, kind: str, subject: str, payload: dict[str, Any], *blobs: bytes, **more: Any
    ) -> int:
        """One entry a minute later; its number. `more`: changes of the header."""
        self.now += timedelta(minutes=1)
        digests = [hashlib.sha256(one).hexdigest() for one in blobs]
        self.blobs |= dict(zip(digests, blobs, strict=True))
        header = {
            "v": 1, "chain": self.chain, "time": clock.text(self.now), "kind": kind,
            "subject": subject, "act": os.urandom(16).hex(), "blobs": sorted(set(digests)),
            **by.fields, **more,
        }  # fmt: skip
        self.entries.append(Part(header, canonical_bytes(payload), os.urandom(32)))
        self._link()
        return len(self.entries)

    def _link(self) -> None:
        """Number, commitment and previous hash of the last entry."""
        part, number = self.entries[-1], len(self.entries)
        part.header |= {
            "number": number,
            "previous": self.hash(number - 1),
            "payload": hashlib.sha256(part.salt + part.payload).hexdigest(),
        }

    def hash(self, number: int) -> str:
        """Of an entry; 64 zeros before the first."""
        if not number:
            return "0" * 64
        return hashlib.sha256(canonical_bytes(self.entries[number - 1].header)).hexdigest()

    def seat(self, who: Who) -> None:
        """Sit somebody down."""
        said = {"person": who.person, "organisation": who.organisation}
        said |= {"role": "quality_lead", "side": who.side}
        self.add(ADA, "sitter.seated", f"sitter:{who.person}", said)

    def certify(
        self,
        who: Who,
        assurance: str = "service-held",
        *,
        passkey: Authenticator | None = None,
        private: ec.EllipticCurvePrivateKey | None = None,
        by: Who | None = None,
        root: tuple[ec.EllipticCurvePrivateKey, bytes] | None = None,
        **changes: Any,
    ) -> Held:
        """A key of this assurance, certified and entered; `changes` of the payload (None: out)."""
        if assurance == "passkey" and passkey is None:
            passkey = Authenticator()
        private = passkey.key if passkey else private or certificates.new_key()
        with clock.fixed(self.now):
            leaf = certificates.issue_leaf(
                *(root or (self.root_key, self.root)), private.public_key(),
                name=who.name, organisation=who.organisation_name, demo=True,
            )  # fmt: skip
        held = Held(who, assurance, hashlib.sha256(leaf).hexdigest(), leaf, private, passkey)
        payload = {
            "person": who.person, "organisation": who.organisation, "side": who.side,
            "certificate": base64.b64encode(leaf).decode(), "fingerprint": held.fingerprint,
            "assurance": assurance, "credential": passkey.credential if passkey else None,
        }  # fmt: skip
        payload = {name: value for name, value in (payload | changes).items() if value is not None}
        self.add(by or who, "key.certified", f"key:{held.fingerprint}", payload)
        self.keys.append((held, 0))
        return held

    def revoke(self, held: Held, *, by: Who | None = None, **changes: Any) -> int:
        """Enter that a key signs nothing more."""
        payload = {
            "person": held.who.person, "organisation": held.who.organisation,
            "side": held.who.side, "fingerprint": held.fingerprint, "reason": "The phone is lost.",
        }  # fmt: skip
        subject = f"key:{held.fingerprint}"
        number = self.add(by or held.who, "key.revoked", subject, payload | changes)
        self.keys = [(one, number if one is held else gone) for one, gone in self.keys]
        return number

    def standing(self) -> dict[str, list[str]]:
        """Per side the keys that are certified and not revoked now."""
        found: dict[str, set[str]] = {}
        for held, gone in self.keys:
            if not gone:
                found.setdefault(held.who.side, set()).add(held.fingerprint)
        return {side: sorted(prints) for side, prints in found.items()}

    def statement(self, held: Held, **changes: Any) -> bytes:
        """What this key's holder would sign now, over the terms."""
        who = held.who
        return canonical_bytes(
            {
                "v": 1, "chain": self.chain, "what": "revision", "subject": REVISION,
                "revision": 1, "digest": self.terms, "signer": who.person, "name": who.name,
                "organisation": who.organisation, "organisation_name": who.organisation_name,
                "side": who.side, "role": "quality_lead", "intent": "I agree to these terms.",
                "nonce": os.urandom(32).hex(), "time": clock.text(self.now),
                "head": {"number": len(self.entries), "hash": self.hash(len(self.entries))},
                "keys": self.standing(), "assurance": held.assurance, **changes,
            }
        )  # fmt: skip

    def sign(
        self,
        held: Held,
        *,
        by: Who | None = None,
        proof: Callable[[bytes], dict[str, Any]] | None = None,
        header: dict[str, Any] | None = None,
        **changes: Any,
    ) -> int:
        """A signature in its entry; `proof` makes another one than the key's own, `header` holds
        changes of the entry's header."""
        said = self.statement(held, **changes)
        made = (proof or (lambda statement: proof_of(held, statement)))(said)
        payload = {"statement": said.decode(), "fingerprint": held.fingerprint, **made}
        subject = changes.get("subject", REVISION)
        return self.add(by or held.who, "signature.made", subject, payload, **(header or {}))

    def forgery(self) -> Forgery:
        """The parts of a record of the chain as it stands, open for changes."""
        checkpoint = {
            "v": 1, "chain": self.chain, "number": len(self.entries),
            "hash": self.hash(len(self.entries)), "time": clock.text(self.now),
            "root": self.fingerprint,
        }  # fmt: skip
        signature = jws.sign(self.root_key, canonical_bytes(checkpoint), jws.CHECKPOINT)
        made = Forgery(self.root, checkpoint, signature, list(self.entries), dict(self.blobs))
        made.manifest = {"v": 1, "form": "whole", "chain": self.chain}
        return made

    def record(self) -> bytes:
        """The signed record of the chain as it stands."""
        return self.forgery().build(self.root_key)

    def part(self, about: str, full: Callable[[Part], bool]) -> Forgery:
        """A part: the entries for which `full` holds and those never withheld are given."""
        made = self.forgery()
        made.manifest |= {"form": "part", "about": about}
        keep: set[str] = set()
        for entry in made.entries:
            if full(entry) or never_withheld(entry.header["kind"]):
                keep.update(entry.header["blobs"])
            else:
                made.words[entry.header["number"]] = "withheld"
        made.blobs = {digest: self.blobs[digest] for digest in keep}
        return made

    def note(self, *countersigned: str) -> str:
        """The checkpoint note of the chain as it stands."""
        made = self.forgery()
        facts = made.checkpoint
        names = ("chain", "number", "hash", "time", "root")
        lines = ["countershade checkpoint 1", *(f"{name} {facts[name]}" for name in names)]
        return "\n".join([*lines, f"signed {made.signature}", *countersigned, ""])

    def countersigned(self, number: int) -> str:
        """The note's line about a signature's entry."""
        payload = json.loads(self.entries[number - 1].payload)
        said = json.loads(payload["statement"])
        head = said["head"]
        words = (said["side"], number, head["number"], head["hash"], payload["fingerprint"])
        return " ".join(["countersigned", *map(str, words)])


def never_withheld(kind: str) -> bool:
    """By the document's words."""
    return kind in {"dossier.opened", "person.erased"} or kind.startswith(
        ("seat.", "sitter.", "key.")
    )


def proof_of(held: Held, statement: bytes) -> dict[str, Any]:
    """The proof that this sort of key gives."""
    if held.passkey is not None:
        return {"passkey": held.passkey.assertion(statement)}
    return {"jws": jws.sign(held.private, statement, jws.STATEMENT)}


def opened() -> Plain:
    """A dossier with four sitters and a proposed revision."""
    plain = Plain()
    said = {"title": "Example", "purpose": "agreement", "seats": []}
    plain.add(ADA, "dossier.opened", "dossier", said)
    for who in PEOPLE:
        plain.seat(who)
    proposed = {"number": 1, "digest": plain.terms, "side": "supplier"}
    plain.add(BO, "revision.proposed", REVISION, proposed, TERMS)
    return plain


def signed() -> tuple[Plain, Held, Held]:
    """The same, signed by a passkey and by a browser-held key, with two lots after it."""
    plain = opened()
    ada, bo = plain.certify(ADA, "passkey"), plain.certify(BO, "browser-held")
    plain.sign(bo)
    plain.sign(ada)
    for subject, word in ((LOT, b"one"), (OTHER_LOT, b"two")):
        lot = {"number": subject, "order": "PO-1", "accepted_on": "2026-03-03", "part": "p-1"}
        plain.add(BO, "lot.opened", subject, lot | {"revision": 1, "quantity": 10})
        photo = b"photograph " + word
        digest = hashlib.sha256(photo).hexdigest()
        plain.add(BO, "file.entered", subject, {"name": "a.png", "digest": digest}, photo)
    plain.add(BO, "person.named", "person:S-2", {"person": "S-2", "name": "Di Example"})
    return plain, ada, bo
