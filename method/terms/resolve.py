"""The clauses as they bind one part: shared values, the part's own in their place."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from method.terms.describe import CLAUSE_TYPES, list_fields
from method.terms.errors import Problem, TermsError
from method.terms.models import Clause, Part, Resolved, Terms


def resolve(terms: Terms, part_id: str = "") -> Resolved:
    """The clauses that bind a part; the shared ones for "". Raises TermsError: unknown part."""
    shared = terms.shared.model_dump(mode="json")
    schema = {"schema_version": terms.schema_version}
    if not part_id:
        return Resolved.model_validate_json(json.dumps({**shared, **schema}))
    part = part_of(terms, part_id)
    for clause, values in part.overrides.items():
        shared[clause] = merged_clause(CLAUSE_TYPES[clause], shared[clause], values)
    head = {"part_id": part.id, "number": part.number, "name": part.name, "colour": part.colour}
    return Resolved.model_validate_json(json.dumps({**shared, **schema, **head}))


def part_of(terms: Terms, part_id: str) -> Part:
    """The part with an id. Raises TermsError."""
    for part in terms.parts:
        if part.id == part_id:
            return part
    raise TermsError([Problem("part_unknown", field="parts", part=part_id)])


def merged_clause(
    kind: type[Clause], shared: Mapping[str, Any], override: Mapping[str, Any]
) -> dict[str, Any]:
    """One clause's JSON with a part's values: field by field, lists by item id."""
    lists = list_fields(kind)
    return {
        **shared,
        **{
            name: merged_items(shared[name], value) if name in lists else value
            for name, value in override.items()
        },
    }


def merged_items(shared: list[Any], override: Mapping[str, Any]) -> list[Any]:
    """The shared items in their order, own ones in the place of those with their id, then new."""
    own = {row["id"]: row for row in override["own"]}
    kept = [row for row in shared if row["id"] not in override["without"]]
    known = {row["id"] for row in kept}
    return [own.get(row["id"], row) for row in kept] + [
        row for found, row in own.items() if found not in known
    ]
