"""Write the verifier as one file to publish: `python .ci/verifier.py [FILE]`.

The file is a zipapp of ledger/verify and ledger/__init__.py alone, for Python 3.11 or later with
the package `cryptography`. The same sources give the same bytes, whoever writes it and when:
members are stored in the order of their names, by the writer of signed records. Prints its SHA-256.
Needs nothing but Python's standard library, so that anybody can make the published file again.
"""

from __future__ import annotations

import hashlib
import runpy
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
# By its path: importing it as part of the verifier would ask for `cryptography`.
Writer = runpy.run_path(str(ROOT / "ledger" / "verify" / "zipform.py"))["Writer"]
TARGET = ROOT / "dist" / "countershade-verifier.pyz"
SHEBANG = b"#!/usr/bin/env python3\n"
MAIN = b"""import sys

from ledger.verify.__main__ import main

sys.exit(main())
"""


def sources() -> dict[str, bytes]:
    """Name in the archive -> content, without anything that was compiled."""
    files = [ROOT / "ledger" / "__init__.py", *(ROOT / "ledger" / "verify").glob("*.py")]
    found = {path.relative_to(ROOT).as_posix(): path.read_bytes() for path in files}
    return found | {"__main__.py": MAIN}


def write(target: Path) -> str:
    """Write the zipapp, whole or not at all; returns its SHA-256."""
    target.parent.mkdir(parents=True, exist_ok=True)
    part = target.with_suffix(".part")
    with part.open("wb") as out:
        out.write(SHEBANG)
        writer = Writer(out)
        writer.offset = len(SHEBANG)  # places count from the start of the file
        for name, content in sorted(sources().items()):
            writer.add(name, content)
        writer.close()
    part.replace(target)
    target.chmod(0o755)
    return hashlib.sha256(target.read_bytes()).hexdigest()


def main(arguments: list[str]) -> int:
    """The command; returns its exit status."""
    target = Path(arguments[0]) if arguments else TARGET
    digest = write(target)
    print(f"{digest}  {target}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
