"""Two terms compared by identity: clause, item id, field; never by position in the text."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from method.terms.describe import CLAUSE_TYPES, list_fields
from method.terms.document import document
from method.terms.models import CLAUSES, Terms
from method.terms.upgrade import upgrade

ChangeKind = Literal["added", "removed", "changed"]
Json = Mapping[str, Any]
_NO_LIST: Json = {"own": [], "without": []}


@dataclass(frozen=True)
class Change:
    """One difference between terms `a` (before) and `b` (after), values as in the JSON.

    clause  "" for the document's own fields and for whole parts
    field   the clause's field; for an item, the list that it stands in
    item    the item's id, or ""
    sub     the item's field that changed, or "" when a whole item came or went
    part    the part whose own values differ, or "" for the shared clauses
    A list whose common items stand in another order is "changed", with the ids as values.
    An override of a part's field comes ("added") or goes ("removed") with its value; a shared item
    that a part does without from now on is "removed", with its id as the value.
    """

    clause: str
    field: str
    kind: ChangeKind
    before: Any = None
    after: Any = None
    item: str = ""
    sub: str = ""
    part: str = ""


def compare(a: Terms, b: Terms) -> list[Change]:
    """Every difference from `a` to `b`; empty exactly when they say the same.

    Terms of two schemas are compared in the later one: a field that the earlier does not have
    stands there as what its absence meant. Within one schema the same is: the same bytes.
    """
    schema = max(a.schema_version, b.schema_version)
    before, after = document(upgrade(a, schema)), document(upgrade(b, schema))
    changes = [
        Change("", name, "changed", before[name], after[name])
        for name in ("title", "note")
        if before[name] != after[name]
    ]
    for clause in CLAUSES:
        changes += _clause(clause, before["shared"][clause], after["shared"][clause])
    changes += _parts(before["parts"], after["parts"])
    return changes


def _clause(clause: str, before: Json, after: Json) -> Iterator[Change]:
    """Differences of one shared clause."""
    lists = list_fields(CLAUSE_TYPES[clause])
    for name in before:
        if name in lists:
            yield from _items(clause, name, before[name], after[name])
        elif before[name] != after[name]:
            yield Change(clause, name, "changed", before[name], after[name])


def _items(
    clause: str, name: str, before: list[Any], after: list[Any], part: str = ""
) -> Iterator[Change]:
    """Differences of one list of items."""
    old = {row["id"]: row for row in before}
    new = {row["id"]: row for row in after}
    for found, row in old.items():
        if found not in new:
            yield Change(clause, name, "removed", row, None, found, part=part)
        else:
            for sub, value in row.items():
                if new[found][sub] != value:
                    yield Change(clause, name, "changed", value, new[found][sub], found, sub, part)
    for found, row in new.items():
        if found not in old:
            yield Change(clause, name, "added", None, row, found, part=part)
    order = [found for found in old if found in new]
    moved = [found for found in new if found in old]
    if order != moved or _placed_between(list(old), list(new)):
        yield Change(clause, name, "changed", list(old), list(new), part=part)


def _placed_between(old: list[str], new: list[str]) -> bool:
    """Never more than a change of place: added items stand last unless somebody moved them."""
    added = [found for found in new if found not in old]
    return bool(added) and new[-len(added) :] != added


def _parts(before: list[Any], after: list[Any]) -> Iterator[Change]:
    """Parts that came or went, and what differs in those that stayed."""
    old = {part["id"]: part for part in before}
    new = {part["id"]: part for part in after}
    for found, part in old.items():
        if found not in new:
            yield Change("", "parts", "removed", part, None, part=found)
        else:
            yield from _part(part, new[found])
    for found, part in new.items():
        if found not in old:
            yield Change("", "parts", "added", None, part, part=found)
    order = [found for found in old if found in new]
    if order != [found for found in new if found in old] or _placed_between(list(old), list(new)):
        yield Change("", "parts", "changed", list(old), list(new))


def _part(before: Json, after: Json) -> Iterator[Change]:
    """Differences of one part: its heading, then its overrides."""
    found = before["id"]
    for name in ("number", "name", "colour"):
        if before[name] != after[name]:
            yield Change("", name, "changed", before[name], after[name], part=found)
    for clause in CLAUSES:
        old = before["overrides"].get(clause, {})
        new = after["overrides"].get(clause, {})
        for name in sorted({*old, *new}):
            yield from _override(found, clause, name, old, new)


def _override(part: str, clause: str, name: str, old: Json, new: Json) -> Iterator[Change]:
    """The difference of one overridden field; a list is compared item by item."""
    if name in list_fields(CLAUSE_TYPES[clause]):
        before, after = old.get(name, _NO_LIST), new.get(name, _NO_LIST)
        yield from _items(clause, name, before["own"], after["own"], part)
        gone, back = set(before["without"]), set(after["without"])
        for item in sorted(back - gone):
            yield Change(clause, name, "removed", item, None, item, part=part)
        for item in sorted(gone - back):
            yield Change(clause, name, "added", None, item, item, part=part)
    elif name not in new:
        yield Change(clause, name, "removed", old[name], None, part=part)
    elif name not in old:
        yield Change(clause, name, "added", None, new[name], part=part)
    elif old[name] != new[name]:
        yield Change(clause, name, "changed", old[name], new[name], part=part)
