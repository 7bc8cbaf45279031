"""House figures over our own packages, without tests and migrations.

    python -m tests.house.figures

Lengths of functions are counted without docstrings, lengths of files with everything. Exit status 1
when a limit is broken or a house rule is violated, each place named.
"""

from __future__ import annotations

import ast
import math
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.house import imports, layout, status
from tests.house.source import PACKAGES, ROOT, Finding, Source, sources

FUNCTION_P90, FUNCTION_MOST = 30, 60
FILE_P90, FILE_MOST = 300, 450
COUNTED = (*PACKAGES, "benchmarks")


@dataclass(frozen=True)
class Length:
    """A function's or a file's length in lines."""

    place: str
    lines: int


def docstring_lines(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """How many lines the docstring takes."""
    first = node.body[0]
    if ast.get_docstring(node, clean=False) is None:
        return 0
    return (first.end_lineno or first.lineno) - first.lineno + 1


def functions(source: Source) -> Iterator[Length]:
    """Every function and method, nested ones too, from `def` to its last line."""
    for node in ast.walk(source.tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            lines = (node.end_lineno or node.lineno) - node.lineno + 1 - docstring_lines(node)
            yield Length(f"{source.name}:{node.lineno} {node.name}", lines)


def p90(lengths: Sequence[Length]) -> int:
    """The nearest-rank ninetieth percentile; 0 of nothing."""
    ordered = sorted(length.lines for length in lengths)
    return ordered[math.ceil(0.9 * len(ordered)) - 1] if ordered else 0


def over(lengths: Sequence[Length], most: int) -> list[Length]:
    """Those beyond the limit, longest first."""
    return sorted((x for x in lengths if x.lines > most), key=lambda x: -x.lines)


@dataclass(frozen=True)
class Figures:
    """What `make lint` prints."""

    functions: list[Length]
    files: list[Length]
    findings: list[Finding]

    def count(self, rule: str) -> int:
        """How many findings of one rule."""
        return sum(finding.rule == rule for finding in self.findings)

    def rows(self) -> list[tuple[str, int, int]]:
        """(what, figure, limit)."""
        longest = {
            name: max((x.lines for x in lengths), default=0)
            for name, lengths in (("function", self.functions), ("file", self.files))
        }
        return [
            ("function lines, p90", p90(self.functions), FUNCTION_P90),
            ("function lines, longest", longest["function"], FUNCTION_MOST),
            ("file lines, p90", p90(self.files), FILE_P90),
            ("file lines, longest", longest["file"], FILE_MOST),
            ("hidden own imports", self.count("hidden-import"), 0),
            ("upward imports", self.count("upward-import"), 0),
            ("other house findings", len(self.findings) - self.imports(), 0),
        ]

    def imports(self) -> int:
        """Findings that have rows of their own."""
        return self.count("hidden-import") + self.count("upward-import")

    def broken(self) -> bool:
        """Whether a limit is passed."""
        return any(figure > limit for _, figure, limit in self.rows())


def measure(root: Path = ROOT) -> Figures:
    """The figures of a tree."""
    files = list(sources(root, COUNTED))
    return Figures(
        [length for source in files for length in functions(source)],
        [Length(source.name, len(source.text.splitlines())) for source in files],
        [*imports.findings(root), *status.findings(root), *layout.findings(root)],
    )


def lines(figures: Figures) -> Iterator[str]:
    """The table, then every place that breaks a limit."""
    yield f"{len(figures.files)} files, {len(figures.functions)} functions"
    for what, figure, limit in figures.rows():
        yield f"{what:<24} {figure:>5}  (at most {limit}){'  BROKEN' if figure > limit else ''}"
    for length in over(figures.functions, FUNCTION_MOST) + over(figures.files, FILE_MOST):
        yield f"{length.place}: {length.lines} lines"
    yield from map(str, figures.findings)


def main() -> int:
    """Print the figures."""
    figures = measure()
    print("\n".join(lines(figures)))
    return 1 if figures.broken() else 0


if __name__ == "__main__":
    sys.exit(main())
