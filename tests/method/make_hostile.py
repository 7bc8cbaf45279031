"""Writes the hostile set: files for the readers, one per trick, each named after it.

``python -m tests.method.make_hostile FOLDER`` writes them all; they are the same each time and are
not kept in the repository (some are as large as the readers' limits). What must come of each stands
in test_hostile.py.
"""

from __future__ import annotations

import sys
from pathlib import Path

from tests.method import hostile_books, hostile_text, hostile_xml

TRICKS = {**hostile_text.TRICKS, **hostile_xml.TRICKS, **hostile_books.TRICKS}


def write(folder):
    """Write every file into a folder that exists; return their number."""
    for name, make in TRICKS.items():
        Path(folder, name).write_bytes(make())
    return len(TRICKS)


if __name__ == "__main__":
    print(write(sys.argv[1]))
