"""Run every benchmark of this folder, print a table and write benchmarks/latest.json.

    python -m benchmarks.run [NAME ...]

A benchmark is a module here with a function `rows()` that yields `benchmarks.row.Row`. Exit status
1 when a budget is not kept. Figures differ between machines: compare the ratios of one run.
"""

from __future__ import annotations

import importlib
import json
import pkgutil
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

from benchmarks.row import Row

FOLDER = Path(__file__).parent
LATEST = FOLDER / "latest.json"
WORDS = {True: "holds", False: "BROKEN", None: ""}


def modules() -> list[str]:
    """Names of the benchmark modules, in order; ``samples`` asks for a folder of files."""
    others = {"run", "row", "samples", "apart"}
    return sorted(m.name for m in pkgutil.iter_modules([str(FOLDER)]) if m.name not in others)


def collect(names: Iterable[str]) -> Iterator[Row]:
    """The rows of the named modules, as they come."""
    for name in names:
        yield from importlib.import_module(f"benchmarks.{name}").rows()


def short(value: float | None) -> str:
    """A number for the table."""
    return "" if value is None else f"{value:,.4g}" if abs(value) < 1e4 else f"{value:,.0f}"


def table(rows: list[Row]) -> Iterator[str]:
    """The lines of the table."""
    head = ("what", "figure", "unit", "reference", "ratio", "budget", "")
    cells = [head] + [
        (
            row.name,
            short(row.figure),
            row.unit,
            short(row.reference),
            short(row.ratio),
            row.budget,
            WORDS[row.holds],
        )
        for row in rows
    ]
    widths = [max(len(line[i]) for line in cells) for i in range(len(head))]
    for line in cells:
        parts = [
            cell.rjust(width) if i in {1, 3, 4} else cell.ljust(width)
            for i, (cell, width) in enumerate(zip(line, widths, strict=True))
        ]
        yield "  ".join(parts).rstrip()


def main(names: list[str]) -> int:
    """Measure, print, write; `names` limits the run to some modules and then writes nothing."""
    unknown = set(names) - set(modules())
    if unknown:
        sys.stderr.write(f"no such benchmark: {', '.join(sorted(unknown))}\n")
        return 2
    rows = list(collect(names or modules()))
    print("\n".join(table(rows)))
    if not names:
        text = json.dumps([row.as_json() for row in rows], indent=1, ensure_ascii=False)
        LATEST.write_text(text + "\n", encoding="utf-8")
    return 1 if any(row.holds is False for row in rows) else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
