"""The JSON Schema of terms, from the models; parts' overrides derive from the same clauses."""

from __future__ import annotations

import copy
from typing import Any

from method.terms.describe import CLAUSE_TYPES, fields_of, later_fields, list_fields
from method.terms.models import SCHEMA, Part, Terms
from method.terms.models.base import Frozen

Json = dict[str, Any]
_IDS = {"type": "array", "items": {"type": "string"}, "uniqueItems": True}


def json_schema(version: int = SCHEMA) -> Json:
    """JSON Schema (2020-12) of the bytes of a schema version, every field required."""
    schema = Terms.model_json_schema(mode="serialization", by_alias=True)
    schema["properties"]["schema"] = {"const": version, "type": "integer"}
    _leave_out_later(schema, version)
    definitions = schema["$defs"]
    overrides = {
        clause: _override(definitions[kind.__name__], list_fields(kind))
        for clause, kind in CLAUSE_TYPES.items()
    }
    definitions["Part"]["properties"]["overrides"] = {
        "type": "object",
        "properties": overrides,
        "additionalProperties": False,
    }
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **_without_words(schema)}


def _leave_out_later(schema: Json, version: int) -> None:
    """The shape without the fields of later versions, and without the entries only these hold."""
    definitions = schema["$defs"]
    shapes: dict[type[Frozen], Json] = {Terms: schema, Part: definitions["Part"]}
    for clause in CLAUSE_TYPES.values():
        items = [field.item for field in fields_of(clause) if field.item is not None]
        shapes |= {kind: definitions[kind.__name__] for kind in (clause, *items)}
    for kind, shape in shapes.items():
        for field in later_fields(kind, version):
            del shape["properties"][field.name]
            shape["required"].remove(field.name)
            if field.item is not None:
                del definitions[field.item.__name__]


def _override(clause: Json, lists: tuple[str, ...]) -> Json:
    """What a part may say of a clause: any of its fields, lists as own items and ids without."""
    properties = copy.deepcopy(clause["properties"])
    for name in properties.keys() & set(lists):
        properties[name] = {
            "type": "object",
            "properties": {"own": properties[name], "without": _IDS},
            "required": ["own", "without"],
            "additionalProperties": False,
        }
    return {
        "type": "object",
        "properties": properties,
        "minProperties": 1,
        "additionalProperties": False,
    }


def _without_words(value: Any) -> Any:
    """The schema without titles, descriptions and defaults: the shape alone, which is final."""
    if isinstance(value, list):
        return [_without_words(one) for one in value]
    if not isinstance(value, dict):
        return value
    return {
        name: {field: _without_words(one) for field, one in below.items()}
        if name in ("properties", "$defs")
        else _without_words(below)
        for name, below in value.items()
        if not (name in ("description", "default") or name == "title")
    }
