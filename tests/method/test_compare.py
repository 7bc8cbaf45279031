"""Comparison by identity: every single change is found, named, and nothing else is."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings

from method.terms import (
    CLAUSES,
    Change,
    Terms,
    compare,
    document,
    fields_of,
    from_document,
    upgrade,
)
from method.terms.describe import field_of
from tests.method.terms_cases import documents, every_list, filled, full_document, full_terms

PLAIN = [(c, f.name) for c in CLAUSES for f in fields_of(c) if f.item is None]
ITEM_FIELDS = [
    (clause, name, sub.name)
    for clause, name in every_list()
    for sub in fields_of(field_of(clause, name).item)  # type: ignore[union-attr,arg-type]
    if name != "combination"
]


def changed(mutate: Any) -> tuple[Terms, Terms]:
    """The full terms, and those after `mutate(raw)`."""
    raw = full_document()
    mutate(raw)
    return full_terms(), from_document(raw)


def without_parts(mutate: Any) -> tuple[Terms, Terms]:
    """The same without parts, so that no part names a shared item."""
    before, after = full_document(), full_document()
    before["parts"], after["parts"] = [], []
    mutate(after)
    return from_document(before), from_document(after)


@settings(max_examples=25, deadline=None)
@given(documents())
def test_terms_do_not_differ_from_themselves(raw: dict[str, Any]) -> None:
    assert compare(from_document(raw), from_document(raw)) == []


@settings(max_examples=25, deadline=None)
@given(documents(), documents())
def test_no_change_means_the_same_document(one: dict[str, Any], other: dict[str, Any]) -> None:
    a, b = from_document(one), from_document(other)
    assert (compare(a, b) == []) == (document(upgrade(a)) == document(upgrade(b)))


@pytest.mark.parametrize(("clause", "name"), PLAIN)
def test_each_field_of_each_clause(clause: str, name: str) -> None:
    field = field_of(clause, name)
    assert field is not None
    before, after = filled(field), None if field.kind == "choice" else filled(field, 1)

    def mutate(raw: dict[str, Any]) -> None:
        raw["shared"][clause][name] = after

    a, b = changed(mutate)
    assert compare(a, b) == [Change(clause, name, "changed", before, after)]
    assert compare(b, a) == [Change(clause, name, "changed", after, before)]


@pytest.mark.parametrize(("clause", "name", "sub"), ITEM_FIELDS)
def test_each_field_of_each_item(clause: str, name: str, sub: str) -> None:
    row = full_document()["shared"][clause][name][0]
    info = field_of(clause, name)
    assert info is not None
    assert info.item is not None
    field = field_of(info.item, sub)
    assert field is not None
    after = None if field.kind == "choice" else filled(field, 1)

    def mutate(raw: dict[str, Any]) -> None:
        raw["shared"][clause][name][0][sub] = after

    a, b = changed(mutate)
    assert compare(a, b) == [Change(clause, name, "changed", row[sub], after, row["id"], sub)]


@pytest.mark.parametrize(("clause", "name"), every_list())
def test_items_come_go_and_move(clause: str, name: str) -> None:
    rows = full_document()["shared"][clause][name]
    last = rows[-1]
    a, b = without_parts(lambda raw: raw["shared"][clause][name].pop())
    assert compare(a, b) == [Change(clause, name, "removed", last, None, last["id"])]
    assert compare(b, a) == [Change(clause, name, "added", None, last, last["id"])]
    a, b = without_parts(lambda raw: raw["shared"][clause][name].reverse())
    ids = [row["id"] for row in rows]
    assert compare(a, b) == [Change(clause, name, "changed", ids, ids[::-1])]


def test_an_item_keeps_its_identity_wherever_it_stands() -> None:
    def mutate(raw: dict[str, Any]) -> None:
        rows = raw["shared"]["evidence"]["items"]
        rows.reverse()
        rows[0]["note"] = "moved and changed"

    a, b = changed(mutate)
    changes = {(change.item, change.sub) for change in compare(a, b)}
    assert changes == {(a.shared.evidence.items[1].id, "note"), ("", "")}


def test_title_and_note() -> None:
    a, b = changed(lambda raw: raw.update(title="Caps", note="two"))
    assert compare(a, b) == [
        Change("", "title", "changed", "Cap and lid", "Caps"),
        Change("", "note", "changed", "", "two"),
    ]


def test_written_decimals_count() -> None:
    def mutate(raw: dict[str, Any]) -> None:
        raw["shared"]["decision"]["uncertainty_value"] += "0"

    a, b = changed(mutate)
    assert [change.field for change in compare(a, b)] == ["uncertainty_value"]


def test_parts_come_and_go() -> None:
    raw = document(full_terms())
    last = raw["parts"][-1]
    a, b = changed(lambda raw: raw["parts"].pop())
    assert compare(a, b) == [Change("", "parts", "removed", last, None, part=last["id"])]
    assert compare(b, a) == [Change("", "parts", "added", None, last, part=last["id"])]
    a, b = changed(lambda raw: raw["parts"].reverse())
    assert [change.field for change in compare(a, b)] == ["parts"]


def test_the_heading_of_a_part() -> None:
    a, b = changed(lambda raw: raw["parts"][1].update(colour="grey 8"))
    part = a.parts[1].id
    assert compare(a, b) == [Change("", "colour", "changed", "grey 7", "grey 8", part=part)]


def test_overridden_fields_of_a_part() -> None:
    part = full_terms().parts[0].id

    def mutate(raw: dict[str, Any]) -> None:
        own = raw["parts"][0]["overrides"]["scope"]
        own["finish"] = "gloss"
        del own["thickness_mm"]
        own["texture"] = "fine"

    a, b = changed(mutate)
    assert compare(a, b) == [
        Change("scope", "finish", "changed", "matt", "gloss", part=part),
        Change("scope", "texture", "added", None, "fine", part=part),
        Change("scope", "thickness_mm", "removed", None, None, part=part),
    ]


def test_overridden_items_of_a_part() -> None:
    terms = full_terms()
    part, gone = terms.parts[0].id, terms.shared.tolerances.items[1].id
    own = full_document()["parts"][0]["overrides"]["tolerances"]["items"]["own"]

    def mutate(raw: dict[str, Any]) -> None:
        lists = raw["parts"][0]["overrides"]["tolerances"]["items"]
        lists["own"][0]["limit"] = "2.75"
        lists["own"].pop()
        lists["without"] = []

    a, b = changed(mutate)
    assert compare(a, b) == [
        Change("tolerances", "items", "changed", "2.25", "2.75", own[0]["id"], "limit", part),
        Change("tolerances", "items", "removed", own[1], None, own[1]["id"], part=part),
        Change("tolerances", "items", "added", None, gone, gone, part=part),
    ]


def test_a_list_override_that_goes_is_told_item_by_item() -> None:
    a, b = changed(lambda raw: raw["parts"][0]["overrides"].pop("tolerances"))
    assert [change.kind for change in compare(a, b)] == ["removed", "removed", "added"]
    assert [change.kind for change in compare(b, a)] == ["added", "added", "removed"]
