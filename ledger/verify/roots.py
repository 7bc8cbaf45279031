"""Checks 3 and 4, the root and the checkpoint; and where they meet the chain, the end of 5."""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec

from ledger.verify import certs, jws
from ledger.verify.container import CHECKPOINT, CHECKPOINT_JWS, ROOT, Container
from ledger.verify.headers import Chain, read_header
from ledger.verify.report import Refusal
from ledger.verify.strict import hex_digest, in_field, is_time, moment, read_object

CHECKPOINT_FIELDS: dict[str, type | tuple[type, ...]] = {
    "v": int,
    "chain": str,
    "number": int,
    "hash": str,
    "time": str,
    "root": str,
}


@dataclass
class Root:
    """The root of the record: its certificate, key and fingerprint."""

    certificate: x509.Certificate
    key: ec.EllipticCurvePublicKey
    fingerprint: str


def root(box: Container, expected: str | None) -> Root:
    """Check 3: the root is a well-formed authority, and the one that the reader named."""
    der, start = box.named(ROOT)
    fingerprint = sha256(der).hexdigest()
    try:
        if expected is not None and fingerprint != expected:
            raise Refusal("root.fingerprint", f"the record's root is {fingerprint}, another one")
        certificate = certs.load(der)
        return Root(certificate, certs.check_root(certificate), fingerprint)
    except Refusal as refusal:
        raise refusal.at(ROOT, start, max(1, len(der))) from None


def checkpoint(box: Container, trusted: Root) -> dict[str, Any]:
    """Check 4: the root signed a head of this chain, at the number of the last entry."""
    data, start = box.named(CHECKPOINT)
    try:
        value = read_object(data, CHECKPOINT_FIELDS)
        hex_digest(data, value, "hash")
        _check_checkpoint(data, value, box, trusted)
        certs.check_time(trusted.certificate, moment(value["time"]))
    except Refusal as refusal:
        raise refusal.at(CHECKPOINT, start, max(1, len(data))) from None
    signature, start = box.named(CHECKPOINT_JWS)
    try:
        jws.check(trusted.key, data, signature.decode("ascii", "replace"), jws.CHECKPOINT)
    except Refusal as refusal:
        raise refusal.at(CHECKPOINT_JWS, start, max(1, len(signature))) from None
    return value


def _check_checkpoint(data: bytes, value: dict[str, Any], box: Container, trusted: Root) -> None:
    if value["v"] != 1:
        raise in_field(data, "v", "checkpoint.version", "a version this verifier does not know")
    if value["chain"] != box.manifest["chain"]:
        raise in_field(
            data,
            "chain",
            "checkpoint.chain",
            "another chain than the manifest names: one was changed",
        )
    if value["number"] != box.entries:
        raise in_field(
            data, "number", "checkpoint.number", "checkpoint names another last entry"
        )  # fmt: skip
    if value["root"] != trusted.fingerprint:
        raise in_field(data, "root", "checkpoint.root", "checkpoint names another root")
    if not is_time(value["time"]):
        raise in_field(data, "time", "checkpoint.time", "not a time in UTC with microseconds")


def head(box: Container, chain: Chain, signed: dict[str, Any]) -> None:
    """End of check 5: the last entry is the one in the checkpoint, and not later than it."""
    data, start = box.named(CHECKPOINT)
    refusal = None
    if chain.last.decode("ascii") != signed["hash"]:
        refusal = in_field(
            data, "hash", "checkpoint.hash", "the last entry is not the one that the root signed"
        )
    elif signed["time"] < read_header(box, box.entries)["time"]:
        refusal = in_field(data, "time", "checkpoint.time", "checkpoint is older than its entry")
    if refusal is not None:
        raise refusal.at(CHECKPOINT, start, len(data))
