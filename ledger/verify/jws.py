"""Detached JWS (RFC 7515, appendix F) with ES256 over canonical bytes, one exact form."""

from __future__ import annotations

import hashlib

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import (
    decode_dss_signature,
    encode_dss_signature,
)

from ledger.verify.report import Refusal
from ledger.verify.strict import b64url, b64url_text

STATEMENT = "countershade-statement"
CHECKPOINT = "countershade-checkpoint"
COORDINATE = 32  # bytes of each half of a P-256 signature


def protected(typ: str) -> str:
    """The protected header: the algorithm and what kind of document is signed, nothing else."""
    return b64url_text(b'{"alg":"ES256","typ":"' + typ.encode("ascii") + b'"}')


def signing_input(typ: str, data: bytes) -> bytes:
    """What the signature covers: protected header, a dot, and the document in base64url."""
    return f"{protected(typ)}.{b64url_text(data)}".encode("ascii")


def sign(key: ec.EllipticCurvePrivateKey, data: bytes, typ: str) -> str:
    """Compact detached JWS: protected header, nothing, signature (r and s, 32 bytes each)."""
    if key.curve.name != "secp256r1":
        raise ValueError("ES256 needs a P-256 key")
    r, s = decode_dss_signature(key.sign(signing_input(typ, data), ec.ECDSA(hashes.SHA256())))
    raw = r.to_bytes(COORDINATE, "big") + s.to_bytes(COORDINATE, "big")
    return f"{protected(typ)}..{b64url_text(raw)}"


def check(public: ec.EllipticCurvePublicKey, data: bytes, jws: str, typ: str) -> None:
    """Raises Refusal unless `jws` is this key's signature over exactly these bytes."""
    parts = jws.split(".")
    if len(parts) != 3 or parts[1] != "":
        raise Refusal("jws.form", "not a detached JWS (header..signature)")
    if parts[0] != protected(typ):
        raise Refusal("jws.header", f"protected header is not ES256 of type {typ}")
    raw = b64url(parts[2])
    if len(raw) != 2 * COORDINATE:
        raise Refusal("jws.form", "an ES256 signature has 64 bytes")
    r, s = int.from_bytes(raw[:COORDINATE], "big"), int.from_bytes(raw[COORDINATE:], "big")
    if public.curve.name != "secp256r1":
        raise Refusal("jws.key", "the key is not on P-256")
    try:
        public.verify(
            encode_dss_signature(r, s), signing_input(typ, data), ec.ECDSA(hashes.SHA256())
        )
    except InvalidSignature:
        raise Refusal("jws.signature", "the signature does not fit the signed bytes") from None


def sha256(data: bytes) -> str:
    """SHA-256 in lowercase hex."""
    return hashlib.sha256(data).hexdigest()
