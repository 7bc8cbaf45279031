"""Payloads that can be made unreadable later: encrypted under a key per person and chain.

Stored form: nonce (12 bytes), then AES-256-GCM over salt (32), payload and padding, with its tag.
The associated data are chain, number and kind of the entry, so that a ciphertext cannot be moved
to another one. Zeros fill up to the next multiple of PAD, so that after the key is destroyed the
length does not tell a short name from a long one; a payload is a JSON object and ends in no zero.
"""

from __future__ import annotations

import os
from datetime import datetime

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from ledger.canonical import canonical_bytes
from ledger.kinds import Kind
from ledger.verify.headers import never_erased, never_missing

KEY = 32
NONCE = 12
SALT = 32
PAD = 256

# Who sits where, with which keys, and what was erased: a record of one lot gives these in full too.
NEVER_WITHHELD = frozenset(kind for kind in Kind if never_missing(kind))
# What others lean on for ever: these cannot be written erasably.
LEANED_ON = frozenset(kind for kind in Kind if never_erased(kind))


class Erased(Exception):
    """The key was destroyed, or one was asked for after that; `at` says when."""

    def __init__(self, person: str, at: datetime | None) -> None:
        super().__init__(f"what was written erasably for {person} was erased")
        self.person = person
        self.at = at


class ErasableError(Exception):
    """Stored bytes that the key does not open: altered, of another entry, or of another key."""


def new_key() -> bytes:
    """A fresh key."""
    return os.urandom(KEY)


def encrypt(key: bytes, salt: bytes, payload: bytes, place: tuple[str, int, str]) -> bytes:
    """The stored form; place: chain, number and kind of the entry."""
    nonce, clear = os.urandom(NONCE), salt + payload
    padded = clear + bytes(-len(clear) % PAD)
    return nonce + AESGCM(key).encrypt(nonce, padded, _bound(place))


def decrypt(key: bytes, stored: bytes, place: tuple[str, int, str]) -> tuple[bytes, bytes]:
    """Payload and salt, or ErasableError."""
    try:
        clear = AESGCM(key).decrypt(stored[:NONCE], stored[NONCE:], _bound(place))
    except (InvalidTag, ValueError):
        raise ErasableError("the payload does not open with its key") from None
    return clear[SALT:].rstrip(b"\0"), clear[:SALT]


def _bound(place: tuple[str, int, str]) -> bytes:
    chain, number, kind = place
    return canonical_bytes({"v": 1, "chain": chain, "number": number, "kind": kind})
