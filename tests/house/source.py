"""Our own source files, parsed, and what a finding looks like."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

PURE = frozenset({"colorimetry", "method"})
# From the bottom up; each may import what stands before it (the table of DEVELOPERS.md).
APPS = ("ledger", "parties", "evidence", "agreements", "shipments", "disputes", "desk")
PACKAGES = ("colorimetry", "method", "jobs", *APPS, "config", "fixtures")


@dataclass(frozen=True)
class Finding:
    """One violation: where, which rule, what to do."""

    path: str
    line: int
    rule: str
    message: str

    def __str__(self) -> str:
        return f"{self.path}:{self.line}: {self.rule}: {self.message}"


@dataclass(frozen=True)
class Source:
    """One Python file of a package."""

    root: Path
    path: Path

    @property
    def name(self) -> str:
        """The path below the root, with slashes."""
        return self.path.relative_to(self.root).as_posix()

    @property
    def package(self) -> str:
        """The top-level package the file belongs to."""
        return self.path.relative_to(self.root).parts[0]

    @property
    def module(self) -> str:
        """The dotted name."""
        parts = list(self.path.relative_to(self.root).with_suffix("").parts)
        return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)

    @cached_property
    def text(self) -> str:
        """The file's text."""
        return self.path.read_text(encoding="utf-8")

    @cached_property
    def tree(self) -> ast.Module:
        """The file's syntax tree."""
        return ast.parse(self.text, filename=self.name)

    def finding(self, node: ast.AST, rule: str, message: str) -> Finding:
        """A finding at a node of this file."""
        return Finding(self.name, getattr(node, "lineno", 1), rule, message)


def sources(
    root: Path = ROOT, packages: tuple[str, ...] = PACKAGES, *, migrations: bool = False
) -> Iterator[Source]:
    """Python files of the packages, in order of path; migrations only where asked for."""
    for package in packages:
        for path in sorted((root / package).rglob("*.py")):
            if migrations or "migrations" not in path.relative_to(root).parts:
                yield Source(root, path)


def called(node: ast.Call) -> str:
    """The last part of what is called: `update` in `rows.filter(…).update(…)`."""
    if isinstance(node.func, ast.Attribute):
        return node.func.attr
    return node.func.id if isinstance(node.func, ast.Name) else ""


def literal(node: ast.AST | None) -> str | None:
    """The text of a string literal."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    return None
