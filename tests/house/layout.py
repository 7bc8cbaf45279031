"""Where things stand: top-level entries, forbidden modules, settings that must not come back."""

from __future__ import annotations

import ast
import subprocess
from collections.abc import Iterable, Iterator
from pathlib import Path

from tests.house.source import PACKAGES, PURE, ROOT, Finding, Source, literal, sources

TOP_LEVEL = frozenset(PACKAGES) | {
    "README.md",
    "DEVELOPERS.md",
    "CHANGELOG.md",
    "Makefile",
    "manage.py",
    "pyproject.toml",
    "requirements.lock",
    "requirements-dev.lock",
    ".ci",
    ".gitignore",
    "templates",
    "static",
    "locale",
    "tests",
    "benchmarks",
    "docs",
}
NO_HOME = frozenset(
    {"utils", "util", "helpers", "misc", "common", "services", "service", "managers"}
)
FORBIDDEN_TEXT = {
    "ATOMIC_REQUESTS": "a request is not a transaction: transitions open their own",
    "django.contrib.admin": "the admin would change rows past the transitions",
}


def tracked(root: Path = ROOT) -> list[str]:
    """Paths in version control; where there is none, every file but hidden and generated ones."""
    try:
        listed = subprocess.run(
            ["git", "-C", str(root), "ls-files", "-z"], capture_output=True, check=True
        )
        return [name for name in listed.stdout.decode().split("\0") if name]
    except (OSError, subprocess.CalledProcessError):
        generated = {"var", "shots", "dist"}
        return [
            path.relative_to(root).as_posix()
            for path in root.rglob("*")
            if path.is_file()
            and not path.relative_to(root).parts[0].startswith(".")
            and path.relative_to(root).parts[0] not in generated
        ]


def strangers(names: Iterable[str]) -> Iterator[Finding]:
    """Top-level entries that the layout does not know."""
    for top in sorted({name.split("/")[0] for name in names} - TOP_LEVEL):
        yield Finding(top, 1, "top-level", "not in the layout of DEVELOPERS.md: find it a home")


def homeless(source: Source) -> Iterator[Finding]:
    """Modules named after nothing in particular."""
    for part in Path(source.name).with_suffix("").parts[1:]:
        if part in NO_HOME:
            message = f"{part}: name the module after what it does"
            yield Finding(source.name, 1, "no-home", message)


def forbidden(source: Source) -> Iterator[Finding]:
    """Settings and apps that would undo a rule, as names or as strings."""
    for node in ast.walk(source.tree):
        text = literal(node) or ""
        if isinstance(node, ast.Name):
            text = node.id
        elif isinstance(node, ast.keyword):
            text = node.arg or ""
        elif isinstance(node, ast.ImportFrom):
            text = node.module or ""
        elif isinstance(node, ast.Import):
            text = " ".join(alias.name for alias in node.names)
        for word, why in FORBIDDEN_TEXT.items():
            if word in text:
                yield source.finding(node, "forbidden", f"{word}: {why}")


def undocumented(source: Source) -> Iterator[Finding]:
    """Public functions and classes of the pure packages and the ledger without a docstring."""
    if source.package not in PURE | {"ledger"} or "management" in source.name:
        return
    kinds = (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef)
    for node in source.tree.body:
        if isinstance(node, kinds) and node.name[0] != "_" and not ast.get_docstring(node):
            yield source.finding(node, "docstring", f"{node.name} says nothing of itself")


def findings(root: Path = ROOT) -> list[Finding]:
    """All findings of this module over a tree."""
    rules = (homeless, forbidden, undocumented)
    found = list(strangers(tracked(root)))
    return found + [item for source in sources(root) for rule in rules for item in rule(source)]
