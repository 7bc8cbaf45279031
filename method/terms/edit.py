"""Changes to a draft, as the pages make them: values as typed in, new terms out.

Nothing is changed in place. With `part_id`, values go to that part: what equals the shared value
is no override, and what was overridden before and equals it now ceases to be one.
"""

from __future__ import annotations

import copy
import random
from collections.abc import Mapping
from typing import Any

from method.terms.describe import CLAUSE_TYPES, field_of, fields_of, list_fields
from method.terms.document import Json, document, from_document
from method.terms.errors import Problem, TermsError
from method.terms.models import Clause, Item, Part, Terms, new_id
from method.terms.models.base import Frozen
from method.terms.resolve import merged_items, part_of
from method.terms.typed import Typed, read

SYSTEM = random.SystemRandom()


def with_heading(terms: Terms, values: Mapping[str, Typed]) -> Terms:
    """The terms with another `title` or `note`. Raises TermsError."""
    return from_document({**document(terms), **_read_all(Terms, values, "", "", "")})


def with_values(terms: Terms, clause: str, values: Mapping[str, Typed], part_id: str = "") -> Terms:
    """The terms with values of a clause as typed in (text, or lists of text for choices).

    Lists of items are not values: see `with_item`. Raises TermsError listing every problem.
    """
    kind = _clause_type(clause)
    plain = _read_all(kind, values, clause, "", part_id)
    raw = document(terms)
    if not part_id:
        raw["shared"][clause].update(plain)
        return from_document(raw)
    own = _own_values(raw, terms, part_id, clause)
    for name, value in plain.items():
        if value == raw["shared"][clause][name]:
            own.pop(name, None)
        else:
            own[name] = value
    return from_document(_tidied(raw))


def without_override(terms: Terms, clause: str, field: str, part_id: str) -> Terms:
    """The terms with the shared value in place of a part's own. Raises TermsError."""
    _clause_type(clause)
    raw = document(terms)
    _own_values(raw, terms, part_id, clause).pop(field, None)
    return from_document(_tidied(raw))


def with_item(
    terms: Terms,
    clause: str,
    list_field: str,
    values: Mapping[str, Typed],
    part_id: str = "",
    source: random.Random = SYSTEM,
) -> Terms:
    """The terms with one entry added or changed.

    `values["id"]` names the entry to change, or the id that a new one shall have; without it a
    fresh id is made from `source`. Fields not given keep their value. With `part_id`, an entry
    that the part did without binds it again. Raises TermsError.
    """
    item_type = _item_type(clause, list_field)
    typed = {name: value for name, value in values.items() if name != "id"}
    found = str(values.get("id") or new_id(item_type.PREFIX, source))
    plain = _read_all(item_type, typed, clause, found, part_id)
    raw = document(terms)
    if not part_id:
        _put(raw["shared"][clause][list_field], found, plain)
        return from_document(raw)
    own = _own_list(raw, terms, part_id, clause, list_field)
    _put_own(raw["shared"][clause][list_field], own, item_type, found, plain)
    return from_document(_tidied(raw))


def without_item(
    terms: Terms, clause: str, list_field: str, item_id: str, part_id: str = ""
) -> Terms:
    """The terms without one entry; with `part_id`, that part does without it. Raises TermsError."""
    _item_type(clause, list_field)
    raw = document(terms)
    shared = raw["shared"][clause][list_field]
    is_shared = any(row["id"] == item_id for row in shared)
    if part_id:
        own = _own_list(raw, terms, part_id, clause, list_field)
        is_own = any(row["id"] == item_id for row in own["own"])
        own["own"] = [row for row in own["own"] if row["id"] != item_id]
        if is_shared:
            own["without"] = sorted({*own["without"], item_id})
    else:
        is_own = False
        raw["shared"][clause][list_field] = [row for row in shared if row["id"] != item_id]
        for part in raw["parts"]:
            lists = part["overrides"].get(clause, {}).get(list_field)
            if lists:
                lists["without"] = [found for found in lists["without"] if found != item_id]
    if not (is_shared or is_own):
        raise TermsError([Problem("item_unknown", clause, list_field, item_id, part_id)])
    return from_document(_tidied(raw))


def with_items(terms: Terms, clause: str, list_field: str, items: list[Mapping[str, Any]]) -> Terms:
    """The terms with a whole shared list in place of the old one (as a template gives it)."""
    _item_type(clause, list_field)
    raw = document(terms)
    raw["shared"][clause][list_field] = [dict(item) for item in items]
    kept = {item["id"] for item in items}
    for part in raw["parts"]:
        lists = part["overrides"].get(clause, {}).get(list_field)
        if lists:
            lists["without"] = [found for found in lists["without"] if found in kept]
    return from_document(_tidied(raw))


def with_part(
    terms: Terms,
    values: Mapping[str, Typed],
    part_id: str = "",
    source: random.Random = SYSTEM,
) -> Terms:
    """The terms with a part added, or with another number, name or colour. Raises TermsError."""
    plain = _read_all(Part, values, "", "", part_id)
    raw = document(terms)
    if part_id:
        part_of(terms, part_id)
        next(part for part in raw["parts"] if part["id"] == part_id).update(plain)
    else:
        fresh = {"number": "", "name": "", "colour": "", "overrides": {}}
        raw["parts"].append({"id": new_id("prt", source), **fresh, **plain})
    return from_document(raw)


def without_part(terms: Terms, part_id: str) -> Terms:
    """The terms without a part. Raises TermsError."""
    part_of(terms, part_id)
    raw = document(terms)
    raw["parts"] = [part for part in raw["parts"] if part["id"] != part_id]
    return from_document(raw)


def _clause_type(clause: str) -> type[Clause]:
    if clause not in CLAUSE_TYPES:
        raise TermsError([Problem("clause_unknown", clause)])
    return CLAUSE_TYPES[clause]


def _item_type(clause: str, list_field: str) -> type[Item]:
    info = field_of(_clause_type(clause), list_field)
    if info is None or info.item is None:
        raise TermsError([Problem("field_unknown", clause, list_field)])
    return info.item


def _read_all(
    kind: type[Frozen], values: Mapping[str, Typed], clause: str, item: str, part: str
) -> Json:
    """Every value read by its field's kind; all problems are collected."""
    known = {field.name: field for field in fields_of(kind)}
    plain: Json = {}
    problems: list[Problem] = []
    for name, value in values.items():
        if name not in known:
            problems.append(Problem("field_unknown", clause, name, item, part))
            continue
        plain[name], wrong = read(known[name], value)
        if wrong:
            problems.append(Problem(wrong, clause, name, item, part))
    if problems:
        raise TermsError(problems)
    return plain


def _blank(kind: type[Item]) -> Json:
    """An entry that says nothing; a part's own entries are whole."""
    return {field.name: read(field, "")[0] for field in fields_of(kind)}


def _own_values(raw: Json, terms: Terms, part_id: str, clause: str) -> Json:
    """The part's overrides of a clause within `raw`, made where there are none."""
    part_of(terms, part_id)
    part = next(part for part in raw["parts"] if part["id"] == part_id)
    values: Json = part["overrides"].setdefault(clause, {})
    return values


def _own_list(raw: Json, terms: Terms, part_id: str, clause: str, list_field: str) -> Json:
    """The part's override of a list within `raw`, made where there is none."""
    values = _own_values(raw, terms, part_id, clause)
    lists: Json = values.setdefault(list_field, {"own": [], "without": []})
    return lists


def _put(rows: list[Any], found: str, values: Json) -> None:
    """Changes the row with an id, or appends it."""
    for row in rows:
        if row["id"] == found:
            row.update(copy.deepcopy(values))
            return
    rows.append({"id": found, **copy.deepcopy(values)})


def _put_own(shared: list[Any], own: Json, kind: type[Item], found: str, values: Json) -> None:
    """Changes or adds an entry of a part within `own`; what equals the shared one is not own."""
    current = copy.deepcopy(merged_items(shared, own))
    if all(row["id"] != found for row in current):
        restored = [row for row in shared if row["id"] == found]
        values = {**(restored[0] if restored else _blank(kind)), **values}
    _put(current, found, values)
    item = next(row for row in current if row["id"] == found)
    own["without"] = [other for other in own["without"] if other != found]
    if item in shared:
        own["own"] = [row for row in own["own"] if row["id"] != found]
    else:
        _put(own["own"], found, item)


def _tidied(raw: Json) -> Json:
    """The document without overrides that say nothing."""
    for part in raw["parts"]:
        for clause in list(part["overrides"]):
            values = part["overrides"][clause]
            for name in list_fields(CLAUSE_TYPES[clause]):
                if name in values and not (values[name]["own"] or values[name]["without"]):
                    del values[name]
            if not values:
                del part["overrides"][clause]
    return raw
