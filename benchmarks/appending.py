"""Appending to a chain and keeping files: what one entry costs on a short and on a long chain.

The chains are written at once by inserting rows; only the appends that follow are measured, in turn
on both. PostgreSQL is measured where COUNTERSHADE_TEST_DATABASE_URL names a server. A file is set
beside the bare writing, syncing and renaming of the same bytes.

    python -m benchmarks.appending LENGTH    one more length, such as 1000000, on SQLite
"""

from __future__ import annotations

import hashlib
import json
import os
import statistics
import sys
import time
import uuid
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

from benchmarks import apart
from benchmarks.row import Row

SHORT, LONG, TIMES = 1_000, 100_000, 400
SECONDS = 2.0
BLOB = 256 * 1024
BATCH = 2_000


def rows() -> Iterator[Row]:
    """Appends on both databases, and blobs."""
    sqlite = measured("", SHORT, LONG)
    yield growth("SQLite", sqlite)
    yield Row("appends a second, one process, SQLite", sqlite["rate"], "1/s")
    server = os.environ.get(apart.SERVER, "")
    if server:
        with apart.database(server) as url:
            found = measured(url, SHORT, LONG)
        yield growth("PostgreSQL", found)
        name = "appends a second, one process, PostgreSQL"
        yield Row(name, found["rate"], "1/s")
    name = f"keep a new file of {BLOB // 1024} KiB, against bare write and sync"
    yield Row(name, sqlite["blob"], "ms", reference=sqlite["bare"], budget="ratio <= 3")


def growth(database: str, found: dict[str, float]) -> Row:
    """One append on the long chain against one on the short chain."""
    name = f"append at chain length {LONG:,} against {SHORT:,}, {database}"
    return Row(name, found["long"], "ms", reference=found["short"], budget="ratio <= 1.5")


def measured(url: str, short: int, long: int) -> dict[str, float]:
    """All figures of one database, from a process of its own."""
    return apart.measured("benchmarks.appending", str(short), str(long), url=url)


def within(short: int, long: int) -> dict[str, float]:
    """The figures, in the process whose settings name the database."""
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", "ledger", verbosity=0)
    for name, length in (("short", short), ("long", long)):
        fill(name, length)
    for name in ("short", "long"):  # the first ones warm the caches
        for _ in range(20):
            append(name)
    taken: dict[str, list[float]] = {"short": [], "long": []}
    for _ in range(TIMES):
        for name, times in taken.items():
            times.append(milliseconds(lambda name=name: append(name)))
    ends, appended = time.perf_counter() + SECONDS, 0
    while time.perf_counter() < ends:
        append("long")
        appended += 1
    figures = {name: statistics.median(times) for name, times in taken.items()}
    return figures | {"rate": appended / SECONDS} | blobs()


def fill(name: str, length: int) -> None:
    """A whole chain of so many entries, each naming the one before, inserted at once."""
    from django.db import connection

    from ledger import chain
    from ledger.models import ChainHead, Entry

    moment, previous, rows = datetime(2026, 3, 3, 8, 0, tzinfo=UTC), chain.START, []
    fields = {"actor": "C-1", "organisation": "ORG-C", "side": "customer", "role": "quality_lead"}
    payload, salt = b'{"text":"The plaque is lighter than the master."}', bytes(32)
    committed = chain.commitment(salt, payload)
    for number in range(1, length + 1):
        told = {**fields, "kind": "post.made", "subject": f"post:{number}", "act": f"{number:032x}"}
        facts = {"chain": name, "number": number, "previous": previous, **told}
        header = chain.header_bytes(time=moment, blobs=(), payload=committed, **facts)
        stored = {"header_bytes": header, "payload_bytes": payload, "salt": salt, "time": moment}
        row = Entry(hash=hashlib.sha256(header).hexdigest(), **facts, **stored)
        previous = row.hash
        rows.append(row)
        if len(rows) == BATCH:
            Entry.objects.bulk_create(rows)
            rows = []
    Entry.objects.bulk_create(rows)
    ChainHead.objects.create(chain=name, number=length, hash=previous)
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")


def append(name: str) -> None:
    """One entry in its own transaction."""
    from django.db import transaction

    from ledger import chain
    from ledger.kinds import Kind

    by = chain.Actor("C-1", "ORG-C", "customer", "quality_lead")
    said = {"text": "The plaque is lighter than the master."}
    with transaction.atomic():
        act = chain.new_act()
        chain.append(name, by=by, kind=Kind.POST_MADE, subject="post", act=act, payload=said)


def blobs() -> dict[str, float]:
    """Milliseconds to keep a new file, and to write, sync and rename the same bytes."""
    from django.conf import settings

    from ledger import blobs as kept

    folder = Path(settings.BLOB_DIR)
    folder.mkdir(parents=True, exist_ok=True)
    taken: dict[str, list[float]] = {"blob": [], "bare": []}
    for _ in range(40):
        data = os.urandom(BLOB)
        taken["blob"].append(milliseconds(lambda data=data: kept.put("long", data, "text/plain")))
        taken["bare"].append(milliseconds(lambda data=data: bare(folder, data)))
    return {name: statistics.median(times) for name, times in taken.items()}


def bare(folder: Path, data: bytes) -> None:
    """The bytes on the disk under a name that stays."""
    part = folder / "bare.part"
    with part.open("wb") as out:
        out.write(data)
        out.flush()
        os.fsync(out.fileno())
    part.rename(folder / f"bare-{uuid.uuid4().hex}")
    handle = os.open(folder, os.O_RDONLY)
    os.fsync(handle)
    os.close(handle)


def milliseconds(act: Callable[[], object]) -> float:
    """How long it takes once."""
    start = time.perf_counter()
    act()
    return (time.perf_counter() - start) * 1e3


if __name__ == "__main__":
    if sys.argv[1] == "--within":
        print(json.dumps(within(int(sys.argv[2]), int(sys.argv[3]))))
    else:
        print(json.dumps(measured("", SHORT, int(sys.argv[1])), indent=1))
