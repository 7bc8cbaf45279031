"""Judge every verdict of an unpacked record again and compare the bytes.

    python -m method.rejudge DIR

DIR is what `python -m ledger.verify FILE --unpack DIR` writes: entries/NNNNNN/{header,payload}
.json and blobs/<digest>; of a record about one lot or dispute too, where the verdicts of others are
withheld (a file `withheld` stands in the payload's place) and are left out here. Nothing but the
folder is read. One line per verdict that is given; the exit status is 0 when every one of them came
out byte for byte, 1 when one did not, 2 when DIR is no such folder. Whether the record itself is
genuine, and withholds what it may, is the verifier's question, not this one's.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ledger.canonical import CanonicalError, digest, parse_json
from method.judge import JudgeError, judge
from method.submission import SubmissionError, parse_submission

SAME, DIFFERENT, NO_RECORD = 0, 1, 2
VERDICT = "verdict.given"


class RecordError(Exception):
    """A folder that is not an unpacked record; the message names file and fault."""


class FolderBlobs(Mapping[str, bytes]):
    """The blobs of an unpacked record by digest, each read when it is asked for."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._names = {path.name for path in folder.iterdir()} if folder.is_dir() else set()

    def __getitem__(self, name: str) -> bytes:
        if name not in self._names:
            raise KeyError(name)
        return (self._folder / name).read_bytes()

    def __iter__(self) -> Iterator[str]:
        return iter(sorted(self._names))

    def __len__(self) -> int:
        return len(self._names)


@dataclass(frozen=True)
class Entry:
    """One entry of the chain as unpacked: folder name, kind, payload (None where there is none)."""

    name: str
    kind: str
    payload: Mapping[str, Any] | None
    withheld: bool = False  # in a part of a record: not given, and said so


@dataclass(frozen=True)
class Result:
    """One verdict judged again: the entry, whether the bytes are the same, and a line to read."""

    entry: str
    same: bool
    text: str


def rejudge(folder: Path) -> list[Result]:
    """Judge again what every verdict.given entry names that is given. Raises RecordError."""
    blobs = FolderBlobs(folder / "blobs")
    return [
        _again(entry, blobs)
        for entry in entries(folder / "entries")
        if entry.kind == VERDICT and not entry.withheld
    ]


def withheld(folder: Path) -> int:
    """How many verdicts a part of a record withholds. Raises RecordError."""
    return sum(entry.kind == VERDICT and entry.withheld for entry in entries(folder / "entries"))


def entries(folder: Path) -> Iterator[Entry]:
    """The entries of an unpacked record by number. Raises RecordError."""
    if not folder.is_dir():
        raise RecordError(f"{folder}: no folder of entries")
    for path in sorted(folder.iterdir()):
        header = _json(path / "header.json")
        payload = _json(path / "payload.json") if (path / "payload.json").exists() else None
        if not isinstance(header.get("kind"), str):
            raise RecordError(f"{path / 'header.json'}: no kind")
        is_withheld = payload is None and (path / "withheld").exists()
        yield Entry(path.name, header["kind"], payload, is_withheld)


def _json(path: Path) -> dict[str, Any]:
    try:
        value = parse_json(path.read_bytes())
    except (OSError, CanonicalError) as error:
        raise RecordError(f"{path}: {error}") from None
    if not isinstance(value, dict):
        raise RecordError(f"{path}: not an object")
    return value


def _again(entry: Entry, blobs: Mapping[str, bytes]) -> Result:
    if entry.payload is None:
        return Result(entry.name, False, "payload missing: cannot be judged again")
    named = str(entry.payload.get("submission", "")), str(entry.payload.get("digest", ""))
    for name in named:
        if name not in blobs or digest(blobs[name]) != name:
            return Result(entry.name, False, f"blob {name[:12]} missing or altered")
    submission, stored = (blobs[name] for name in named)
    try:
        terms = blobs.get(parse_submission(submission).terms, b"")
        given = judge(terms, submission, blobs)
    except (SubmissionError, JudgeError) as error:
        return Result(entry.name, False, f"cannot be judged again: {error}")
    outcome = str(entry.payload.get("outcome", ""))
    if given == stored:
        return Result(entry.name, True, f"{outcome}: identical, {named[1][:12]}")
    place = next(
        (n for n, (one, other) in enumerate(zip(given, stored, strict=False)) if one != other),
        min(len(given), len(stored)),
    )
    return Result(entry.name, False, f"{outcome}: differs from byte {place} on")


def main(arguments: list[str] | None = None) -> int:
    """The command; returns its exit status."""
    parser = argparse.ArgumentParser(
        prog="python -m method.rejudge", description="Judge an unpacked record again."
    )
    parser.add_argument("folder", type=Path, help="folder written by ledger.verify --unpack")
    folder = parser.parse_args(arguments).folder
    try:
        results, left_out = rejudge(folder), withheld(folder)
    except RecordError as error:
        print(error, file=sys.stderr)
        return NO_RECORD
    for result in results:
        print(f"entry {result.entry}: {result.text}")
    same = sum(result.same for result in results)
    others = f", {left_out} withheld" if left_out else ""
    print(f"{same} of {len(results)} verdicts identical{others}")
    return SAME if same == len(results) else DIFFERENT


if __name__ == "__main__":
    sys.exit(main())
