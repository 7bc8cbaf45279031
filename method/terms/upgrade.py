"""From a document of an earlier schema to the same terms in a later one.

A step of its own, taken where a new draft begins: what was signed keeps its bytes. What the
earlier schema meant by having no such field (`About.was`) is written out, so that an upgrade
changes how terms are written and not what they mean.
"""

from __future__ import annotations

from typing import Any

from method.terms.describe import CLAUSE_TYPES, FieldInfo, fields_of, later_fields
from method.terms.document import document, from_document
from method.terms.models import SCHEMA, Part, Terms
from method.terms.models.base import Frozen
from method.terms.typed import read

Json = dict[str, Any]


def upgrade(terms: Terms, schema: int = SCHEMA) -> Terms:
    """The same terms in a later schema; terms of that schema or a later one are given back."""
    old = terms.schema_version
    if old >= schema:
        return terms
    raw = document(terms)
    _add(Terms, raw, old, schema)
    for clause, kind in CLAUSE_TYPES.items():
        values = raw["shared"][clause]
        for field in fields_of(kind, old):
            _add_to_rows(field, values[field.name], old, schema)
        _add(kind, values, old, schema)
    for part in raw["parts"]:
        _add(Part, part, old, schema)
        for clause, values in part["overrides"].items():
            for field in fields_of(clause, old):
                if field.item is not None and field.name in values:
                    _add_to_rows(field, values[field.name]["own"], old, schema)
    return from_document({**raw, "schema": schema})


def earlier_meaning(field: FieldInfo) -> Any:
    """The JSON value that stands for a field in documents that do not have it yet."""
    if field.kind == "items":
        return []
    value, wrong = read(field, field.about.was)
    if wrong:
        raise ValueError(f"what {field.name} was before cannot be read: {wrong}")
    return value


def _add(kind: type[Frozen], values: Json, old: int, schema: int) -> None:
    """Writes the fields that came after schema `old`, up to `schema`."""
    for field in later_fields(kind, old):
        if field.about.since <= schema:
            values[field.name] = earlier_meaning(field)


def _add_to_rows(field: FieldInfo, rows: Any, old: int, schema: int) -> None:
    if field.item is not None:
        for row in rows:
            _add(field.item, row, old, schema)
