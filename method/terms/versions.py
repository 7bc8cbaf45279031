"""What documents of an earlier schema do not have: left out when written, refused when read.

Everything here is plain JSON. The models know the fields of every schema; `About.since` says
which one brought a field.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from method.terms.describe import CLAUSE_TYPES, FieldInfo, fields_of, later_fields
from method.terms.errors import Problem
from method.terms.models import SCHEMA, SCHEMAS, Part, Terms
from method.terms.models.base import Frozen

Json = dict[str, Any]


def schema_of(raw: Any) -> int | None:
    """The schema that a document names (the newest where it names none); None for an unknown."""
    found = raw.get("schema", SCHEMA) if isinstance(raw, dict) else None
    return found if type(found) is int and found in SCHEMAS else None


def at_schema(plain: Json, schema: int) -> Json:
    """A whole document without the fields of later schemas, changed in place."""
    for part in plain["parts"]:
        _leave_out(Part, part, schema)
    for clause, kind in CLAUSE_TYPES.items():
        clause_at(kind, plain["shared"][clause], schema)
    return _leave_out(Terms, plain, schema)


def clause_at(kind: type[Frozen], values: Json, schema: int) -> Json:
    """A clause without the fields of later schemas, its entries too, changed in place."""
    _leave_out(kind, values, schema)
    for field in _lists(kind, schema):
        for row in values[field.name]:
            _leave_out(_item(field), row, schema)
    return values


def too_new(raw: Json, schema: int) -> Iterator[Problem]:
    """The fields of a raw document that its schema does not know. Anything else is left alone."""
    yield from _unknown(Terms, raw, schema)
    shared = raw.get("shared")
    for clause, kind in CLAUSE_TYPES.items():
        values = shared.get(clause) if isinstance(shared, dict) else None
        yield from _unknown(kind, values, schema, clause)
        for field in _lists(kind, schema):
            rows = values.get(field.name) if isinstance(values, dict) else None
            yield from _rows_too_new(field, rows, schema, clause)
    for part in _dicts(raw.get("parts")):
        yield from _part_too_new(part, schema)


def _part_too_new(part: Json, schema: int) -> Iterator[Problem]:
    """The same within one part and its own values."""
    name = str(part.get("id", ""))
    yield from _unknown(Part, part, schema, part=name)
    overrides = part.get("overrides")
    for clause, kind in CLAUSE_TYPES.items():
        values = overrides.get(clause) if isinstance(overrides, dict) else None
        yield from _unknown(kind, values, schema, clause, part=name)
        for field in _lists(kind, schema):
            lists = values.get(field.name) if isinstance(values, dict) else None
            rows = lists.get("own") if isinstance(lists, dict) else None
            yield from _rows_too_new(field, rows, schema, clause, name)


def _rows_too_new(
    field: FieldInfo, rows: Any, schema: int, clause: str, part: str = ""
) -> Iterator[Problem]:
    for row in _dicts(rows):
        yield from _unknown(_item(field), row, schema, clause, str(row.get("id", "")), part)


def _unknown(
    kind: type[Frozen], values: Any, schema: int, clause: str = "", item: str = "", part: str = ""
) -> Iterator[Problem]:
    if isinstance(values, Mapping):
        for field in later_fields(kind, schema):
            if field.name in values:
                yield Problem("field_unknown", clause, field.name, item, part)


def _leave_out(kind: type[Frozen], values: Json, schema: int) -> Json:
    for field in later_fields(kind, schema):
        values.pop(field.name, None)
    return values


def _lists(kind: type[Frozen], schema: int) -> list[FieldInfo]:
    return [field for field in fields_of(kind, schema) if field.kind == "items"]


def _item(field: FieldInfo) -> type[Frozen]:
    assert field.item is not None  # noqa: S101  (a list's description names its entries)
    return field.item


def _dicts(rows: Any) -> Iterator[Json]:
    if isinstance(rows, list):
        yield from (row for row in rows if isinstance(row, dict))
