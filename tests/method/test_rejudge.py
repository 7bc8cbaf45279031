"""Judging an unpacked record again: same bytes in a fresh process, and every way to differ."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from ledger.canonical import canonical_bytes, digest, parse
from method.judge import judge
from method.rejudge import DIFFERENT, NO_RECORD, SAME, main, rejudge
from tests.method.cases import Case, spectrum, visual_case

ROOT = Path(__file__).parents[2]
FAR = {"1": [spectrum(0.50)] * 2, "2": [spectrum(0.40)] * 2}


def _write(folder: Path, cases: list[Case]) -> list[str]:
    """An unpacked record of these cases' submissions and verdicts; returns verdict digests."""
    (folder / "blobs").mkdir(parents=True)
    number, given = 0, []
    for case in cases:
        terms, submission, blobs = case.inputs
        verdict = judge(terms, submission, blobs)
        given.append(digest(verdict))
        for data in (terms, submission, verdict, *blobs.values()):
            (folder / "blobs" / digest(data)).write_bytes(data)
        payload = {
            "submission": digest(submission), "digest": digest(verdict),
            "outcome": parse(verdict)["outcome"],
        }  # fmt: skip
        for kind, content in (("submission.made", {}), ("verdict.given", payload)):
            number += 1
            entry = folder / "entries" / f"{number:06d}"
            entry.mkdir(parents=True)
            (entry / "header.json").write_bytes(canonical_bytes({"kind": kind}))
            (entry / "payload.json").write_bytes(canonical_bytes(content))
    return given


@pytest.fixture
def record(tmp_path: Path) -> Path:
    _write(tmp_path / "record", [Case(), Case(rows=FAR), visual_case(), Case(sat=False)])
    return tmp_path / "record"


def test_every_verdict_comes_out_byte_for_byte(
    record: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([str(record)]) == SAME
    lines = capsys.readouterr().out.splitlines()
    assert [line.split(":")[1].strip() for line in lines[:-1]] == [
        "conforming", "nonconforming", "conforming", "incomplete",
    ]  # fmt: skip
    assert lines[-1] == "4 of 4 verdicts identical"


@pytest.mark.parametrize(
    ("seed", "zone", "language"),
    [("1", "Asia/Shanghai", "zh_CN.UTF-8"), ("4242", "America/Lima", "tr_TR.UTF-8")],
)
def test_a_fresh_process_under_another_seed_zone_and_locale_gives_the_same_bytes(
    record: Path, seed: str, zone: str, language: str
) -> None:
    surroundings = {"PYTHONHASHSEED": seed, "TZ": zone, "LANG": language, "LC_ALL": language}
    done = subprocess.run(
        [sys.executable, "-m", "method.rejudge", str(record)],
        cwd=ROOT, env={**os.environ, **surroundings}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == SAME, done.stdout + done.stderr
    assert done.stdout.endswith("4 of 4 verdicts identical\n")


def _verdict(record: Path, number: str = "000002") -> dict[str, Any]:
    payload: dict[str, Any] = parse((record / "entries" / number / "payload.json").read_bytes())
    return payload


def test_another_verdict_in_its_place_is_found_and_placed(
    record: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    payload = _verdict(record)
    forged = (record / "blobs" / payload["digest"]).read_bytes().replace(b'"n":2', b'"n":3', 1)
    (record / "blobs" / digest(forged)).write_bytes(forged)
    path = record / "entries" / "000002" / "payload.json"
    path.write_bytes(canonical_bytes({**payload, "digest": digest(forged)}))
    assert main([str(record)]) == DIFFERENT
    place = forged.index(b'"n":3') + 4
    assert f"entry 000002: conforming: differs from byte {place} on" in capsys.readouterr().out


@pytest.mark.parametrize("field", ["submission", "digest"])
def test_a_missing_or_altered_blob_is_named(record: Path, field: str) -> None:
    name = _verdict(record)[field]
    (record / "blobs" / name).write_bytes(b"x")
    assert name[:12] in rejudge(record)[0].text
    (record / "blobs" / name).unlink()
    assert "missing" in rejudge(record)[0].text


def test_evidence_that_is_gone_cannot_be_judged_again(record: Path) -> None:
    packed = next(iter(Case().blobs))
    (record / "blobs" / packed).unlink()
    result = rejudge(record)[0]
    assert not result.same
    assert "blob_missing" in result.text


def test_a_missing_payload_cannot_be_judged_again(record: Path) -> None:
    (record / "entries" / "000002" / "payload.json").unlink()
    assert "missing" in rejudge(record)[0].text
    assert main([str(record)]) == DIFFERENT


def test_a_verdict_that_a_part_withholds_is_left_out_and_counted(
    record: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = record / "entries" / "000002"
    (folder / "payload.json").unlink()
    (folder / "withheld").touch()
    assert main([str(record)]) == SAME
    shown = capsys.readouterr().out
    assert "000002" not in shown
    assert shown.endswith("3 of 3 verdicts identical, 1 withheld\n")
    # Where a payload is given, the word beside it takes nothing away.
    (record / "entries" / "000004" / "withheld").touch()
    assert len(rejudge(record)) == 3


def test_a_folder_that_is_no_record_is_refused_by_name(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([str(tmp_path)]) == NO_RECORD
    assert "no folder of entries" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("content", "message"), [(b"{", "not JSON"), (b"[]", "not an object"), (b"{}", "no kind")]
)
def test_a_damaged_header_is_named(
    record: Path, content: bytes, message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    (record / "entries" / "000002" / "header.json").write_bytes(content)
    assert main([str(record)]) == NO_RECORD
    error = capsys.readouterr().err
    assert message in error
    assert "000002" in error


def test_a_folder_without_blobs_has_nothing_identical(record: Path) -> None:
    (record / "blobs").rename(record / "elsewhere")
    assert not any(result.same for result in rejudge(record))
