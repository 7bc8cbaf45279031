"""Find what should never be: dropped triggers, broken chains, missing or altered blobs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.db import DEFAULT_DB_ALIAS, connections

from ledger import chain as chains
from ledger import clock
from ledger.blobs import BlobError, get
from ledger.canonical import CanonicalError, digest, parse
from ledger.models import Blob, ChainHead, Entry
from ledger.operations import expected_triggers

REPEATED = ("actor", "organisation", "side", "role", "kind", "subject", "act", "chain", "number")
PAGE = 1000


def findings(using: str = DEFAULT_DB_ALIAS) -> list[str]:
    """Everything that is wrong, one sentence each; empty when all is well."""
    found = list(trigger_findings(using))
    for row in ChainHead.objects.using(using).order_by("chain"):
        found.extend(chain_findings(row, using))
    found.extend(_orphans(using))
    found.extend(blob_findings(using))
    return found


def trigger_findings(using: str = DEFAULT_DB_ALIAS) -> Iterator[str]:
    """Triggers that are not there, switched off, or read otherwise than the migrations say."""
    connection = connections[using]
    standing = _sqlite(using) if connection.vendor == "sqlite" else _postgresql(using)
    for trigger in expected_triggers(using):
        text = standing.get((trigger.table, trigger.name))
        if text is None:
            yield f"table {trigger.table}: trigger {trigger.name} is missing or switched off"
        elif text != trigger.body:
            yield f"table {trigger.table}: trigger {trigger.name} is not the one made by migrations"


def chain_findings(row: ChainHead, using: str = DEFAULT_DB_ALIAS) -> Iterator[str]:
    """Faults of one chain: gaps, broken links, altered headers, payloads or columns, wrong head."""
    number, previous = 0, chains.START
    rows = Entry.objects.using(using).filter(chain=row.chain).order_by("number")
    for entry in rows.iterator(chunk_size=PAGE):
        number += 1
        place = f"chain {row.chain}, entry {entry.number}"
        if entry.number != number:
            yield f"{place}: number {number} should stand here"
            number = entry.number
        if entry.previous != previous:
            yield f"{place}: does not name the hash of the entry before"
        previous = entry.hash
        yield from (f"{place}: {fault}" for fault in _entry_faults(entry))
    if (row.number, row.hash) != (number, previous):
        yield f"chain {row.chain}: head says {row.number}, the last entry is {number}"


def blob_findings(using: str = DEFAULT_DB_ALIAS) -> Iterator[str]:
    """Blobs whose file is missing or has another content."""
    for blob in Blob.objects.using(using).order_by("chain", "digest").iterator(chunk_size=PAGE):
        try:
            get(blob.chain, blob.digest)
        except BlobError as error:
            yield f"chain {blob.chain}: {error}"


def _entry_faults(entry: Entry) -> Iterator[str]:
    header_bytes, payload = bytes(entry.header_bytes), bytes(entry.payload_bytes)
    if digest(header_bytes) != entry.hash:
        yield "the hash is not that of the header"
    try:
        header: dict[str, Any] = parse(header_bytes)
    except CanonicalError as error:
        yield f"the header cannot be read: {error}"
        return
    columns = {name: getattr(entry, name) for name in (*REPEATED, "previous")}
    columns["time"] = clock.text(entry.time)
    for name, value in columns.items():
        if header.get(name) != value:
            yield f"column {name} differs from the header"
    salt = bytes(entry.salt)
    if len(salt) != chains.SALT_BYTES or chains.commitment(salt, payload) != header.get("payload"):
        yield "the payload is not the one that was committed to"


def _orphans(using: str) -> Iterator[str]:
    known = ChainHead.objects.using(using).values("chain")
    lost = Entry.objects.using(using).exclude(chain__in=known)
    for name in lost.order_by().values_list("chain", flat=True).distinct():
        yield f"chain {name}: has entries and no head"


def _sqlite(using: str) -> dict[tuple[str, str], str]:
    with connections[using].cursor() as cursor:
        cursor.execute("SELECT tbl_name, name, sql FROM sqlite_master WHERE type = 'trigger'")
        return {(table, name): sql for table, name, sql in cursor.fetchall()}


def _postgresql(using: str) -> dict[tuple[str, str], str]:
    """Triggers that fire always (A), whatever the session says, for every row and column."""
    with connections[using].cursor() as cursor:
        cursor.execute(
            "SELECT c.relname, t.tgname, t.tgtype || p.prosrc FROM pg_trigger t "
            "JOIN pg_class c ON c.oid = t.tgrelid JOIN pg_proc p ON p.oid = t.tgfoid "
            "WHERE NOT t.tgisinternal AND t.tgenabled = 'A' "
            "AND t.tgqual IS NULL AND t.tgattr = ''::int2vector"
        )
        return {(table, name): text for table, name, text in cursor.fetchall()}
