"""Two schemas beside each other: old documents stay as they are, and an upgrade keeps the sense."""

from __future__ import annotations

import json
import random
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings

from ledger.canonical import canonical_bytes, digest
from method.terms import (
    CLAUSE_TYPES,
    SCHEMA,
    SCHEMAS,
    Change,
    Terms,
    TermsError,
    compare,
    describe,
    document,
    draft_check,
    fields_of,
    from_document,
    json_schema,
    parse_terms,
    render,
    resolve,
    sentences,
    service_held_allowed,
    starter,
    terms_bytes,
    upgrade,
)
from method.terms.describe import later_fields
from method.terms.edit import with_values
from method.terms.models import EvidenceDue, Measurement, Part, Tolerance, Viewing
from method.terms.sentences import resolved_sentences
from tests.method.terms_cases import documents, full_document, full_terms

DATA = Path(__file__).parent.parent / "data"
GOLDEN_V1 = DATA / "terms-v1-golden.json"
GOLDEN = DATA / "terms-v2-golden.json"
GOLDEN_DIGEST = "8dc0785fd46242b4fee0f9699d8e6bb978711860c5bd2b6034c1133a6ed0bbdc"
KEYS = ("changes", "signing_keys")


def old_terms() -> Terms:
    """The committed document of schema 1."""
    return parse_terms(GOLDEN_V1.read_bytes())


def keys_said(terms: Terms) -> list[str]:
    """What the sentences of clause 10 say of keys."""
    found = dict(sentences(terms))["changes"]
    return [render(one) for one in found if one.id == "changes.signing_keys"]


def with_keys(keys: str | None, *own: str | None) -> Terms:
    """Terms of the newest schema in which shared clauses and parts say this of keys."""
    raw = full_document()
    raw["shared"]["changes"]["signing_keys"] = keys
    for part, value in zip(raw["parts"], own, strict=False):
        part["overrides"] = {"changes": {"signing_keys": value}}
    return from_document(raw)


def test_golden_bytes_of_schema_2_load_and_reserialise_identically() -> None:
    data = GOLDEN.read_bytes()
    assert digest(data) == GOLDEN_DIGEST
    assert terms_bytes(parse_terms(data)) == data
    assert document(full_terms(schema=2)) == json.loads(data)


def test_shape_of_version_2_is_the_committed_schema() -> None:
    assert json_schema(2) == json.loads((DATA / "terms-v2-schema.json").read_text())


def test_the_schemas_differ_in_the_fields_that_say_so() -> None:
    later = {
        (clause, field.name) for clause, kind in CLAUSE_TYPES.items()
        for field in later_fields(kind, 1)
    }  # fmt: skip
    assert later == {KEYS}
    one, two = full_document(schema=1)["shared"], full_document(schema=2)["shared"]
    found = {(clause, name) for clause in two for name in two[clause].keys() - one[clause].keys()}
    assert found == later
    for clause in CLAUSE_TYPES:
        assert [field.name for field in fields_of(clause, 1)] == list(one[clause])


def test_new_drafts_are_of_the_newest_schema() -> None:
    assert document(Terms())["schema"] == SCHEMA == max(SCHEMAS)
    assert document(starter("visual", random.Random(1)))["schema"] == SCHEMA
    assert document(from_document({}))["shared"]["changes"]["signing_keys"] is None


def test_a_document_of_schema_1_shows_and_binds_without_the_later_field() -> None:
    terms = old_terms()
    assert keys_said(terms) == []
    bound = resolve(terms, terms.parts[0].id)
    said = [one.id for _clause, found in resolved_sentences(bound) for one in found]
    assert "changes.signing_keys" not in said
    assert "changes.law" in said
    assert compare(terms, terms) == []


def test_a_field_of_schema_2_is_unknown_in_schema_1() -> None:
    raw = json.loads(GOLDEN_V1.read_bytes())
    raw["shared"]["changes"]["signing_keys"] = None
    assert places(raw) == [("field_unknown", "", "changes", "signing_keys")]
    raw = json.loads(GOLDEN_V1.read_bytes())
    raw["parts"][1]["overrides"] = {"changes": {"signing_keys": "own_key"}}
    assert places(raw) == [("field_unknown", raw["parts"][1]["id"], "changes", "signing_keys")]


def test_a_field_of_schema_2_is_required_there() -> None:
    raw = full_document(schema=2)
    del raw["shared"]["changes"]["signing_keys"]
    assert places(raw) == [("field_missing", "", "changes", "signing_keys")]


def places(raw: Any) -> list[tuple[str, str, str, str]]:
    """Why bytes of this value are refused."""
    with pytest.raises(TermsError) as caught:
        parse_terms(canonical_bytes(raw))
    return [(one.id, one.part, one.clause, one.field) for one in caught.value.problems]


def test_editing_does_not_bring_a_later_field_into_an_earlier_document() -> None:
    with pytest.raises(TermsError, match="no such field"):
        with_values(old_terms(), "changes", {"signing_keys": "own_key"})
    edited = with_values(old_terms(), "changes", {"law": "none"})
    assert document(edited)["schema"] == 1


@settings(max_examples=40, deadline=None)
@given(documents())
def test_an_upgrade_says_the_same_in_the_newest_schema(raw: dict[str, Any]) -> None:
    before = from_document(raw)
    after = upgrade(before)
    assert document(after)["schema"] == SCHEMA
    assert parse_terms(terms_bytes(after)) == after
    assert compare(before, after) == compare(after, before) == []
    assert service_held_allowed(after) == service_held_allowed(before)
    assert upgrade(after) is after
    new = document(after)
    new["shared"]["changes"].pop("signing_keys")
    old = document(before)
    old["shared"]["changes"].pop("signing_keys", None)
    assert {**new, "schema": 0} == {**old, "schema": 0}


def test_an_upgrade_leaves_the_old_document_alone() -> None:
    terms = old_terms()
    upgrade(terms)
    assert terms_bytes(terms) == GOLDEN_V1.read_bytes()


def test_between_schemas_only_real_differences_are_found() -> None:
    old, new = old_terms(), upgrade(old_terms())
    assert with_values(new, "changes", {"law": old.shared.changes.law}) == new
    edited = with_values(new, "changes", {"law": "other", "signing_keys": "own_key"})
    assert compare(old, edited) == [
        Change("changes", "law", "changed", old.shared.changes.law, "other"),
        Change(*KEYS, "changed", "service_held_too", "own_key"),
    ]
    unsaid = with_values(new, "changes", {"signing_keys": ""})
    assert compare(unsaid, old) == [Change(*KEYS, "changed", None, "service_held_too")]


def test_a_service_held_key_signs_only_where_the_terms_say_so() -> None:
    assert service_held_allowed(old_terms())
    assert service_held_allowed(with_keys("service_held_too"))
    assert not service_held_allowed(with_keys("own_key"))
    assert not service_held_allowed(with_keys(None))
    assert not service_held_allowed(Terms())
    assert not service_held_allowed(starter("visual", random.Random(1)))


def test_a_part_may_exclude_a_service_held_key_but_not_let_it_in() -> None:
    assert service_held_allowed(with_keys("service_held_too", "service_held_too"))
    assert not service_held_allowed(with_keys("service_held_too", "own_key"))
    assert not service_held_allowed(with_keys("service_held_too", "service_held_too", None))
    assert not service_held_allowed(with_keys("own_key", "service_held_too", "service_held_too"))


def test_the_sentence_says_which_keys_sign() -> None:
    assert keys_said(with_keys("own_key")) == [
        "What signs for these terms: only a key that the signatory alone holds."
    ]
    assert keys_said(with_keys(None)) == ["Keys that sign: not said."]


def test_the_draft_check_advises_on_keys() -> None:
    names = {"service_held_keys", "signing_keys_unsaid"}

    def found(terms: Terms) -> list[tuple[str, str]]:
        return [(one.id, one.severity) for one in draft_check(terms) if one.id in names]

    assert found(with_keys("own_key")) == []
    assert found(with_keys("service_held_too")) == [("service_held_keys", "advice")]
    assert found(with_keys(None)) == [("signing_keys_unsaid", "advice")]
    assert found(old_terms()) == [("service_held_keys", "advice")]


# (class, field) as if schema 2 had brought it: of a clause, of entries, a whole list, of parts, of
# the document. Later schemas add fields at any of these places.
PLACES = [
    (Viewing, "frame"),
    (Tolerance, "warning"),
    (EvidenceDue, "signed_by_lead"),
    (Measurement, "places"),
    (Part, "colour"),
    (Terms, "note"),
]


@pytest.fixture(params=PLACES, ids=[f"{kind.__name__}.{name}" for kind, name in PLACES])
def moved(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> tuple[Any, str]:
    """A field that is said to have come with schema 2."""
    kind, name = request.param
    plain = describe._all_fields

    def later(asked: Any) -> tuple[describe.FieldInfo, ...]:
        model = CLAUSE_TYPES.get(asked, asked) if isinstance(asked, str) else asked
        return tuple(
            replace(field, about=replace(field.about, since=2))
            if model is kind and field.name == name
            else field
            for field in plain(asked)
        )

    monkeypatch.setattr(describe, "_all_fields", later)
    return kind, name


def without(value: Any, name: str, beside: str) -> Any:
    """A JSON value without the members of a name wherever `beside` stands beside them."""
    if isinstance(value, list):
        return [without(one, name, beside) for one in value]
    if isinstance(value, dict):
        gone = {name} if beside in value else set()
        return {key: without(one, name, beside) for key, one in value.items() if key not in gone}
    return value


def test_a_later_field_may_stand_anywhere(moved: tuple[Any, str]) -> None:
    kind, name = moved
    beside = next(field.name for field in fields_of(kind, 1) if field.name != name)
    raw = without(full_document(schema=1), name, beside)
    terms = from_document(raw)
    assert parse_terms(canonical_bytes(raw)) == terms
    assert document(terms) == raw
    assert all(render(one) for _clause, found in sentences(terms) for one in found)
    after = upgrade(terms)
    assert parse_terms(terms_bytes(after)) == after
    assert compare(terms, after) == []
    kept = without(without(document(after), name, beside), "signing_keys", "law")
    assert kept == {**raw, "schema": 2}


def test_a_later_field_is_refused_wherever_it_stands(moved: tuple[Any, str]) -> None:
    raw = without(full_document(schema=2), "signing_keys", "law")
    found = places({**raw, "schema": 1})
    assert found
    assert {(id, field) for id, _part, _clause, field in found} == {("field_unknown", moved[1])}


def test_the_json_schema_of_the_earlier_one_lacks_a_later_field(moved: tuple[Any, str]) -> None:
    kind, name = moved
    for version, has in ((1, False), (2, True)):
        whole = json_schema(version)
        shape = whole if kind is Terms else whole["$defs"][kind.__name__]
        assert (name in shape["properties"]) == has
        assert (name in shape["required"]) == has
