"""Erasing what was written erasably: keys per person and chain, and their destruction.

    chain.append(..., personal=code)   writes the payload under the person's key of that chain
    entry.payload, clear(entry)        read it as long as the key lives, and raise Erased after
    destroy(chain, code)               empties the key: the payloads cannot be read by anybody

The header's commitment is over the clear bytes, so a chain with erased payloads still verifies, and
nobody can tell from it what they said. What others copied before is not reached.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db import connection

from ledger import clock
from ledger.erasable import LEANED_ON, ErasableError, Erased, new_key
from ledger.kinds import Kind
from ledger.models import ChainHead, Entry, PersonalKey
from ledger.sealing import seal

__all__ = [
    "LEANED_ON",
    "ErasableError",
    "Erased",
    "clear",
    "destroy",
    "destroyed_at",
    "erased_at",
    "is_told",
    "key_for",
    "keys_of",
    "lock",
    "subject",
    "with_keys",
]


def clear(entry: Entry) -> tuple[bytes, bytes]:
    """The payload's bytes and the salt of any entry, as its header commits to them.

    Raises Erased after the key was destroyed, ErasableError where stored bytes do not open.
    """
    return entry.clear


def erased_at(entry: Entry) -> datetime | None:
    """When the payload of this entry was erased; None as long as it can be read."""
    key = entry.personal_key if entry.personal is not None else None
    return key.destroyed_at if key else None


def subject(person: str) -> str:
    """How entries about the name behind a code, and its erasure, name what they are about."""
    return f"person:{person}"


def is_told(entry: Entry) -> bool:
    """Whether a later entry of the chain says that this entry's payload was erased."""
    if entry.personal is None or entry.kind in LEANED_ON:
        return False
    later = Entry.objects.using(entry._state.db).filter(chain=entry.chain, number__gt=entry.number)
    told = later.filter(kind=Kind.PERSON_ERASED.value, subject=subject(entry.personal))
    return told.exists()


def with_keys(entries: Iterable[Entry], using: str | None = None) -> list[Entry]:
    """The entries with the keys of their erasable payloads read in one query, however many."""
    found = list(entries)
    wanted = {(one.chain, one.personal) for one in found if one.personal is not None}
    rows = PersonalKey.objects.using(using) if using else PersonalKey.objects.all()
    # Asked also where there is nothing to ask: a page's number of queries is the same for all.
    rows = rows.filter(
        chain__in=sorted({chain for chain, _ in wanted}) or [""],
        person__in=sorted({str(person) for _, person in wanted}) or [""],
    )
    keys = {(row.chain, row.person): row for row in rows}
    for one in found:
        if one.personal is not None:
            one.personal_key = keys.get((one.chain, one.personal))
    return found


def keys_of(chain: str) -> dict[str, PersonalKey]:
    """The keys of a chain, destroyed ones too, by the code of the person."""
    return {row.person: row for row in PersonalKey.objects.filter(chain=chain)}


def key_for(chain: str, person: str) -> bytes:
    """The person's key of this chain, made when first needed; Erased after it was destroyed.

    For `chain.append`, which holds the chain's head.
    """
    row = PersonalKey.objects.filter(chain=chain, person=person).first()
    if row is None:
        row = PersonalKey(chain=chain, person=person, created_at=clock.now())
        row.sealed = seal(new_key(), row.label)
        row.save(force_insert=True)
    return row.key


def lock(chains: Iterable[str]) -> None:
    """Hold the heads of several chains until the transaction ends, always in the same order."""
    heads = ChainHead.objects.select_for_update().filter(chain__in=set(chains))
    list(heads.order_by("chain"))


def destroyed_at(chain: str, person: str) -> datetime | None:
    """When the person's key of this chain was destroyed; None where it lives or never was."""
    rows = PersonalKey.objects.filter(chain=chain, person=person)
    return rows.values_list("destroyed_at", flat=True).first()


def destroy(chain: str, person: str) -> bool:
    """Destroy the person's key of this chain, inside the caller's transaction.

    Whether there was one: doing it again changes nothing. A code without a key gets the row that
    keeps one from being made later.
    """
    lock([chain])
    _overwrite_freed_pages()
    now = clock.now()
    rows = PersonalKey.objects.filter(chain=chain, person=person)
    if rows.filter(sealed__isnull=False).update(sealed=None, destroyed_at=now):
        return True
    PersonalKey.objects.get_or_create(
        chain=chain, person=person, defaults={"created_at": now, "destroyed_at": now}
    )
    return False


def _overwrite_freed_pages() -> None:
    """SQLite leaves what was in a row where it lay, unless told to write zeros over it."""
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA secure_delete = ON")
