"""Secrets at rest: AES-256-GCM under a key derived from the installation's KEY_SECRET.

Form: version byte 1, salt (16), nonce (12), ciphertext with tag. The label says what is sealed and
is authenticated: bytes sealed for one purpose do not open for another.
"""

from __future__ import annotations

import os

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings

VERSION = b"\x01"
SALT = 16
NONCE = 12


class SealError(Exception):
    """Sealed bytes that do not open: another secret, another label, or altered bytes."""


def seal(data: bytes, label: str) -> bytes:
    """The sealed bytes; every call draws a new salt and nonce."""
    salt, nonce = os.urandom(SALT), os.urandom(NONCE)
    return VERSION + salt + nonce + _cipher(salt).encrypt(nonce, data, label.encode())


def unseal(sealed: bytes, label: str) -> bytes:
    """The data, or SealError."""
    if sealed[:1] != VERSION or len(sealed) <= 1 + SALT + NONCE:
        raise SealError(f"{label}: not sealed by this version")
    salt, nonce = sealed[1 : 1 + SALT], sealed[1 + SALT : 1 + SALT + NONCE]
    try:
        return _cipher(salt).decrypt(nonce, sealed[1 + SALT + NONCE :], label.encode())
    except InvalidTag:
        raise SealError(f"{label}: does not open with COUNTERSHADE_KEY_SECRET") from None


def _cipher(salt: bytes) -> AESGCM:
    derived = HKDF(
        algorithm=hashes.SHA256(), length=32, salt=salt, info=b"countershade sealing 1"
    ).derive(settings.KEY_SECRET.encode())
    return AESGCM(derived)
