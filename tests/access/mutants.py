"""Every place in the source that keeps somebody out, and what is left when it is taken away."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

APPS = ("parties", "evidence", "agreements", "shipments", "disputes", "desk")
# Functions that make one act each; `Act` itself stands in them for all of theirs.
ACT_MAKERS = frozenset(
    {
        "Act",
        "_draft",
        "_revision",
        "_standing",
        "_article",
        "_lot",
        "_dispute",
        "entering",
        "renewing",
    }
)
ACCESS = '__import__("parties.access", fromlist=["access"])'
EVERYBODY = {"sides": f"{ACCESS}.ALL_SIDES", "roles": f"{ACCESS}.ALL_ROLES"}
# The walls themselves: (file, what stands there, what is put in its place).
WALLS = (
    ("parties/models/dossiers.py", "Q(dossier__in=ids) & own", "own"),
    ("parties/models/dossiers.py", "Q(dossier__in=ids) & own", "Q(dossier__in=ids)"),
    ("parties/models/dossiers.py", " | Q(side_only=side)", ""),
    ("parties/models/dossiers.py", " | Q(released_at__isnull=False)", ""),
    ("parties/access.py", "sitter.seat.side in self.sides and ", ""),
    ("parties/access.py", " and sitter.role in self.roles", ""),
    ("parties/access.py", "sitter.dossier.purpose not in access.purposes", "False"),
    ("parties/middleware.py", "not access.allows(request.method)", "False"),
)


@dataclass(frozen=True)
class Mutant:
    """The text of one file with one wall taken away. `marks`: it changes nothing but a mark."""

    file: str
    line: int
    what: str
    text: str
    marks: bool

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.what}"


def mutants(root: Path) -> list[Mutant]:
    """All of them, in the order of the files."""
    found = [one for file in sources(root) for one in in_file(root, file)]
    for name, old, new in WALLS:
        text = (root / name).read_text(encoding="utf-8")
        if text.count(old) != 1:
            raise SystemExit(f"{name}: {old!r} is not there once: bring tests/access up to date")
        line = text[: text.index(old)].count("\n") + 1
        found.append(Mutant(name, line, f"{old} → {new}", text.replace(old, new), marks=False))
    return found


def sources(root: Path) -> Iterator[Path]:
    """Our modules that know dossiers."""
    for app in APPS:
        for file in sorted((root / app).rglob("*.py")):
            if "migrations" not in file.parts:
                yield file


def in_file(root: Path, file: Path) -> Iterator[Mutant]:
    """The mutants of one file."""
    text = file.read_text(encoding="utf-8")
    name = str(file.relative_to(root))
    tree = ast.parse(text)
    inner = {
        id(child)
        for function in ast.walk(tree)
        if isinstance(function, ast.FunctionDef)
        for statement in function.body
        for child in ast.walk(statement)
    }
    for node in ast.walk(tree):
        for what, new, marks in [
            *visible(text, node),
            *acts(text, node, inner),
            *seats(text, node),
        ]:
            start, end, put = new
            yield Mutant(name, node.lineno, what, text[:start] + put + text[end:], marks)


New = tuple[int, int, str]
Change = tuple[str, New, bool]


def span(text: str, node: ast.expr) -> tuple[int, int]:
    """From where to where a node stands; columns of the tree count bytes."""
    lines = text.splitlines(keepends=True)

    def place(line: int, column: int) -> int:
        before = lines[line - 1].encode()[:column].decode()
        return sum(map(len, lines[: line - 1])) + len(before)

    assert node.end_lineno is not None and node.end_col_offset is not None
    return place(node.lineno, node.col_offset), place(node.end_lineno, node.end_col_offset)


def visible(text: str, node: ast.AST) -> Iterator[Change]:
    """`rows.visible_to(sitter)` → `rows.all()`."""
    if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)):
        return
    name = node.func.attr
    if name not in {"visible_to", "visible_to_any"}:
        return
    start, end = span(text, node)
    rows = text[slice(*span(text, node.func.value))]
    if rows == "self" and name == "visible_to_any":
        return  # the definition of `visible_to`; see WALLS
    yield f".{name}() → .all()", (start, end, f"{rows}.all()"), False


def acts(text: str, node: ast.AST, inner: set[int]) -> Iterator[Change]:
    """An act that is open to every side, or to every role."""
    if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Name):
        return
    if node.func.id not in ACT_MAKERS or id(node) in inner:
        return
    start, end = span(text, node)
    for what, everybody in EVERYBODY.items():
        made = f'__import__("dataclasses").replace({text[start:end]}, {what}={everybody})'
        yield f"{what} of the act: everybody", (start, end, made), True


def seats(text: str, node: ast.AST) -> Iterator[Change]:
    """A view without its mark, or with a mark for every side or every role."""
    if isinstance(node, ast.FunctionDef):
        for mark in node.decorator_list:
            if named(mark, "for_seat"):
                start, end = span(text, mark)
                yield f"{node.name}: no mark", (start - 1, end, ""), True
    if isinstance(node, ast.Call) and (named(node, "for_seat") or named(node, "state_call")):
        if any(keyword.arg is None for keyword in node.keywords):
            return  # made from an act, whose own sides and roles are taken away above
        start, end = span(text, node)
        for what, everybody in EVERYBODY.items():
            rest = [keyword for keyword in node.keywords if keyword.arg != what]
            wider = ast.parse(everybody, mode="eval").body
            keywords = [*rest, ast.keyword(what, wider)]
            call = ast.unparse(ast.Call(node.func, node.args, keywords))
            yield f"{what} of the view: everybody", (start, end, call), True


def named(node: ast.AST, name: str) -> bool:
    """Whether it is a call of this name."""
    return isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == name
