"""Chains of entries: opening, appending, reading.

An entry's header is hashed; the hash of each header stands in the next one. The header carries a
salted commitment to the payload (SHA-256 of 32 random bytes followed by the payload's bytes), so
that a payload can be withheld without breaking the chain and cannot be guessed from its digest.
An erasable payload is stored encrypted (`ledger.erasure`); its commitment is over the clear bytes.
The form of header and commitment is fixed for good: see docs/record-format.md.
"""

from __future__ import annotations

import os
import re
import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from django.db import connection
from django.db.models import QuerySet

from ledger import clock, erasable, erasure
from ledger.canonical import canonical_bytes, digest
from ledger.kinds import Kind, payload_bytes
from ledger.models import Blob, ChainHead, Entry

VERSION = 1
START = "0" * 64  # what the first entry names as its previous hash
SALT_BYTES = erasable.SALT
MAX_BLOBS = 10_000
MAX_PAYLOAD = 4 * 1024 * 1024  # with its header it stays below the verifier's limit

_CHAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")
_CODE = re.compile(r"[A-Za-z0-9._:-]{1,64}")
_SUBJECT = re.compile(r"[!#-\[\]-~]([ !#-\[\]-~]{0,118}[!#-\[\]-~])?")


class ChainError(Exception):
    """An entry or chain that cannot be: the message says why. Nothing was written."""


@dataclass(frozen=True)
class Actor:
    """Who acts, for whom, on which side, in which role: codes, never names."""

    person: str
    organisation: str
    side: str
    role: str


SYSTEM = Actor("system", "system", "system", "system")


@dataclass(frozen=True)
class EntryRef:
    """An entry by its number in the chain and its hash."""

    number: int
    hash: str


@dataclass(frozen=True)
class Head:
    """The last entry of a chain; number 0 and START when there is none."""

    number: int
    hash: str


def new_act() -> str:
    """A fresh id for one act; all entries that one transition appends carry the same."""
    return uuid.uuid4().hex


def open_chain(chain: str) -> None:
    """Make the chain known; doing it again changes nothing."""
    if not _CHAIN.fullmatch(chain):
        raise ChainError(f"{chain!r} cannot name a chain")
    ChainHead.objects.get_or_create(chain=chain, defaults={"number": 0, "hash": START})


def exists(chain: str) -> bool:
    """Whether the chain was opened."""
    return ChainHead.objects.filter(chain=chain).exists()


def head(chain: str) -> Head:
    """The chain's last entry."""
    row = ChainHead.objects.filter(chain=chain).first()
    if row is None:
        raise ChainError(f"no chain {chain!r}")
    return Head(row.number, row.hash)


def entries(chain: str) -> QuerySet[Entry]:
    """All entries of one chain in order; each row has `.header`, `.payload`, `.blobs`."""
    return Entry.objects.filter(chain=chain).order_by("number")


def append(
    chain: str,
    *,
    by: Actor,
    kind: Kind,
    subject: str,
    act: str,
    payload: Mapping[str, Any],
    blobs: Sequence[str] = (),
    personal: str | None = None,
) -> EntryRef:
    """Add one entry to an opened chain, inside the caller's transaction.

    The same act, kind and subject with the same payload and blobs returns the entry that is there;
    with others it is refused. `personal`: the code of the person under whose key the payload is
    written, so that it can be erased; not for kinds that others lean on, nor with blobs. Raises
    ChainError (no transaction, no chain, unknown blob, malformed code), kinds.PayloadError or, for
    a new entry under a destroyed key, erasure.Erased.
    """
    if not connection.in_atomic_block:
        raise ChainError("append runs inside transaction.atomic(), together with what it records")
    kind = Kind(kind)
    written = payload_bytes(kind, payload)
    if len(written) > MAX_PAYLOAD:
        raise ChainError(f"a payload of {len(written)} bytes; at most {MAX_PAYLOAD}")
    named = _checked_blobs(chain, blobs)
    _check_personal(personal, kind, subject, named)
    last = ChainHead.objects.select_for_update().filter(chain=chain).first()
    if last is None:
        raise ChainError(f"no chain {chain!r}: open_chain comes first")
    same = Entry.objects.filter(chain=chain, act=act, kind=kind.value, subject=subject).first()
    if same is not None:
        if not _is_same(same, written, named, personal):
            raise ChainError(f"{kind} of {subject} stands in this act already, with other content")
        return EntryRef(same.number, same.hash)
    fields = _header_fields(by, kind, subject, act)
    return _insert(last, fields, written, named, personal)


def _is_same(entry: Entry, payload: bytes, blobs: list[str], personal: str | None) -> bool:
    """Whether the entry says just this; of an erased one nobody can tell, so it stands for it."""
    if entry.blobs != blobs or entry.personal != personal:
        return False
    try:
        return erasure.clear(entry)[0] == payload
    except erasure.Erased:
        return True


def _check_personal(personal: str | None, kind: Kind, subject: str, blobs: list[str]) -> None:
    if personal is None:
        return
    if not _CODE.fullmatch(personal):
        raise ChainError(f"personal {personal!r} is not a code (letters, digits, . _ : -)")
    if kind in erasure.LEANED_ON:
        raise ChainError(f"{kind} cannot be erased: other entries lean on it")
    if blobs:
        raise ChainError("an erasable entry names no blobs: they would stay")
    if subject != erasure.subject(personal):
        raise ChainError(f"an erasable entry is about {erasure.subject(personal)}, not {subject!r}")


def _insert(
    last: ChainHead,
    fields: Mapping[str, str],
    payload: bytes,
    blobs: list[str],
    personal: str | None,
) -> EntryRef:
    """Write the entry after `last` and move the head; both or neither (caller's transaction)."""
    salt = os.urandom(SALT_BYTES)
    time = _not_before(last)
    number = last.number + 1
    stored, stored_salt = payload, salt
    if personal is not None:
        place = (last.chain, number, fields["kind"])
        key = erasure.key_for(last.chain, personal)
        stored, stored_salt = erasable.encrypt(key, salt, payload, place), b""
    header = header_bytes(
        chain=last.chain,
        number=number,
        time=time,
        payload=commitment(salt, payload),
        blobs=blobs,
        previous=last.hash,
        **fields,
    )
    entry = Entry.objects.create(
        chain=last.chain,
        number=number,
        time=time,
        hash=digest(header),
        previous=last.hash,
        header_bytes=header,
        payload_bytes=stored,
        salt=stored_salt,
        personal=personal,
        **fields,
    )
    moved = ChainHead.objects.filter(chain=last.chain, number=last.number, hash=last.hash).update(
        number=number, hash=entry.hash
    )
    if moved != 1:
        raise ChainError(f"chain {last.chain!r} moved on while an entry was written")
    return EntryRef(number, entry.hash)


def header_bytes(*, time: datetime, blobs: Iterable[str], **fields: Any) -> bytes:
    """Canonical bytes of an entry's header; `time` aware, `blobs` digests."""
    return canonical_bytes(
        {"v": VERSION, "time": clock.text(time), "blobs": sorted(set(blobs)), **fields}
    )


def commitment(salt: bytes, payload: bytes) -> str:
    """What a header says of its payload: SHA-256 of the salt (32 bytes) followed by the payload."""
    if len(salt) != SALT_BYTES:
        raise ChainError(f"a salt has {SALT_BYTES} bytes")
    return digest(salt + payload)


def _not_before(last: ChainHead) -> datetime:
    """The time of the next entry: now, but never before the previous entry's time."""
    now = clock.now().astimezone(UTC)
    previous = (
        Entry.objects.filter(chain=last.chain, number=last.number)
        .values_list("time", flat=True)
        .first()
    )
    return now if previous is None else max(now, previous)


def _header_fields(by: Actor, kind: Kind, subject: str, act: str) -> dict[str, str]:
    codes = {
        "actor": by.person,
        "organisation": by.organisation,
        "side": by.side,
        "role": by.role,
        "act": act,
    }
    for name, value in codes.items():
        if not _CODE.fullmatch(value):
            raise ChainError(f"{name} {value!r} is not a code (letters, digits, . _ : -)")
    if not _SUBJECT.fullmatch(subject):
        raise ChainError(f"subject {subject!r} is not 1 to 120 ASCII characters without quotes")
    return {**codes, "kind": kind.value, "subject": subject}


def _checked_blobs(chain: str, blobs: Sequence[str]) -> list[str]:
    """The digests sorted and once each, every one of them stored in this chain."""
    wanted = sorted(set(blobs))
    if len(wanted) > MAX_BLOBS:
        raise ChainError(f"{len(wanted)} blobs in one entry; at most {MAX_BLOBS}")
    stored: set[str] = set()
    for start in range(0, len(wanted), 500):
        some = wanted[start : start + 500]
        stored.update(
            Blob.objects.filter(chain=chain, digest__in=some).values_list("digest", flat=True)
        )
    missing = [one for one in wanted if one not in stored]
    if missing:
        raise ChainError(f"blob {missing[0]} is not stored in chain {chain!r}")
    return wanted
