"""Every single flipped bit of a record is found and placed, wherever it lies.

10,000 random flips over the whole golden record, headers and directory included, and 2,000 over one
of ten times its size: the seed of a flip is its number. The budget of all is 60 seconds.
"""

from __future__ import annotations

import hashlib
import random
import time
from collections import Counter
from pathlib import Path

import pytest

from ledger.verify import verify
from tests.ledger import plain as make
from tests.ledger.plain import Plain
from tests.make_golden_record import RECORD

GOLDEN = "df47475e3105de95a71b30945a26e672f02d2cf021951b306572b72521ee9e91"
BUDGET = 60.0  # seconds for 10,000 flips
UNNAMED = {"record.unreadable", "file.unreadable"}


def flip(path: Path, at: int, bit: int) -> None:
    """Flip one bit of a file where it lies; again restores it."""
    with path.open("r+b") as file:
        file.seek(at)
        byte = file.read(1)[0]
        file.seek(at)
        file.write(bytes([byte ^ 1 << bit]))


def check(path: Path, root: str | None, seeds: range) -> Counter[str]:
    """Flip, verify, restore, once per seed; how often each finding was met."""
    size, met = path.stat().st_size, Counter()
    for seed in seeds:
        bit = random.Random(seed).randrange(size * 8)
        at = bit // 8
        flip(path, at, bit % 8)
        report = verify(path, root)
        flip(path, at, bit % 8)
        assert report.exit_code == 1, f"seed {seed}: bit {bit} was not found"
        (finding,) = report.findings
        assert finding.id not in UNNAMED, f"seed {seed}: {finding}"
        assert finding.member or finding.field, f"seed {seed}: {finding}"
        within = range(finding.offset, finding.offset + finding.length)
        assert at in within, f"seed {seed}: byte {at}, but {finding}"
        # A content is searched for the very byte; a header field is at most a name long.
        assert finding.length == 1 if finding.field == "content" else finding.length <= 70
        met[finding.id] += 1
    assert verify(path, root).findings == []  # restored: all that was found was the flip
    return met


@pytest.fixture(scope="module")
def larger(tmp_path_factory) -> tuple[Path, str]:
    """Some 2 MB: 1,500 entries, both signatures, documents of up to half a megabyte."""
    plain, _, _ = make.signed()
    rng = random.Random(5)
    for size in (500_000, 300_000, 200_000, *(rng.randrange(1, 20_000) for _ in range(30))):
        content = rng.randbytes(size)
        said = {"name": "a.png", "digest": hashlib.sha256(content).hexdigest()}
        plain.add(make.BO, "file.entered", make.LOT, said, content)
    remarks(plain, 1_450)
    path = tmp_path_factory.mktemp("larger") / "record.zip"
    path.write_bytes(plain.record())
    return path, plain.fingerprint


def remarks(plain: Plain, count: int) -> None:
    """Entries without documents."""
    for number in range(count):
        text = f"Remark {number}: the frame is neutral grey – ΔE ≤ 1, the lamps were warm."
        said = {"revision": 1, "clause": "viewing", "text": text}
        plain.add(make.ADA, "remark.made", f"remark-{number}", said)


@pytest.mark.slow
def test_ten_thousand_flips_of_the_golden_record_are_found_within_a_minute(tmp_path):
    path = tmp_path / "record.zip"
    path.write_bytes(RECORD.read_bytes())
    start = time.process_time()
    met = check(path, GOLDEN, range(10_000))
    assert time.process_time() - start <= BUDGET
    assert sum(met.values()) == 10_000
    # Contents, local headers and their names, the directory: all were hit.
    assert {"zip.content", "zip.header", "zip.name"} <= set(met)


@pytest.mark.slow
def test_two_thousand_flips_of_a_larger_record_are_found(larger):
    path, root = larger
    assert path.stat().st_size > 2_000_000
    assert sum(check(path, root, range(10_000, 12_000)).values()) == 2_000


@pytest.mark.parametrize("rooted", [True, False])
def test_a_flipped_bit_is_found_whether_a_root_is_named_or_not(small, tmp_path, rooted):
    path = tmp_path / "record.zip"
    path.write_bytes(small.record())
    check(path, small.fingerprint if rooted else None, range(200))


def test_a_flipped_bit_of_a_part_is_found(tmp_path):
    plain, _, _ = make.signed()
    part = plain.part(make.LOT, lambda entry: entry.header["subject"] == make.LOT)
    path = tmp_path / "record.zip"
    path.write_bytes(part.build(plain.root_key))
    check(path, plain.fingerprint, range(500))


def test_every_bit_of_the_first_header_manifest_and_of_the_end_is_found(small, tmp_path):
    path = tmp_path / "record.zip"
    path.write_bytes(small.record())
    size = path.stat().st_size
    for at in [*range(150), *range(size - 120, size)]:
        for bit in range(8):
            flip(path, at, bit)
            report = verify(path, small.fingerprint)
            flip(path, at, bit)
            assert report.exit_code == 1, (at, bit)
            finding = report.findings[0]
            assert finding.offset <= at < finding.offset + finding.length, (at, bit, finding)


def test_a_flipped_bit_of_a_note_is_found(tmp_path):
    plain, _, _ = make.signed()
    note = plain.note(*sorted(plain.countersigned(number) for number in (9, 10))).encode()
    path = tmp_path / "record.zip"
    path.write_bytes(plain.record())
    assert verify(path, plain.fingerprint, note=note).outcome == "verified"
    rng = random.Random(8)
    for _ in range(400):
        bit = rng.randrange((len(note) - 1) * 8)  # the last line feed may be missing
        flipped = bytearray(note)
        flipped[bit // 8] ^= 1 << bit % 8
        report = verify(path, plain.fingerprint, note=bytes(flipped))
        assert report.outcome == "refused", (bit, bytes(flipped))
        assert report.findings[0].id.startswith("note."), report.findings
