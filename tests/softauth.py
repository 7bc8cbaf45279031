"""An authenticator in software and a browser's key, for tests: `cryptography` and CBOR by hand.

Nothing here is shared with the project's own code or with the library that it checks passkeys
with: forms are written down from Web Authentication level 2 (6.1 authenticator data, 6.5 attested
credential data and attestation objects, 5.8.1 client data), RFC 9052/9053 (COSE keys), RFC 8949
(CBOR) and RFC 7515 (JWS). Every fault that a test asks for is an argument.
"""

from __future__ import annotations

import base64
import hashlib
import json
import os
import struct
from dataclasses import dataclass, field
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.pbkdf2 import PBKDF2HMAC

PRESENT, VERIFIED, ATTESTED = 0x01, 0x04, 0x40
ORIGIN, RELYING_PARTY = "http://localhost:8000", "localhost"


def b64u(data: bytes) -> str:
    """Unpadded base64url."""
    return base64.urlsafe_b64encode(data).rstrip(b"=").decode()


def unb64u(text: str) -> bytes:
    """Bytes of unpadded base64url."""
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))


def cbor(value: Any) -> bytes:
    """Maps, texts, byte strings and integers in CBOR, nothing else."""

    def head(major: int, number: int) -> bytes:
        if number < 24:
            return bytes([major << 5 | number])
        if number < 256:
            return bytes([major << 5 | 24, number])
        return bytes([major << 5 | 25]) + struct.pack(">H", number)

    if isinstance(value, int):
        return head(0, value) if value >= 0 else head(1, -1 - value)
    if isinstance(value, bytes):
        return head(2, len(value)) + value
    if isinstance(value, str):
        return head(3, len(value.encode())) + value.encode()
    inner = b"".join(cbor(key) + cbor(one) for key, one in value.items())
    return head(5, len(value)) + inner


@dataclass
class SoftAuthenticator:
    """One passkey. `count`: 0 for a device that does not count."""

    origin: str = ORIGIN
    relying_party: str = RELYING_PARTY
    count: int = 0
    key: ec.EllipticCurvePrivateKey = field(
        default_factory=lambda: ec.generate_private_key(ec.SECP256R1())
    )
    credential: bytes = field(default_factory=lambda: os.urandom(32))

    @property
    def credential_id(self) -> str:
        """As the record names it."""
        return b64u(self.credential)

    def cose(self) -> bytes:
        """The public part as a COSE key: EC2, ES256, P-256."""
        numbers = self.key.public_key().public_numbers()
        x, y = numbers.x.to_bytes(32, "big"), numbers.y.to_bytes(32, "big")
        return cbor({1: 2, 3: -7, -1: 1, -2: x, -3: y})

    def authenticator_data(self, flags: int, more: bytes = b"", party: str = "") -> bytes:
        """Hash of the relying party, flags, counter, and what follows."""
        name = (party or self.relying_party).encode()
        return hashlib.sha256(name).digest() + bytes([flags]) + struct.pack(">I", self.count) + more

    def client_data(self, kind: str, challenge: bytes, origin: str = "") -> bytes:
        """What the browser says about the ceremony."""
        said = {
            "type": kind,
            "challenge": b64u(challenge),
            "origin": origin or self.origin,
            "crossOrigin": False,
        }
        return json.dumps(said, separators=(",", ":")).encode()

    def create(self, challenge: bytes, *, flags: int = PRESENT | VERIFIED, origin: str = "") -> str:
        """The answer to navigator.credentials.create as JSON, without attestation."""
        attested = bytes(16) + struct.pack(">H", len(self.credential)) + self.credential
        data = self.authenticator_data(flags | ATTESTED, attested + self.cose())
        attestation = cbor({"fmt": "none", "attStmt": {}, "authData": data})
        response = {
            "clientDataJSON": b64u(self.client_data("webauthn.create", challenge, origin)),
            "attestationObject": b64u(attestation),
        }
        return json.dumps(
            {
                "id": self.credential_id,
                "rawId": self.credential_id,
                "type": "public-key",
                "response": response,
            }
        )

    def get(
        self,
        statement: bytes,
        *,
        flags: int = PRESENT | VERIFIED,
        origin: str = "",
        party: str = "",
        kind: str = "webauthn.get",
    ) -> dict[str, str]:
        """The evidence over a statement, as a signature's payload holds it."""
        if self.count:
            self.count += 1
        data = self.authenticator_data(flags, party=party)
        client = self.client_data(kind, hashlib.sha256(statement).digest(), origin)
        signed = data + hashlib.sha256(client).digest()
        return {
            "authenticator_data": b64u(data),
            "client_data": b64u(client),
            "signature": b64u(self.key.sign(signed, ec.ECDSA(hashes.SHA256()))),
        }


def check_evidence(
    public: ec.EllipticCurvePublicKey,
    evidence: dict[str, str],
    statement: bytes,
    *,
    origin: str = ORIGIN,
    party: str = RELYING_PARTY,
) -> None:
    """Passkey evidence checked by `cryptography` alone; AssertionError or InvalidSignature."""
    data, client = unb64u(evidence["authenticator_data"]), unb64u(evidence["client_data"])
    said = json.loads(client)
    assert said["type"] == "webauthn.get"
    assert said["origin"] == origin
    assert unb64u(said["challenge"]) == hashlib.sha256(statement).digest()
    assert data[:32] == hashlib.sha256(party.encode()).digest()
    assert data[32] & PRESENT
    assert data[32] & VERIFIED
    signed = data + hashlib.sha256(client).digest()
    public.verify(unb64u(evidence["signature"]), signed, ec.ECDSA(hashes.SHA256()))


def fits(public: ec.EllipticCurvePublicKey, evidence: dict[str, str], statement: bytes) -> bool:
    """The same as yes or no."""
    try:
        check_evidence(public, evidence, statement)
    except (AssertionError, InvalidSignature):
        return False
    return True


def raw(key: ec.EllipticCurvePrivateKey, data: bytes) -> bytes:
    """r ‖ s over SHA-256 of the data, as WebCrypto and JWS have it."""
    r, s = decode_dss_signature(key.sign(data, ec.ECDSA(hashes.SHA256())))
    return r.to_bytes(32, "big") + s.to_bytes(32, "big")


@dataclass
class BrowserKey:
    """What WebCrypto does: a P-256 key, wrapped under a passphrase."""

    passphrase: str = "several invented words"
    iterations: int = 600_000
    key: ec.EllipticCurvePrivateKey = field(
        default_factory=lambda: ec.generate_private_key(ec.SECP256R1())
    )

    def public_key(self) -> str:
        """SubjectPublicKeyInfo."""
        form = serialization.PublicFormat.SubjectPublicKeyInfo
        return b64u(self.key.public_key().public_bytes(serialization.Encoding.DER, form))

    def wrapped(self, **changes: Any) -> str:
        """The private part (PKCS #8) under AES-256-GCM, key by PBKDF2-SHA-256."""
        salt, iv = os.urandom(16), os.urandom(12)
        how = PBKDF2HMAC(hashes.SHA256(), length=32, salt=salt, iterations=self.iterations)
        private = self.key.private_bytes(
            serialization.Encoding.DER,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
        data = AESGCM(how.derive(self.passphrase.encode())).encrypt(iv, private, None)
        form = {
            "v": 1,
            "kdf": "PBKDF2-SHA-256",
            "iterations": self.iterations,
            "salt": b64u(salt),
            "cipher": "AES-256-GCM",
            "iv": b64u(iv),
            "data": b64u(data),
        }
        return json.dumps(form | changes)

    def possession(self, challenge: str) -> str:
        """The enrolment's challenge, signed."""
        return b64u(raw(self.key, f"countershade key enrolment {challenge}".encode()))

    def sign(self, statement: bytes, typ: str = "countershade-statement") -> str:
        """A detached JWS (RFC 7515, appendix F) with ES256."""
        header = b64u(f'{{"alg":"ES256","typ":"{typ}"}}'.encode())
        return f"{header}..{b64u(raw(self.key, f'{header}.{b64u(statement)}'.encode()))}"


def opened(wrapped: dict[str, Any], passphrase: str) -> ec.EllipticCurvePrivateKey:
    """The private part out of the wrapped form, as a browser opens it."""
    salt = unb64u(wrapped["salt"])
    how = PBKDF2HMAC(hashes.SHA256(), length=32, salt=salt, iterations=wrapped["iterations"])
    key = AESGCM(how.derive(passphrase.encode()))
    data = key.decrypt(unb64u(wrapped["iv"]), unb64u(wrapped["data"]), None)
    found = serialization.load_der_private_key(data, None)
    assert isinstance(found, ec.EllipticCurvePrivateKey)
    return found
