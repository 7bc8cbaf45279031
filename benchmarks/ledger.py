"""Verifying a record and appending to a chain.

Verification is set beside what no verifier can do without: hashing each header and payload and
parsing their JSON. Appending is measured on a short and on a long chain of the same database.
"""

from __future__ import annotations

import hashlib
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from benchmarks.row import Row, seconds
from ledger import certificates
from ledger.canonical import canonical_bytes
from ledger.verify import jws, verify, zipform

ENTRIES = 30_000
SHORT, LONG, TIMES = 100, 5_000, 300
ROOT = Path(__file__).resolve().parents[1]

Triple = tuple[bytes, bytes, bytes]


def entries(count: int) -> list[Triple]:
    """Headers, payloads and salts of an invented chain of remarks."""
    made, previous = [], "0" * 64
    fields = {"v": 1, "chain": "bench", "actor": "C-1", "organisation": "ORG-C", "blobs": []}
    fields |= {"side": "customer", "role": "quality_lead", "kind": "remark.made"}
    for number in range(1, count + 1):
        text = f"Remark {number}: the frame is neutral grey, the lamps were warm. " * 3
        payload = canonical_bytes({"revision": 1, "clause": "viewing", "text": text})
        salt = os.urandom(32)
        header = canonical_bytes(
            fields
            | {
                "number": number,
                "time": "2026-03-03T08:00:00.000000Z",
                "subject": f"remark:{number}",
                "act": f"{number:032x}",
                "payload": hashlib.sha256(salt + payload).hexdigest(),
                "previous": previous,
            }
        )
        previous = hashlib.sha256(header).hexdigest()
        made.append((header, payload, salt))
    return made


def write(path: Path, made: list[Triple]) -> str:
    """A signed record of these entries; returns its root's fingerprint."""
    key, root = certificates.make_root()
    fingerprint = certificates.fingerprint(root)
    now = time.strftime("%Y-%m-%dT%H:%M:%S.000000Z", time.gmtime())
    point = {"v": 1, "chain": "bench", "number": len(made), "time": now, "root": fingerprint}
    checkpoint = canonical_bytes(point | {"hash": hashlib.sha256(made[-1][0]).hexdigest()})
    manifest = {"v": 1, "form": "whole", "chain": "bench", "entries": len(made), "blobs": 0}
    with path.open("wb") as out:
        writer = zipform.Writer(out)
        writer.add("manifest.json", canonical_bytes(manifest))
        writer.add("root.der", root)
        for number, (header, payload, salt) in enumerate(made, start=1):
            content = b"\n".join([header, payload, salt.hex().encode(), b""])
            writer.add(f"entries/{number:06d}", content)
        writer.add("checkpoint.json", checkpoint)
        writer.add("checkpoint.jws", jws.sign(key, checkpoint, jws.CHECKPOINT).encode())
        writer.close()
    return fingerprint


def bare(made: list[Triple]) -> None:
    """Hashing and JSON parsing alone."""
    for header, payload, salt in made:
        hashlib.sha256(header).digest()
        hashlib.sha256(salt + payload).digest()
        json.loads(header)
        json.loads(payload)


def verifying() -> Iterator[Row]:
    """Microseconds per entry, against the bare work."""
    made = entries(ENTRIES)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "record.zip"
        fingerprint = write(path, made)
        outcome = verify(path, fingerprint).outcome
        if outcome != "verified":
            raise RuntimeError(f"the benchmark's record is {outcome}")
        whole = seconds(lambda: verify(path, fingerprint), repeat=3) / ENTRIES * 1e6
        plain = seconds(lambda: bare(made), repeat=3) / ENTRIES * 1e6
    name = f"verify a record of {ENTRIES:,} entries, per entry"
    yield Row(name, whole, "µs", reference=plain, budget="ratio <= 3")


def appending() -> Iterator[Row]:
    """Milliseconds per append on a long chain, against a short one of the same database."""
    with tempfile.TemporaryDirectory() as folder:
        surroundings = {
            **os.environ,
            "COUNTERSHADE_VAR_DIR": folder,
            "DATABASE_URL": "",
            "DJANGO_SETTINGS_MODULE": "config.settings",
        }
        shown = subprocess.run(
            [sys.executable, "-m", "benchmarks.ledger"],
            cwd=ROOT,
            env=surroundings,
            check=True,
            capture_output=True,
            text=True,
        ).stdout
    short, long = json.loads(shown)
    name = f"append at chain length {LONG:,}, against {SHORT:,}"
    yield Row(name, long, "ms", reference=short, budget="ratio <= 1.5")


def rows() -> Iterator[Row]:
    """All rows of the ledger."""
    yield from verifying()
    yield from appending()


def measure_appends() -> list[float]:
    """Median milliseconds of one append in its own transaction, at both lengths, in turn."""
    import django

    django.setup()

    from django.core.management import call_command
    from django.db import transaction

    from ledger import chain
    from ledger.kinds import Kind

    call_command("migrate", "ledger", verbosity=0)
    by = chain.Actor("C-1", "ORG-C", "customer", "quality_lead")

    def append(name: str) -> None:
        said = {"text": "The plaque is lighter than the master."}
        with transaction.atomic():
            act = chain.new_act()
            chain.append(name, by=by, kind=Kind.POST_MADE, subject="post", act=act, payload=said)

    for name, length in (("short", SHORT), ("long", LONG)):
        chain.open_chain(name)
        with transaction.atomic():
            for _ in range(length):
                append(name)
    taken: dict[str, list[float]] = {"short": [], "long": []}
    for _ in range(TIMES):
        for name, times in taken.items():
            start = time.perf_counter()
            append(name)
            times.append((time.perf_counter() - start) * 1e3)
    return [statistics.median(times) for times in taken.values()]


if __name__ == "__main__":
    print(json.dumps(measure_appends()))
