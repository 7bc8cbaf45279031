"""Terms as bytes: they round-trip, old bytes load, and what is wrong is named."""

from __future__ import annotations

import json
import random
from pathlib import Path
from typing import Any, get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.canonical import canonical_bytes, digest
from method.terms import (
    PROBLEMS,
    SCHEMAS,
    Terms,
    TermsError,
    document,
    from_document,
    json_schema,
    new_id,
    parse_terms,
    resolve,
    starter,
    terms_bytes,
)
from method.terms.models.document import ClauseName, Clauses
from method.terms.starter import Starter
from tests.method.terms_cases import documents, full_document, full_terms

DATA = Path(__file__).parent.parent / "data"
GOLDEN = DATA / "terms-v1-golden.json"
GOLDEN_DIGEST = "79cc8cc6d702a61f05c8fc1fd1dd3d574728c678c893b5b423687af85c6161f4"


def refused(raw: Any) -> list[tuple[str, str, str, str, str]]:
    """Why bytes of this value are refused: (id, part, clause, field, item)."""
    with pytest.raises(TermsError) as caught:
        parse_terms(canonical_bytes(raw))
    assert all(problem.id in PROBLEMS for problem in caught.value.problems)
    assert str(caught.value)
    return [(p.id, p.part, p.clause, p.field, p.item) for p in caught.value.problems]


def test_golden_bytes_load_and_reserialise_identically() -> None:
    data = GOLDEN.read_bytes()
    assert digest(data) == GOLDEN_DIGEST
    assert terms_bytes(parse_terms(data)) == data


def test_golden_bytes_fill_every_field() -> None:
    assert document(full_terms(schema=1)) == json.loads(GOLDEN.read_bytes())


def test_shape_of_version_1_is_the_committed_schema() -> None:
    assert json_schema(1) == json.loads((DATA / "terms-v1-schema.json").read_text())


@pytest.mark.parametrize("version", SCHEMAS)
def test_schema_requires_every_field_of_the_bytes(version: int) -> None:
    raw, schema = document(full_terms(schema=version)), json_schema(version)
    for clause, kind in Clauses.model_fields.items():
        name = kind.annotation.__name__ if kind.annotation else ""
        assert set(schema["$defs"][name]["required"]) == set(raw["shared"][clause])


@settings(max_examples=40, deadline=None)
@given(documents())
def test_bytes_round_trip(raw: dict[str, Any]) -> None:
    data = terms_bytes(from_document(raw))
    again = parse_terms(data)
    assert terms_bytes(again) == data
    assert json.loads(data) == document(again)


@pytest.mark.parametrize("name", get_args(Starter))
def test_starter_terms_round_trip(name: Starter) -> None:
    terms = starter(name, random.Random(3))
    assert parse_terms(terms_bytes(terms)) == terms
    assert terms_bytes(starter(name, random.Random(3))) == terms_bytes(terms)


def test_empty_terms_say_nothing_and_round_trip() -> None:
    data = terms_bytes(Terms())
    assert parse_terms(data) == Terms()
    assert b"true" not in data and b"CIEDE2000" not in data


def test_the_ten_clauses_are_those_of_the_document() -> None:
    assert tuple(Clauses.model_fields) == get_args(ClauseName)
    assert len(Clauses.model_fields) == 10


def test_new_ids_have_the_grammar_and_differ() -> None:
    source = random.Random(1)
    ids = {new_id("tol", source) for _ in range(500)}
    assert len(ids) == 500
    assert all(len(one) == 10 and one.startswith("tol-") for one in ids)


def test_frozen() -> None:
    with pytest.raises(ValueError, match="frozen"):
        full_terms().shared.scope.finish = "gloss"  # type: ignore[misc]


def test_missing_field_is_named() -> None:
    raw = full_document()
    del raw["shared"]["observers"]["retest_months"]
    assert refused(raw) == [("field_missing", "", "observers", "retest_months", "")]


def test_missing_field_of_an_item_is_named_with_its_id() -> None:
    raw = full_document()
    item = raw["shared"]["tolerances"]["items"][1]
    del item["warning"]
    assert refused(raw) == [("field_missing", "", "tolerances", "warning", item["id"])]


def test_unknown_field_is_named() -> None:
    raw = full_document()
    raw["shared"]["viewing"]["mood"] = "calm"
    assert refused(raw) == [("field_unknown", "", "viewing", "mood", "")]


def test_unknown_clause_is_named() -> None:
    raw = full_document()
    raw["shared"]["weather"] = {}
    assert refused(raw) == [("field_unknown", "", "", "weather", "")]


def test_every_wrong_value_is_named_at_once() -> None:
    raw = full_document()
    item = raw["shared"]["tolerances"]["items"][0]
    item["limit"], item["illuminant"], item["decimals"] = "1,5", "D66", 9
    raw["shared"]["observers"]["panel_size"] = True
    raw["shared"]["changes"]["ends_on"] = "2031-02-30"
    assert refused(raw) == [
        ("not_an_integer", "", "observers", "panel_size", ""),
        ("not_a_choice", "", "tolerances", "illuminant", item["id"]),
        ("not_a_decimal", "", "tolerances", "limit", item["id"]),
        ("too_large", "", "tolerances", "decimals", item["id"]),
        ("not_a_day", "", "changes", "ends_on", ""),
    ]


@pytest.mark.parametrize("limit", ["1e3", "+1", " 1", "01", "1.", ".5", "NaN", "١", 1])
def test_decimals_have_one_plain_spelling(limit: Any) -> None:
    raw = full_document()
    item = raw["shared"]["tolerances"]["items"][0]
    item["limit"] = limit
    assert refused(raw) == [("not_a_decimal", "", "tolerances", "limit", item["id"])]


def test_negative_limit_is_too_small() -> None:
    raw = full_document()
    item = raw["shared"]["tolerances"]["items"][0]
    item["limit"] = "-0.5"
    assert refused(raw) == [("too_small", "", "tolerances", "limit", item["id"])]


def test_unsorted_choices_are_not_their_one_spelling() -> None:
    raw = full_document()
    raw["shared"]["viewing"]["secondary"] = ["F11", "A"]
    assert refused(raw) == [("spelling", "", "viewing", "secondary", "")]


def test_repeated_id_is_refused() -> None:
    raw = full_document()
    items = raw["shared"]["tolerances"]["items"]
    items[1]["id"] = items[0]["id"]
    raw["parts"] = []
    assert ("id_repeated", "", "tolerances", "items", items[0]["id"]) in refused(raw)


def test_id_of_another_list_is_refused() -> None:
    raw = full_document()
    raw["shared"]["tolerances"]["items"][0]["id"] = "evd-000000"
    assert ("wrong_id", "", "tolerances", "items", "evd-000000") in refused(raw)


def test_pair_decided_twice_is_refused() -> None:
    raw = full_document()
    rows = raw["shared"]["decision"]["combination"]
    rows[1] = {**rows[0], "id": rows[1]["id"], "outcome": "inconclusive"}
    assert refused(raw) == [("pair_repeated", "", "decision", "combination", rows[1]["id"])]


def test_another_schema_is_refused_by_number() -> None:
    raw = {**full_document(), "schema": 3}
    with pytest.raises(TermsError, match=r"Schema 3 is not known here; .* reads schema 1, 2"):
        parse_terms(canonical_bytes(raw))
    assert refused({**raw, "schema": True}) == [("schema_unknown", "", "", "", "")]
    assert refused([1]) == [("schema_unknown", "", "", "", "")]


def test_bytes_that_are_not_canonical_are_refused() -> None:
    data = terms_bytes(full_terms())
    for wrong in (data + b"\n", data[:-1], b"", b"{", data.replace(b'"schema":2', b'"schema":2.0')):
        with pytest.raises(TermsError) as caught:
            parse_terms(wrong)
        assert [problem.id for problem in caught.value.problems] == ["not_canonical"]


def overridden(clause: str, values: Any) -> list[tuple[str, str, str, str, str]]:
    """Why a part with these overrides is refused."""
    raw = full_document()
    raw["parts"][1]["overrides"] = {clause: values}
    return refused(raw)


def test_wrong_overrides_name_part_clause_and_field() -> None:
    raw = full_document()
    part, tolerance = raw["parts"][1]["id"], raw["shared"]["tolerances"]["items"][0]
    assert overridden("scope", {"mood": "x"}) == [("field_unknown", part, "scope", "mood", "")]
    assert overridden("scope", {}) == [("override_empty", part, "scope", "", "")]
    assert overridden("scope", {"thickness_mm": "thin"}) == [
        ("not_a_decimal", part, "scope", "thickness_mm", "")
    ]
    assert overridden("viewing", {"secondary": ["F11", "A"]}) == [
        ("spelling", part, "viewing", "secondary", "")
    ]
    bad = {"own": [{**tolerance, "limit": 1}], "without": []}
    assert overridden("tolerances", {"items": bad}) == [
        ("not_a_decimal", part, "tolerances", "limit", tolerance["id"])
    ]
    partial = {"own": [{"id": "tol-000000", "limit": "1"}], "without": []}
    assert ("field_missing", part, "tolerances", "illuminant", "tol-000000") in overridden(
        "tolerances", {"items": partial}
    )


@pytest.mark.parametrize(
    "value",
    [
        [],
        {"own": []},
        {"own": [], "without": []},
        {"own": [], "without": ["tol-zzzzzz"]},
        {"own": [{}], "without": []},
        {"own": "x", "without": []},
        {"own": [], "without": [3]},
    ],
)
def test_list_overrides_have_one_shape(value: Any) -> None:
    part = full_document()["parts"][1]["id"]
    assert overridden("tolerances", {"items": value}) == [
        ("list_override", part, "tolerances", "items", "")
    ]


@settings(max_examples=20, deadline=None)
@given(documents())
def test_without_overrides_a_part_is_bound_by_the_shared_clauses(raw: dict[str, Any]) -> None:
    raw["parts"] = [{"id": "prt-000000", "number": "1", "name": "", "colour": "", "overrides": {}}]
    terms = from_document(raw)
    for clause in get_args(ClauseName):
        assert getattr(resolve(terms, "prt-000000"), clause) == getattr(terms.shared, clause)
        assert getattr(resolve(terms), clause) == getattr(terms.shared, clause)


def test_overrides_merge_by_field_and_by_item() -> None:
    terms = full_terms()
    part = terms.parts[0]
    bound = resolve(terms, part.id)
    first, second = terms.shared.tolerances.items
    assert (bound.part_id, bound.number, bound.colour) == (part.id, "K-100", "grey 7")
    assert bound.scope.thickness_mm is None
    assert bound.scope.finish == "matt"
    assert bound.scope.material == terms.shared.scope.material
    assert [str(item.limit) for item in bound.tolerances.items] == ["2.25", "2.25"]
    assert bound.tolerances.items[0].id == first.id
    assert second.id not in {item.id for item in bound.tolerances.items}
    assert resolve(terms, terms.parts[1].id).tolerances == terms.shared.tolerances


def test_unknown_part_is_refused() -> None:
    with pytest.raises(TermsError, match="no such part"):
        resolve(full_terms(), "prt-nobody")


def test_unknown_clause_of_a_part_is_named() -> None:
    part = full_document()["parts"][1]["id"]
    assert overridden("weather", {"x": 1}) == [("not_a_choice", part, "", "weather", "")]


JUNK: list[Any] = [
    None,
    True,
    -1,
    2**53 - 1,
    "",
    "x",
    "\u202e",
    [],
    [[]],
    {},
    {"id": 3},
    [{}],
    [None],
]


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_hostile_values_anywhere_are_refused_in_words(data: st.DataObject) -> None:
    raw = full_document()
    holder: Any = raw
    while True:
        keys = list(holder) if isinstance(holder, dict) else list(range(len(holder)))
        key = data.draw(st.sampled_from(keys))
        if not holder[key] or not isinstance(holder[key], (dict, list)) or data.draw(st.booleans()):
            break
        holder = holder[key]
    holder[key] = data.draw(st.sampled_from(JUNK))
    written = canonical_bytes(raw)
    try:
        terms = parse_terms(written)
    except TermsError as error:
        assert str(error)
        assert all(problem.place() for problem in error.problems)
    else:
        assert terms_bytes(terms) == written
