"""What a passkey's authenticator gave back, checked against a statement and a certified key.

The form is that of Web Authentication level 2 (W3C Recommendation, 2021): authenticator data
(section 6.1), collected client data (5.8.1), an assertion's signature (6.3.3), and the steps of
"Verifying an Authentication Assertion" (7.2) as far as a reader without the server can repeat them.
Not repeated: the signature counter (a statement's nonce is never used twice in a chain).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import (
    decode_dss_signature,
    encode_dss_signature,
)

from ledger.verify.report import Refusal
from ledger.verify.strict import TwiceError, b64url, b64url_text, read_json, shown

EVIDENCE = ("authenticator_data", "client_data", "signature")
CREDENTIAL = ("id", "relying_party", "origin")
TYPE = "webauthn.get"
USER_PRESENT, USER_VERIFIED, ATTESTED, EXTENDED = 0x01, 0x04, 0x40, 0x80
PLAIN = 37  # bytes of authenticator data without extensions: digest, flags, counter
MAX_DATA, MAX_CLIENT, MAX_SIGNATURE = 3072, 6144, 80  # bytes

_ID = re.compile(r"[A-Za-z0-9_-]{16,1400}")
_PARTY = re.compile(r"[a-z0-9.-]{1,253}")
_ORIGIN = re.compile(r"https?://([a-z0-9.-]{1,253})(:[0-9]{1,5})?")


@dataclass(frozen=True)
class Credential:
    """The public facts of a passkey that its `key.certified` entry names."""

    id: str
    relying_party: str
    origin: str


def credential(value: Any) -> Credential:
    """The credential of a key.certified payload; Refusal `key.credential` if it is none."""
    if type(value) is not dict or set(value) != set(CREDENTIAL):
        raise Refusal("key.credential", "a credential is id, relying_party and origin")
    texts = [value[name] for name in CREDENTIAL]
    if not all(type(text) is str for text in texts):
        raise Refusal("key.credential", "a credential's fields are texts")
    forms = (_ID, _PARTY, _ORIGIN)
    for name, text, form in zip(CREDENTIAL, texts, forms, strict=True):
        if not form.fullmatch(text):
            raise Refusal("key.credential", f"{name} is not in its form", field=name)
    found = Credential(*texts)
    host = _ORIGIN.fullmatch(found.origin)
    party = found.relying_party
    if host is None or not (host[1] == party or host[1].endswith("." + party)):
        raise Refusal("key.credential", "the origin does not lie within the relying party")
    return found


def check(
    public: ec.EllipticCurvePublicKey, statement: bytes, evidence: Any, known: Credential
) -> None:
    """Refusal (`passkey.…`) unless this key signed exactly this statement, by a verified user.

    statement: its canonical bytes, whose SHA-256 is the challenge; evidence: the three texts of
    `EVIDENCE` in unpadded base64url; known: the credential that was certified with the key.
    """
    data, client, signature = _decoded(evidence)
    _check_client(client, statement, known)
    _check_authenticator(data, known)
    _check_signature(public, data + sha256(client).digest(), signature)


def _decoded(evidence: Any) -> list[bytes]:
    if type(evidence) is not dict or set(evidence) != set(EVIDENCE):
        raise Refusal("passkey.form", f"a passkey's evidence is {', '.join(EVIDENCE)}")
    found = []
    for name, limit in zip(EVIDENCE, (MAX_DATA, MAX_CLIENT, MAX_SIGNATURE), strict=True):
        text = evidence[name]
        if type(text) is not str:
            raise Refusal("passkey.form", "not a text", field=name)
        try:
            data = b64url(text)
        except Refusal as refusal:
            raise Refusal("passkey.base64url", refusal.finding.message, field=name) from None
        if not 0 < len(data) <= limit:
            raise Refusal("passkey.form", f"1 to {limit} bytes, not {len(data)}", field=name)
        found.append(data)
    return found


def _check_client(client: bytes, statement: bytes, known: Credential) -> None:
    """The collected client data: what the browser says it was asked, and by whom."""
    try:
        said = read_json(client)
    except TwiceError as error:
        raise _client("passkey.duplicate-key", error.finding.message) from None
    except Refusal as refusal:
        raise _client("passkey.client-data", refusal.finding.message) from None
    if type(said) is not dict:
        raise _client("passkey.client-data", "not a JSON object")
    if said.get("type") != TYPE:
        raise _client("passkey.type", f"type is not {TYPE}")
    if said.get("challenge") != b64url_text(sha256(statement).digest()):
        raise _client("passkey.challenge", "the challenge is not the statement's digest")
    if said.get("origin") != known.origin:
        raise _client("passkey.origin", f"given at another origin than {shown(known.origin)}")
    if said.get("crossOrigin", False) is not False or "topOrigin" in said:
        raise _client("passkey.cross-origin", "given inside a page of another origin")


def _client(id: str, message: str) -> Refusal:
    return Refusal(id, message, field="client_data")


def _check_authenticator(data: bytes, known: Credential) -> None:
    """The authenticator data: for which relying party, and that a user was there and verified."""
    field = "authenticator_data"
    if len(data) < PLAIN:
        raise Refusal("passkey.form", f"shorter than {PLAIN} bytes", field=field)
    if data[:32] != sha256(known.relying_party.encode("ascii")).digest():
        raise Refusal("passkey.relying-party", "given to another relying party", field=field)
    flags = data[32]
    if not flags & USER_PRESENT:
        raise Refusal("passkey.user-present", "no user was present", field=field)
    if not flags & USER_VERIFIED:
        raise Refusal("passkey.user-verified", "the user was not verified", field=field)
    if flags & ATTESTED or (len(data) > PLAIN) != bool(flags & EXTENDED):
        raise Refusal("passkey.form", "flags and length do not fit each other", field=field)


def _check_signature(public: ec.EllipticCurvePublicKey, signed: bytes, signature: bytes) -> None:
    try:
        r, s = decode_dss_signature(signature)
        exact = encode_dss_signature(r, s) == signature
    except ValueError:
        exact = False
    if not exact:
        raise Refusal("passkey.form", "not an ECDSA signature in DER", field="signature")
    try:
        public.verify(signature, signed, ec.ECDSA(hashes.SHA256()))
    except InvalidSignature:
        raise Refusal(
            "passkey.signature", "the signature does not fit what was signed", field="signature"
        ) from None
