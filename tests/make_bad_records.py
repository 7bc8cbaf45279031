"""Write one bad record per trick into a folder: `python -m tests.make_bad_records FOLDER`.

Each file is named after what is wrong with it and must be refused for that reason alone: the id
that the verifier has to give stands beside the trick, in this file and in FOLDER/index.json (with
the root's fingerprint, and the note to hold beside it where there is one). Every trick is played by
somebody with all that such a forger could have: hashes, links, counts and checksums are made again,
and where it says `signed` the root itself signs the result, to reach the checks behind it. People,
firms and documents are invented; keys are made anew each time.
"""

from __future__ import annotations

import json
import sys
from dataclasses import dataclass
from pathlib import Path

from tests.ledger.bad import approvals, chains, contents, keys, notes, parts, passkeys
from tests.ledger.bad.trick import TRICKS, Trick

MODULES = (contents, chains, keys, approvals, passkeys, parts, notes)  # importing them fills TRICKS


@dataclass(frozen=True)
class Written:
    """A bad record in its file, and what the verifier must say."""

    path: Path
    expected: str
    root: str
    note: Path | None


def write(folder: Path) -> list[Written]:
    """Play every trick into `folder` (made where it is missing)."""
    folder.mkdir(parents=True, exist_ok=True)
    written = [_write(folder, trick) for trick in TRICKS]
    index = {
        one.path.name: {
            "refused by": one.expected,
            "root": one.root,
            "note": one.note and one.note.name,
        }
        for one in written
    }
    (folder / "index.json").write_text(json.dumps(index, indent=1) + "\n", encoding="utf-8")
    return written


def _write(folder: Path, trick: Trick) -> Written:
    made = trick.play()
    path = folder / f"{trick.name}.zip"
    path.write_bytes(made.record)
    note = None
    if made.note is not None:
        note = folder / f"{trick.name}.txt"
        note.write_bytes(made.note)
    return Written(path, trick.expected, made.root, note)


def main(arguments: list[str]) -> int:
    """The command; returns its exit status."""
    if len(arguments) != 1:
        print(__doc__, file=sys.stderr)
        return 2
    for one in write(Path(arguments[0])):
        print(f"{one.path.name}: {one.expected}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
