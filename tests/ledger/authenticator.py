"""A soft authenticator: makes the evidence of a passkey as Web Authentication level 2 describes.

Sections of the W3C Recommendation of 8 April 2021: authenticator data 6.1, an assertion's signature
6.3.3, client data 5.8.1 with its serialisation 5.8.1.1, the credential's COSE key 6.5.1.1.
"""

from __future__ import annotations

import base64
import hashlib
import json
import os
from dataclasses import dataclass, field
from typing import Any

from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec

PRESENT, VERIFIED, ATTESTED, EXTENDED = 0x01, 0x04, 0x40, 0x80


def b64url(data: bytes) -> str:
    """Unpadded base64url."""
    return base64.urlsafe_b64encode(data).decode().rstrip("=")


@dataclass
class Authenticator:
    """One credential on one device, for one relying party, used from pages of one origin."""

    relying_party: str = "localhost"
    origin: str = "http://localhost:8000"
    key: ec.EllipticCurvePrivateKey = field(
        default_factory=lambda: ec.generate_private_key(ec.SECP256R1())
    )
    id: bytes = field(default_factory=lambda: os.urandom(32))
    counter: int = 0

    @property
    def credential(self) -> dict[str, str]:
        """What a key.certified entry says of it."""
        return {
            "id": b64url(self.id), "relying_party": self.relying_party, "origin": self.origin,
        }  # fmt: skip

    @property
    def cose(self) -> bytes:
        """The public key as COSE (RFC 8152, 13.1.1): EC2, ES256, P-256, x, y."""
        point = self.key.public_key().public_numbers()
        x, y = point.x.to_bytes(32, "big"), point.y.to_bytes(32, "big")
        return bytes.fromhex("a5010203262001215820") + x + bytes.fromhex("225820") + y

    def data(
        self, *, party: str | None = None, flags: int = PRESENT | VERIFIED, rest: bytes = b""
    ) -> bytes:
        """Authenticator data: digest of the relying party, flags, counter, extensions."""
        self.counter += 1
        digest = hashlib.sha256((party or self.relying_party).encode()).digest()
        return digest + bytes([flags]) + self.counter.to_bytes(4, "big") + rest

    def client(self, challenge: bytes, /, **changes: Any) -> bytes:
        """Collected client data, in the order of its serialisation."""
        said: dict[str, Any] = {
            "type": "webauthn.get",
            "challenge": b64url(challenge),
            "origin": self.origin,
            "crossOrigin": False,
        }
        said |= changes
        return json.dumps(said, separators=(",", ":")).encode()

    def sign(self, data: bytes, client: bytes) -> dict[str, str]:
        """The assertion over these bytes, whatever they are."""
        signed = data + hashlib.sha256(client).digest()
        signature = self.key.sign(signed, ec.ECDSA(hashes.SHA256()))
        return {
            "authenticator_data": b64url(data),
            "client_data": b64url(client),
            "signature": b64url(signature),
        }

    def assertion(self, statement: bytes) -> dict[str, str]:
        """The evidence over a statement: its digest is the challenge."""
        return self.sign(self.data(), self.client(hashlib.sha256(statement).digest()))
