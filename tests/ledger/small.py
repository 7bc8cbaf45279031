"""A small chain with both sides' signatures, and its record, for the tests of the ledger.

Invented people and firms.
"""

from __future__ import annotations

import base64
import io
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

from cryptography.hazmat.primitives.asymmetric import ec
from django.db import transaction

from ledger import blobs, certificates, chain, clock, export, statements
from ledger.chain import Actor
from ledger.kinds import Kind

CHAIN = "6a0c7c52-6f0e-4a52-9f4e-0d3c1b9a7e11"
START = datetime(2026, 3, 3, 8, 0, tzinfo=UTC)
CUSTOMER = Actor("C-1", "ORG-C", "customer", "quality_lead")
SUPPLIER = Actor("S-1", "ORG-S", "supplier", "quality_lead")
NAMES = {
    "customer": ("Ada Example", "Example Interiors"),
    "supplier": ("Bo Example", "Example Mouldings"),
}
TERMS = b'{"schema":1,"title":"Example terms"}'
SUBJECT = "revision:1"


@dataclass
class Small:
    """The chain, its keys, and what was signed."""

    root_key: ec.EllipticCurvePrivateKey
    root: bytes
    keys: dict[str, ec.EllipticCurvePrivateKey] = field(default_factory=dict)
    certificates: dict[str, bytes] = field(default_factory=dict)
    name: str = CHAIN
    digest: str = ""

    @property
    def fingerprint(self) -> str:
        """The root's fingerprint."""
        return certificates.fingerprint(self.root)

    def record(self, **part: Any) -> bytes:
        """The signed record of the chain as it stands, or the part that `about` and `full` name."""
        point = statements.checkpoint(self.name, root_fingerprint=self.fingerprint)
        out = io.BytesIO()
        export.write_record(
            self.name,
            out,
            checkpoint=point,
            checkpoint_jws=statements.sign_checkpoint(self.root_key, point),
            root_der=self.root,
            **part,
        )
        return out.getvalue()


def add(name: str, by: Actor, kind: Kind, subject: str, payload: dict[str, Any], *digests: str):
    """One entry in an act of its own."""
    with transaction.atomic():
        return chain.append(
            name,
            by=by,
            kind=kind,
            subject=subject,
            act=chain.new_act(),
            payload=payload,
            blobs=digests,
        )


def certify(small: Small, by: Actor) -> None:
    """Make a key for a side's lead and copy its certificate into the chain."""
    key = small.keys[by.side] = certificates.new_key()
    name, organisation = NAMES[by.side]
    leaf = certificates.issue_leaf(
        small.root_key,
        small.root,
        key.public_key(),
        name=name,
        organisation=organisation,
        demo=True,
    )
    small.certificates[by.side] = leaf
    payload = {
        "person": by.person,
        "organisation": by.organisation,
        "side": by.side,
        "certificate": base64.b64encode(leaf).decode(),
        "fingerprint": certificates.fingerprint(leaf),
        "assurance": "service-held",
    }
    add(small.name, by, Kind.KEY_CERTIFIED, f"key:{payload['fingerprint']}", payload)


def composed(small: Small, by: Actor, **changes: Any) -> bytes:
    """The statement that `by` would sign over the terms."""
    name, organisation_name = NAMES[by.side]
    facts: dict[str, Any] = {
        "by": by,
        "what": "revision",
        "subject": SUBJECT,
        "revision": 1,
        "digest": small.digest,
        "name": name,
        "organisation_name": organisation_name,
        "intent": "I agree to these terms.",
        "assurance": "service-held",
    }
    return statements.compose(small.name, **{**facts, **changes})


def sign(
    small: Small,
    by: Actor,
    *,
    entry_by: Actor | None = None,
    entry_subject: str = SUBJECT,
    key_of: str | None = None,
    alter: Callable[[bytes], bytes] = lambda statement: statement,
    **changes: Any,
) -> None:
    """Append a signature over the terms; keyword arguments make it a bad one."""
    statement = alter(composed(small, by, **changes))
    side = key_of or by.side
    payload = {
        "statement": statement.decode(),
        "jws": statements.sign_detached(small.keys[side], statement),
        "fingerprint": certificates.fingerprint(small.certificates[side]),
    }
    add(small.name, entry_by or by, Kind.SIGNATURE_MADE, entry_subject, payload)


def unsigned(name: str = CHAIN) -> Small:
    """A chain with a proposed revision and both sides' keys, an hour apart."""
    with clock.fixed(START):
        small = Small(*certificates.make_root(demo=True), name=name)
        chain.open_chain(name)
        opened = {"title": "Example", "purpose": "agreement", "seats": []}
        add(name, CUSTOMER, Kind.DOSSIER_OPENED, "dossier", opened)
        small.digest = blobs.put(name, TERMS, "application/json")
        proposed = {"number": 1, "digest": small.digest, "side": "supplier"}
        add(name, SUPPLIER, Kind.REVISION_PROPOSED, SUBJECT, proposed, small.digest)
        remark = {"revision": 1, "clause": "viewing", "text": "Frame in neutral grey – ΔE ≤ 1"}
        add(name, CUSTOMER, Kind.REMARK_MADE, "remark:1", remark)
    with clock.fixed(START + timedelta(hours=1)):
        certify(small, SUPPLIER)
        certify(small, CUSTOMER)
    return small


def signed(name: str = CHAIN) -> Small:
    """The same, signed by both sides, with a lot opened after it."""
    small = unsigned(name)
    for hours, by in ((2, SUPPLIER), (3, CUSTOMER)):
        with clock.fixed(START + timedelta(hours=hours)):
            sign(small, by)
    with clock.fixed(START + timedelta(days=1)):
        photo = blobs.put(name, bytes(range(256)) * 3, "image/png")
        entered = {"name": "booth.png", "digest": photo}
        add(name, SUPPLIER, Kind.FILE_ENTERED, f"file:{photo}", entered, photo)
    return small
