"""Bytes to terms and back, and the invariants of the whole document.

Stored terms are read from their bytes with every field written out, so that what was signed
never depends on a default of the program that shows it.
"""

from __future__ import annotations

import json
import unicodedata
from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Any

from pydantic import ValidationError

from ledger.canonical import CanonicalError, canonical_bytes, parse
from method.terms.describe import CLAUSE_TYPES, list_fields
from method.terms.errors import Problem, TermsError, problems_of
from method.terms.models import SCHEMAS, Terms
from method.terms.resolve import merged_clause
from method.terms.versions import at_schema, clause_at, schema_of, too_new

Json = dict[str, Any]


def terms_bytes(terms: Terms) -> bytes:
    """The canonical bytes that are stored, hashed and signed."""
    return canonical_bytes(document(terms))


def document(terms: Terms) -> Json:
    """The JSON value of the terms, every field of their schema written."""
    return at_schema(terms.model_dump(mode="json", by_alias=True), terms.schema_version)


def parse_terms(data: bytes) -> Terms:
    """The terms that canonical bytes hold.

    Raises TermsError: not canonical JSON, a schema not known here, fields missing, unknown or
    invalid, ids that repeat, overrides that fit no clause.
    """
    try:
        raw = parse(data)
    except CanonicalError as error:
        raise TermsError([Problem("not_canonical", params={"detail": str(error)})]) from None
    if not isinstance(raw, dict) or "schema" not in raw:
        raise TermsError([_unknown_schema(None)])
    terms = from_document(raw)
    unsaid = list(_unsaid(raw, document(terms)))
    if unsaid:
        raise TermsError(unsaid)
    return terms


def from_document(raw: Json) -> Terms:
    """Terms from a JSON value; fields left out are unsaid, and without a schema it is the newest.

    Raises TermsError.
    """
    schema = schema_of(raw)
    if schema is None:
        raise TermsError([_unknown_schema(raw.get("schema"))])
    unknown = list(too_new(raw, schema))
    if unknown:
        raise TermsError(unknown)
    try:
        terms = Terms.model_validate_json(json.dumps(_composed(raw)))
    except ValidationError as error:
        raise TermsError(problems_of(error, raw)) from None
    problems = [*_repeated(terms), *_overrides(terms)]
    if problems:
        raise TermsError(problems)
    return terms


def _unknown_schema(found: Any) -> Problem:
    known = ", ".join(map(str, SCHEMAS))
    return Problem("schema_unknown", params={"found": json.dumps(found)[:40], "known": known})


def _composed(value: Any) -> Any:
    """The value with all text in normal form C: also a part's own values, which are plain JSON."""
    if isinstance(value, str):
        return unicodedata.normalize("NFC", value)
    if isinstance(value, list):
        return [_composed(one) for one in value]
    if isinstance(value, dict):
        return {name: _composed(one) for name, one in value.items()}
    return value


def _unsaid(raw: Any, full: Any, trail: tuple[str, ...] = ()) -> Iterator[Problem]:
    """Fields that stored bytes leave out or spell otherwise than the program would."""
    if isinstance(full, dict) and isinstance(raw, dict):
        for name, value in full.items():
            if name not in raw:
                yield _at("field_missing", (*trail, name))
            else:
                yield from _unsaid(raw[name], value, (*trail, name))
    elif isinstance(full, list) and full and isinstance(full[0], dict):
        for one, other in zip(raw, full, strict=True):
            yield from _unsaid(one, other, (*trail, str(other["id"])))
    elif raw != full:
        yield _at("spelling", trail)


def _at(problem: str, trail: tuple[str, ...]) -> Problem:
    """A problem placed by a trail of names and ids."""
    ids = [name for name in trail if "-" in name]
    names = [name for name in trail if "-" not in name and name not in ("shared", "parts")]
    part = next((name for name in ids if name.startswith("prt-")), "")
    item = next((name for name in ids if not name.startswith("prt-")), "")
    clause = names[0] if len(names) > 1 else ""
    return Problem(problem, clause, names[-1] if names else "", item, part)


def _repeated(terms: Terms) -> Iterator[Problem]:
    """Ids that occur twice among the shared items, or among the parts."""
    ids = [(part.id, "", "parts") for part in terms.parts]
    for clause, kind in CLAUSE_TYPES.items():
        for name in list_fields(kind):
            rows = getattr(getattr(terms.shared, clause), name)
            ids += [(row.id, clause, name) for row in rows]
    counts = Counter(found for found, _, _ in ids)
    for found, clause, name in ids:
        if counts[found] > 1:
            yield Problem("id_repeated", clause, name, found)
    yield from _pairs_repeated(terms.shared.decision.model_dump(mode="json"), "")


def _pairs_repeated(decision: Mapping[str, Any], part: str) -> Iterator[Problem]:
    """Rows of the combination table whose pair another row has already decided."""
    seen: set[tuple[str, str]] = set()
    for row in decision["combination"]:
        pair = (row["visual"], row["instrument"])
        if None not in pair and pair in seen:
            yield Problem("pair_repeated", "decision", "combination", row["id"], part)
        seen.add(pair)


def _overrides(terms: Terms) -> Iterator[Problem]:
    """What is wrong with the parts' overrides: each must give a valid clause when merged."""
    schema = terms.schema_version
    shared = document(terms)["shared"]
    for part in terms.parts:
        for clause, values in part.overrides.items():
            problems = list(_shape(clause, values, shared[clause], part.id))
            yield from problems
            if not problems:
                yield from _merged(clause, values, shared[clause], part.id, schema)


def _merged(
    clause: str, values: Mapping[str, Any], shared: Json, part: str, schema: int
) -> Iterator[Problem]:
    """Problems of one clause as it binds the part."""
    kind = CLAUSE_TYPES[clause]
    raw = merged_clause(kind, shared, values)
    try:
        merged = kind.model_validate_json(json.dumps(raw)).model_dump(mode="json")
        full = clause_at(kind, merged, schema)
    except ValidationError as error:
        yield from problems_of(error, raw, clause, part)
        return
    for name in values:
        for problem in _unsaid(raw[name], full[name], (clause, name)):
            yield Problem(problem.id, clause, problem.field, problem.item, part)
    if clause == "decision":
        yield from _pairs_repeated(full, part)


def _shape(clause: str, values: Mapping[str, Any], shared: Json, part: str) -> Iterator[Problem]:
    """Overrides of fields that do not exist, and lists that are not {"own", "without"}."""
    kind = CLAUSE_TYPES[clause]
    lists = list_fields(kind)
    if not values:
        yield Problem("override_empty", clause, part=part)
    for name, value in values.items():
        if name not in kind.model_fields:
            yield Problem("field_unknown", clause, name, part=part)
        elif name in lists and not _is_list_override(value, {row["id"] for row in shared[name]}):
            yield Problem("list_override", clause, name, part=part)


def _is_list_override(value: Any, shared_ids: set[str]) -> bool:
    """Whether a value is {"own": [items, each once], "without": [shared ids, sorted]}."""
    if not isinstance(value, dict) or set(value) != {"own", "without"}:
        return False
    own, without = value["own"], value["without"]
    if not isinstance(own, list) or not all(isinstance(row, dict) for row in own):
        return False
    if not isinstance(without, list) or not all(isinstance(found, str) for found in without):
        return False
    ids = [row.get("id") for row in own if isinstance(row.get("id"), str)]
    return (
        bool(own or without)
        and len(set(ids)) == len(own)
        and without == sorted(set(without))
        and set(without) <= shared_ids
        and not set(without) & set(ids)
    )
