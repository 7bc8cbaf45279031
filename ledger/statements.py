"""What is signed: statements over documents, checkpoints over chains, and the signatures (ES256).

The fields of both are fixed for good: see docs/record-format.md.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from cryptography.hazmat.primitives.asymmetric import ec

from ledger import clock
from ledger.canonical import canonical_bytes
from ledger.chain import Actor, ChainError, Head, entries, head
from ledger.kinds import Kind
from ledger.verify import certs, jws
from ledger.verify.report import Refusal

VERSION = 1


class SignatureError(ValueError):
    """A signature that does not hold; the message says why."""


def statement(
    *,
    chain: str,
    what: str,
    subject: str,
    revision: int | None,
    digest: str,
    by: Actor,
    name: str,
    organisation_name: str,
    intent: str,
    nonce: str,
    time: datetime,
    head: Head,
    keys: Mapping[str, Sequence[str]],
    assurance: str,
) -> bytes:
    """Canonical bytes of a signing statement.

    what: the sort of document ("revision", "settlement", …); revision: its number or None;
    digest: SHA-256 of its bytes; intent: what the signature means, in words; nonce: 64 hex
    characters; head: the last entry the signatory saw; keys: per side the fingerprints certified
    up to that entry; assurance: who could have used the key ("service-held", …).
    """
    return canonical_bytes(
        {
            "v": VERSION,
            "chain": chain,
            "what": what,
            "subject": subject,
            "revision": revision,
            "digest": digest,
            "signer": by.person,
            "name": name,
            "organisation": by.organisation,
            "organisation_name": organisation_name,
            "side": by.side,
            "role": by.role,
            "intent": intent,
            "nonce": nonce,
            "time": clock.text(time),
            "head": {"number": head.number, "hash": head.hash},
            "keys": {side: sorted(prints) for side, prints in keys.items()},
            "assurance": assurance,
        }
    )


def compose(
    chain: str,
    *,
    by: Actor,
    what: str,
    subject: str,
    revision: int | None,
    digest: str,
    name: str,
    organisation_name: str,
    intent: str,
    assurance: str,
) -> bytes:
    """A statement at this moment: nonce, time, chain head and certified keys are filled in.

    The signatory's key must have been certified in the chain before (kind key.certified).
    """
    seen = head(chain)
    last = entries(chain).filter(number=seen.number).first()
    if last is None:
        raise ChainError(f"chain {chain!r} has no entry yet: nothing can be signed in it")
    return statement(
        chain=chain,
        what=what,
        subject=subject,
        revision=revision,
        digest=digest,
        by=by,
        name=name,
        organisation_name=organisation_name,
        intent=intent,
        nonce=os.urandom(32).hex(),
        # Entries never go back in time, so neither does what was said about them.
        time=max(clock.now(), last.time),
        head=seen,
        keys=certified_keys(chain),
        assurance=assurance,
    )


def certified_keys(chain: str) -> dict[str, list[str]]:
    """Per side the fingerprints of the keys certified in the chain so far and not revoked, sorted.

    A side that has none left is not named.
    """
    keys: dict[str, set[str]] = {}
    for entry in entries(chain).filter(kind__in=[Kind.KEY_CERTIFIED.value, Kind.KEY_REVOKED.value]):
        payload = entry.payload
        prints = keys.setdefault(payload["side"], set())
        if entry.kind == Kind.KEY_CERTIFIED:
            prints.add(payload["fingerprint"])
        else:
            prints.discard(payload["fingerprint"])
    return {side: sorted(prints) for side, prints in keys.items() if prints}


def checkpoint(chain: str, *, root_fingerprint: str) -> bytes:
    """Canonical bytes of a checkpoint: the chain's head at this moment, for the root to sign."""
    seen = head(chain)
    last = entries(chain).filter(number=seen.number).first()
    if last is None:
        raise ChainError(f"chain {chain!r} has no entry yet: there is no head to sign")
    document: dict[str, Any] = {
        "v": VERSION,
        "chain": chain,
        "number": seen.number,
        "hash": seen.hash,
        "time": clock.text(max(clock.now(), last.time)),
        "root": root_fingerprint,
    }
    return canonical_bytes(document)


def sign_detached(private_key: ec.EllipticCurvePrivateKey, data: bytes) -> str:
    """Compact detached JWS (ES256) over a statement's canonical bytes."""
    return jws.sign(private_key, data, jws.STATEMENT)


def sign_checkpoint(root_key: ec.EllipticCurvePrivateKey, data: bytes) -> str:
    """Compact detached JWS (ES256) over a checkpoint's canonical bytes."""
    return jws.sign(root_key, data, jws.CHECKPOINT)


def verify_detached(certificate_der: bytes, data: bytes, signature: str) -> None:
    """SignatureError unless the certified key signed exactly this statement."""
    _verify(certificate_der, data, signature, jws.STATEMENT)


def verify_checkpoint(root_der: bytes, data: bytes, signature: str) -> None:
    """SignatureError unless the root signed exactly this checkpoint."""
    _verify(root_der, data, signature, jws.CHECKPOINT)


def _verify(certificate_der: bytes, data: bytes, signature: str, typ: str) -> None:
    try:
        public = certs.load(certificate_der).public_key()
        if not isinstance(public, ec.EllipticCurvePublicKey):
            raise SignatureError("the certified key is not on P-256")
        jws.check(public, data, signature, typ)
    except Refusal as refusal:
        raise SignatureError(str(refusal)) from None
