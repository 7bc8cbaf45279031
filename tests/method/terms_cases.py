"""Terms for tests: every field filled, every field changed, and a hypothesis strategy of all."""

from __future__ import annotations

import random
from typing import Any

from hypothesis import strategies as st

from method.terms import CLAUSE_TYPES, CLAUSES, SCHEMA, SCHEMAS, Terms, fields_of, from_document
from method.terms.combination import template_pairs
from method.terms.describe import FieldInfo, list_fields
from method.terms.models import Item, new_id

LINES = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs")), max_size=12)


def filled(field: FieldInfo, turn: int = 0) -> Any:
    """A valid JSON value of a field that is not a list; another for another turn."""
    low, high = int(field.lowest or -9), int(field.highest or 99)
    options: dict[str, list[Any]] = {
        "text": [f"{field.name} in words", f"other {field.name}, 涂层 é"],
        "integer": [low + 1, min(high, low + 2)],
        "decimal": [f"{low + 1}.50", f"{low + 1}.5"],
        "yes_no": [True, False],
        "choice": [value for value, _ in field.choices],
        "choices": [sorted(value for value, _ in field.choices), [field.choices[0][0]]]
        if field.choices
        else [],
        "day": ["2031-01-02", "2031-03-04"],
        "days": [["2031-01-01", "2031-12-25"], ["2031-05-01"]],
    }
    values = options[field.kind]
    return values[turn % len(values)]


def filled_item(
    kind: type[Item], item_id: str, turn: int = 0, schema: int = SCHEMA
) -> dict[str, Any]:
    """A valid entry with every field filled."""
    return {"id": item_id, **{field.name: filled(field, turn) for field in fields_of(kind, schema)}}


def full_document(seed: int = 7, schema: int = SCHEMA) -> dict[str, Any]:
    """A document with every field filled, two entries in every list, and two parts."""
    dice = random.Random(seed)
    shared: dict[str, Any] = {}
    for clause in CLAUSES:
        shared[clause] = {
            field.name: [
                filled_item(field.item, new_id(field.item.PREFIX, dice), turn, schema)
                for turn in range(2)
            ]
            if field.item
            else filled(field)
            for field in fields_of(clause, schema)
        }
    shared["decision"]["combination"] = [
        {
            "id": new_id("cmb", dice), "visual": visual, "instrument": instrument,
            "outcome": outcome,
        }
        for (visual, instrument), outcome in template_pairs("both").items()
    ]  # fmt: skip
    first, second = shared["tolerances"]["items"]
    own = {**first, "limit": "2.25"}
    parts = [
        {
            "id": new_id("prt", dice), "number": "K-100", "name": "cap", "colour": "grey 7",
            "overrides": {
                "scope": {"thickness_mm": None, "finish": "matt"},
                "tolerances": {
                    "items": {
                        "own": [own, {**own, "id": new_id("tol", dice)}],
                        "without": [second["id"]],
                    }
                },
            },
        },
        {
            "id": new_id("prt", dice), "number": "K-200", "name": "lid", "colour": "grey 7",
            "overrides": {},
        },
    ]  # fmt: skip
    return {"schema": schema, "title": "Cap and lid", "note": "", "shared": shared, "parts": parts}


def full_terms(schema: int = SCHEMA) -> Terms:
    """The terms of `full_document`."""
    return from_document(full_document(schema=schema))


def _values(field: FieldInfo) -> st.SearchStrategy[Any]:
    """Any value of a field that is no list, unsaid included."""
    low, high = int(field.lowest or -999_999), int(field.highest or 999_999)
    names = [value for value, _ in field.choices]
    decimals = st.decimals(low, high, allow_nan=False, allow_infinity=False, places=3)
    day = st.dates().map(str)
    kinds: dict[str, st.SearchStrategy[Any]] = {
        "text": LINES,
        "integer": st.none() | st.integers(low, high),
        "decimal": st.none() | decimals.map(lambda number: format(number, "f")),
        "yes_no": st.booleans(),
        "choice": st.none() | st.sampled_from(names or [""]),
        "choices": st.sets(st.sampled_from(names or [""])).map(sorted),
        "day": st.none() | day,
        "days": st.sets(day, max_size=3).map(sorted),
    }
    return kinds[field.kind]


@st.composite
def documents(draw: st.DrawFn) -> dict[str, Any]:
    """Any document of any schema: fields said or not, lists of none to two entries, up to two
    parts."""
    dice = random.Random(draw(st.integers(0, 2**32)))
    schema = draw(st.sampled_from(SCHEMAS))
    shared = {clause: _clause(draw, clause, dice, schema) for clause in CLAUSES}
    parts = [
        {
            "id": new_id("prt", dice), "number": draw(LINES), "name": "", "colour": "",
            "overrides": {
                clause: own for clause in CLAUSES if (own := _own(draw, clause, dice, schema))
            },
        }
        for _ in range(draw(st.integers(0, 2)))
    ]  # fmt: skip
    return {"schema": schema, "title": draw(LINES), "note": "", "shared": shared, "parts": parts}


def _clause(draw: st.DrawFn, clause: str, dice: random.Random, schema: int) -> dict[str, Any]:
    plain: dict[str, Any] = {}
    for field in fields_of(clause, schema):
        if field.item is None:
            plain[field.name] = draw(_values(field)) if draw(st.booleans()) else _unsaid(field)
        else:
            count = draw(st.integers(0, 1 if field.name == "combination" else 2))
            plain[field.name] = [_item(draw, field.item, dice, schema) for _ in range(count)]
    return plain


def _item(draw: st.DrawFn, kind: type[Item], dice: random.Random, schema: int) -> dict[str, Any]:
    values = {field.name: draw(_values(field)) for field in fields_of(kind, schema)}
    return {"id": new_id(kind.PREFIX, dice), **values}


def _unsaid(field: FieldInfo) -> Any:
    return {"text": "", "yes_no": False, "choices": [], "days": []}.get(field.kind)


def _own(draw: st.DrawFn, clause: str, dice: random.Random, schema: int) -> dict[str, Any]:
    if not draw(st.booleans()):
        return {}
    field = draw(st.sampled_from(fields_of(clause, schema)))
    if field.item is None:
        return {field.name: draw(_values(field))}
    if field.name == "combination":
        return {}
    return {field.name: {"own": [_item(draw, field.item, dice, schema)], "without": []}}


def every_list() -> list[tuple[str, str]]:
    """(clause, list) for every list of entries."""
    return [(clause, name) for clause in CLAUSES for name in list_fields(CLAUSE_TYPES[clause])]
