"""How long the application takes to start, beside a bare import of Django.

A web process must not load heavy science (NumPy, the PDF typesetter) before it needs it: the budget
of `manage.py check` stands in DEVELOPERS.md.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

from benchmarks.row import Row, seconds

ROOT = Path(__file__).resolve().parents[1]


def command(*arguments: str) -> None:
    """Run Python quietly; an error stops the benchmark instead of counting as quick."""
    subprocess.run([sys.executable, *arguments], cwd=ROOT, check=True, stdout=subprocess.DEVNULL)


def rows() -> Iterator[Row]:
    """`manage.py check` in seconds."""
    bare = seconds(lambda: command("-c", "import django"))
    check = seconds(lambda: command("manage.py", "check"))
    yield Row("manage.py check", check, "s", reference=bare, budget="figure <= 1.5")
