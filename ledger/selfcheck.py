"""Find what should never be: dropped triggers, broken chains, missing or altered blobs.

Whole chains are read page by page, with constant memory. `ledger.watching` keeps what was found.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db import DEFAULT_DB_ALIAS, connections
from django.db.models import OuterRef, QuerySet, Subquery

from ledger import chain as chains
from ledger import clock, erasure
from ledger.blobs import BlobAltered, BlobError, BlobMissing, get
from ledger.canonical import CanonicalError, canonical_bytes, digest, parse
from ledger.models import Blob, ChainHead, Entry, SeenHead
from ledger.operations import expected_triggers

REPEATED = ("actor", "organisation", "side", "role", "kind", "subject", "act", "chain", "number")
PAGE = 1000

# By id: what is wrong, for the operator. {chain} and the facts of the fault stand in it.
SENTENCES = {
    "trigger-missing": "table {table}: trigger {trigger} is missing or switched off",
    "trigger-other": "table {table}: trigger {trigger} is not the one made by migrations",
    "number": "chain {chain}, entry {entry}: number {expected} should stand here",
    "previous": "chain {chain}, entry {entry}: does not name the hash of the entry before",
    "hash": "chain {chain}, entry {entry}: the hash is not that of the header",
    "header": "chain {chain}, entry {entry}: the header cannot be read: {problem}",
    "column": "chain {chain}, entry {entry}: column {column} differs from the header",
    "payload": "chain {chain}, entry {entry}: the payload is not the one that was committed to",
    "moved": "chain {chain}, entry {entry}: another stood here at an earlier check",
    "taken-away": "chain {chain}: an earlier check saw entry {entry}, which is no longer there",
    "head": "chain {chain}: head says {head}, the last entry is {last}",
    "head-lost": "chain {chain}: has entries and no head",
    "blob-missing": "chain {chain}: the file of blob {digest} is missing",
    "blob-altered": "chain {chain}: the file of blob {digest} was altered",
    "storage": "the files could not be read: {problem}",
    "more": "chain {chain}: there are more faults than are listed",
}


@dataclass(frozen=True)
class Fault:
    """One thing that is wrong: its id, the chain it is in (empty: the installation), its facts."""

    id: str
    chain: str = ""
    facts: Mapping[str, Any] = field(default_factory=dict)

    @property
    def key(self) -> str:
        """The same for the same fault, whenever it is found."""
        return digest(canonical_bytes({"id": self.id, "chain": self.chain, **self.facts}))

    def __str__(self) -> str:
        return SENTENCES[self.id].format(chain=self.chain, **self.facts)


@dataclass(frozen=True)
class Place:
    """How far a chain was read: the number and hash of the last entry."""

    number: int = 0
    hash: str = chains.START


def findings(using: str = DEFAULT_DB_ALIAS) -> list[str]:
    """Everything that is wrong, one sentence each; empty when all is well."""
    return [str(fault) for fault in faults(using)]


def faults(using: str = DEFAULT_DB_ALIAS) -> Iterator[Fault]:
    """Everything that is wrong."""
    yield from trigger_faults(using)
    for row in heads(using).iterator(chunk_size=PAGE):
        yield from chain_faults(row, using)
    yield from lost_faults(using)
    for blob in Blob.objects.using(using).order_by("chain", "digest").iterator(chunk_size=PAGE):
        fault = blob_fault(blob)
        if fault is not None:
            yield fault


def trigger_faults(using: str = DEFAULT_DB_ALIAS) -> Iterator[Fault]:
    """Triggers that are not there, switched off, or read otherwise than the migrations say."""
    connection = connections[using]
    standing = _sqlite(using) if connection.vendor == "sqlite" else _postgresql(using)
    for trigger in expected_triggers(using):
        text = standing.get((trigger.table, trigger.name))
        if text != trigger.body:
            what = "trigger-missing" if text is None else "trigger-other"
            yield Fault(what, "", {"table": trigger.table, "trigger": trigger.name})


def heads(using: str = DEFAULT_DB_ALIAS) -> QuerySet[Any]:
    """Heads by chain, each with the number and hash of its last entry (`last_number`, `last_hash`).

    One statement reads both, so that an append in between makes no difference.
    """
    last = Entry.objects.filter(chain=OuterRef("chain")).order_by("-number")
    return (
        ChainHead.objects.using(using)
        .annotate(
            last_number=Subquery(last.values("number")[:1]),
            last_hash=Subquery(last.values("hash")[:1]),
        )
        .order_by("chain")
    )


def chain_faults(row: Any, using: str = DEFAULT_DB_ALIAS) -> Iterator[Fault]:
    """Everything wrong in one chain, from its first entry; `row`: of `heads`."""
    yield from head_faults(row, using)
    place, found = Place(), list[Fault]()
    while place.number < (row.last_number or 0):
        found, place = page(row.chain, place, row.last_number, using)
        yield from found


def head_faults(row: Any, using: str = DEFAULT_DB_ALIAS) -> Iterator[Fault]:
    """A head that does not name the last entry; entries that were seen and are gone."""
    last = Place() if row.last_number is None else Place(row.last_number, row.last_hash)
    if (row.number, row.hash) != (last.number, last.hash):
        yield Fault("head", row.chain, {"head": row.number, "last": last.number})
    seen = last_seen(row.chain, using)
    if seen.number > last.number:
        yield Fault("taken-away", row.chain, {"entry": seen.number})


def last_seen(chain: str, using: str = DEFAULT_DB_ALIAS) -> Place:
    """The last head of this chain that a check found right."""
    seen = SeenHead.objects.using(using).filter(chain=chain).order_by("-number").first()
    return Place() if seen is None else Place(seen.number, seen.hash)


def page(
    chain: str, after: Place, until: int, using: str = DEFAULT_DB_ALIAS
) -> tuple[list[Fault], Place]:
    """Read up to PAGE entries after a place, none beyond number `until`: faults, and how far.

    Gaps, broken links, altered headers, payloads or columns, entries other than those seen before.
    """
    number, previous = after.number, after.hash
    found: list[Fault] = []
    least = number or -1  # no entry bears the number 0: one that does is seen as well
    rows = Entry.objects.using(using).filter(chain=chain, number__gt=least, number__lte=until)
    entries = erasure.with_keys(rows.order_by("number")[:PAGE], using)
    seen = _seen(chain, number, using)
    for entry in entries:
        number += 1
        at = {"entry": entry.number}
        if entry.number != number:
            found.append(Fault("number", chain, at | {"expected": number}))
            number = entry.number
        if entry.previous != previous:
            found.append(Fault("previous", chain, at))
        if seen.get(number, entry.hash) != entry.hash:
            found.append(Fault("moved", chain, at))
        previous = entry.hash
        found += [Fault(what, chain, at | facts) for what, facts in _entry_faults(entry)]
    return found, Place(number, previous) if entries else Place(until, previous)


def moved_faults(chain: str, seen: Place, using: str = DEFAULT_DB_ALIAS) -> Iterator[Fault]:
    """Whether the entry that was last seen still stands where it stood."""
    if seen.number == 0:
        return
    entry = Entry.objects.using(using).filter(chain=chain, number=seen.number).first()
    if entry is not None and entry.hash != seen.hash:
        yield Fault("moved", chain, {"entry": seen.number})
    elif entry is not None:
        at = {"entry": entry.number}
        yield from (Fault(what, chain, at | facts) for what, facts in _entry_faults(entry))


def lost_faults(using: str = DEFAULT_DB_ALIAS) -> Iterator[Fault]:
    """Chains that have entries, or had them at an earlier check, and no head."""
    known = ChainHead.objects.using(using).values("chain")
    lost = Entry.objects.using(using).exclude(chain__in=known)
    for name in lost.order_by().values_list("chain", flat=True).distinct():
        yield Fault("head-lost", name)
    gone = SeenHead.objects.using(using).exclude(chain__in=known)
    for name in gone.order_by().values_list("chain", flat=True).distinct():
        yield Fault("taken-away", name, {"entry": last_seen(name, using).number})


def blob_fault(blob: Blob) -> Fault | None:
    """What is wrong with the bytes of a blob; StorageDown says that they could not be read."""
    try:
        get(blob.chain, blob.digest)
    except BlobMissing:
        return Fault("blob-missing", blob.chain, {"digest": blob.digest})
    except BlobAltered:
        return Fault("blob-altered", blob.chain, {"digest": blob.digest})
    except BlobError as error:
        return Fault("storage", "", {"problem": str(error).partition(": ")[2] or str(error)})
    return None


def _seen(chain: str, after: int, using: str) -> dict[int, str]:
    """Hashes by number of the heads seen from here on, as many as a page has entries."""
    rows = SeenHead.objects.using(using).filter(chain=chain, number__gt=after).order_by("number")
    return dict(rows.values_list("number", "hash")[:PAGE])


def _entry_faults(entry: Entry) -> Iterator[tuple[str, dict[str, Any]]]:
    header_bytes = bytes(entry.header_bytes)
    if digest(header_bytes) != entry.hash:
        yield "hash", {}
    try:
        header: dict[str, Any] = parse(header_bytes)
    except CanonicalError as error:
        yield "header", {"problem": str(error)[:200]}
        return
    columns = {name: getattr(entry, name) for name in (*REPEATED, "previous")}
    columns["time"] = clock.text(entry.time)
    for name, value in columns.items():
        if header.get(name) != value:
            yield "column", {"column": name}
    if not _committed(entry, header.get("payload")):
        yield "payload", {}


def _committed(entry: Entry, said: Any) -> bool:
    """Whether the payload is the one committed to. Of an erased one nobody can tell: for that the
    chain has to say that this person's payloads were erased."""
    try:
        payload, salt = erasure.clear(entry)
    except erasure.ErasableError:
        return False
    except erasure.Erased:
        return erasure.is_told(entry)
    return len(salt) == chains.SALT_BYTES and chains.commitment(salt, payload) == said


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
