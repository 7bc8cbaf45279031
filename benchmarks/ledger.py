"""Verifying a record: time per entry, and memory against the number of entries.

Time is set beside what no verifier can do without: hashing each header and payload and parsing
their JSON. Memory is the peak of a process that verifies and does nothing else, its libraries
included; what it holds of the file at once counts too.
"""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator
from pathlib import Path

from benchmarks.row import Row, seconds
from ledger import certificates
from ledger.canonical import canonical_bytes
from ledger.verify import jws, verify, zipform

SOME, MANY = 100_000, 1_000_000
ROOT = Path(__file__).resolve().parents[1]
# The peak is read from Linux itself: what getrusage says begins with that of the parent process.
ALONE = """
import re, sys, time
from pathlib import Path
from ledger.verify import verify
start = time.process_time()
report = verify(sys.argv[1], sys.argv[2])
taken = time.process_time() - start
peak = re.search(r"VmHWM:\\s+(\\d+) kB", Path("/proc/self/status").read_text())
print(report.outcome, taken, int(peak[1]) / 1024)
"""

Triple = tuple[bytes, bytes, bytes]


def entries(count: int) -> Iterator[Triple]:
    """Headers, payloads and salts of an invented chain of remarks."""
    previous = "0" * 64
    fields = {"v": 1, "chain": "bench", "actor": "C-1", "organisation": "ORG-C", "blobs": []}
    fields |= {"side": "customer", "role": "quality_lead", "kind": "remark.made"}
    for number in range(1, count + 1):
        text = f"Remark {number}: the frame is neutral grey, the lamps were warm."
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
        yield header, payload, salt


def write(path: Path, made: Iterable[Triple], count: int) -> str:
    """A signed record of these entries; returns its root's fingerprint."""
    key, root = certificates.make_root()
    fingerprint = certificates.fingerprint(root)
    manifest = {"v": 1, "form": "whole", "chain": "bench", "entries": count, "blobs": 0}
    header = b""
    with path.open("wb") as out:
        writer = zipform.Writer(out)
        writer.add("manifest.json", canonical_bytes(manifest))
        writer.add("root.der", root)
        for number, (header, payload, salt) in enumerate(made, start=1):
            content = b"\n".join([header, payload, salt.hex().encode(), b""])
            writer.add(f"entries/{number:06d}", content)
        now = time.strftime("%Y-%m-%dT%H:%M:%S.000000Z", time.gmtime())
        point = {"v": 1, "chain": "bench", "number": count, "time": now, "root": fingerprint}
        checkpoint = canonical_bytes(point | {"hash": hashlib.sha256(header).hexdigest()})
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


def alone(path: Path, fingerprint: str) -> tuple[float, float]:
    """Seconds of processor and peak MiB of a process that verifies the record."""
    done = subprocess.run(
        [sys.executable, "-c", ALONE, str(path), fingerprint],
        cwd=ROOT,
        check=True,
        capture_output=True,
        text=True,
    )
    outcome, taken, peak = done.stdout.split()
    if outcome != "verified":
        raise RuntimeError(f"the benchmark's record is {outcome}")
    return float(taken), float(peak)


def rows() -> Iterator[Row]:
    """Time at both lengths; memory at the greater against the lesser."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "record.zip"
        made = list(entries(SOME))
        fingerprint = write(path, made, SOME)
        plain = seconds(lambda: bare(made), repeat=3) / SOME * 1e6
        whole = seconds(lambda: verify(path, fingerprint), repeat=3) / SOME * 1e6
        yield per_entry(SOME, whole, plain)
        _, little = alone(path, fingerprint)
        fingerprint = write(path, entries(MANY), MANY)
        taken, much = alone(path, fingerprint)
        yield per_entry(MANY, taken / MANY * 1e6, plain)
    yield Row("entries verified a second, one core", 1e6 / whole, "1/s")
    name = f"peak memory of verifying {MANY:,} entries, against {SOME:,}"
    yield Row(name, much, "MiB", reference=little, budget="ratio <= 1.25")


def per_entry(count: int, taken: float, plain: float) -> Row:
    """Microseconds of one entry against the bare work on one."""
    name = f"verify a record of {count:,} entries, per entry"
    return Row(name, taken, "µs", reference=plain, budget="ratio <= 3")
