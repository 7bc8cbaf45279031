"""A status changes in `transitions.py` only: there, one conditional UPDATE and a ledger entry."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

from tests.house.source import APPS, ROOT, Finding, Source, called, literal, sources

RULE = "status"
KEEPERS = ("jobs", *APPS[1:])
FIELDS = frozenset({"status", "state"})
WRITERS = frozenset(
    {"update", "create", "get_or_create", "update_or_create", "acreate", "aupdate", "save_base"}
)
SQL = re.compile(r"\bupdate\b.*\bset\b.*\b(status|state)\b", re.IGNORECASE | re.DOTALL)
PLACE = "only transitions.py may change it"


def may_write(source: Source) -> bool:
    """`<app>/transitions.py` and `<app>/transitions/….py`."""
    parts = Path(source.name).parts
    return parts[1] == "transitions.py" or (len(parts) > 2 and parts[1] == "transitions")


def model_names(root: Path) -> frozenset[str]:
    """Classes of the apps' models: `Lot(status=…)` is a write, `Response(status=…)` is not."""
    names = set()
    for source in sources(root, KEEPERS):
        if Path(source.name).parts[1] in {"models.py", "models"}:
            names |= {node.name for node in ast.walk(source.tree) if isinstance(node, ast.ClassDef)}
    return frozenset(names)


def assigned(source: Source) -> Iterator[Finding]:
    """`row.status = …` in any form, also through `__dict__` and `vars()`."""
    for node in ast.walk(source.tree):
        if isinstance(node, ast.Attribute) and node.attr in FIELDS:
            if isinstance(node.ctx, ast.Store | ast.Del):
                yield source.finding(node, RULE, f".{node.attr} is assigned: {PLACE}")
        elif isinstance(node, ast.Subscript) and isinstance(node.ctx, ast.Store):
            inside = ast.unparse(node.value)
            if literal(node.slice) in FIELDS and (
                inside.endswith("__dict__") or inside.startswith("vars(")
            ):
                yield source.finding(node, RULE, f"{inside}[…] is assigned: {PLACE}")


def given(node: ast.Call) -> Iterator[str]:
    """Field names among keywords, in `**{…}` and in `defaults={…}`."""
    for keyword in node.keywords:
        if keyword.arg in FIELDS:
            yield keyword.arg
        if keyword.arg in {None, "defaults", "create_defaults"} and isinstance(
            keyword.value, ast.Dict
        ):
            yield from (name for name in map(literal, keyword.value.keys) if name in FIELDS)
        if keyword.arg in {None, "defaults", "create_defaults"} and isinstance(
            keyword.value, ast.Call
        ):
            yield from (k.arg for k in keyword.value.keywords if k.arg in FIELDS)


def listed(node: ast.AST) -> bool:
    """Whether a literal list, tuple or set names a status field."""
    if not isinstance(node, ast.List | ast.Tuple | ast.Set):
        return False
    return any(literal(item) in FIELDS for item in node.elts)


def set_by_call(source: Source, models: frozenset[str]) -> Iterator[Finding]:
    """`update(status=…)`, `create(status=…)`, `Lot(status=…)`, `bulk_update(…)`, `setattr(…)`."""
    for node in (n for n in ast.walk(source.tree) if isinstance(n, ast.Call)):
        name = called(node)
        if name in WRITERS or name in models:
            for field in given(node):
                yield source.finding(node, RULE, f"{name}({field}=…): {PLACE}")
        elif name in {"bulk_update", "abulk_update"}:
            if any(map(listed, [*node.args, *(k.value for k in node.keywords)])):
                yield source.finding(node, RULE, f"{name} of a status: {PLACE}")
        elif name in {"setattr", "__setattr__"} and len(node.args) >= 2:
            field = literal(node.args[-2])
            if field is None or field in FIELDS:
                what = field or "a computed name"
                yield source.finding(node, RULE, f"setattr of {what}: {PLACE}")


def written_in_sql(source: Source) -> Iterator[Finding]:
    """`UPDATE … SET status` in a string."""
    for node in ast.walk(source.tree):
        if SQL.search(literal(node) or "") and not is_docstring(source.tree, node):
            yield source.finding(node, RULE, f"SQL sets a status: {PLACE}")


def is_docstring(tree: ast.Module, node: ast.AST) -> bool:
    """Whether the constant is a string that stands alone as a statement."""
    return any(isinstance(n, ast.Expr) and n.value is node for n in ast.walk(tree))


def findings(root: Path = ROOT) -> list[Finding]:
    """All findings over the apps with states; the ledger has none, its entries never change."""
    models = model_names(root)
    found: list[Finding] = []
    for source in sources(root, KEEPERS):
        if not may_write(source):
            found += [*assigned(source), *set_by_call(source, models), *written_in_sql(source)]
    return found
