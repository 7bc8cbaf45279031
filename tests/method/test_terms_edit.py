"""Editing a draft: typed values in, new terms out, every problem listed."""

from __future__ import annotations

import random

import pytest

from method.terms import (
    CLAUSES,
    Terms,
    TermsError,
    compare,
    document,
    field_of,
    fields_of,
    resolve,
    starter,
    with_heading,
    with_item,
    with_items,
    with_part,
    with_values,
    without_item,
    without_override,
    without_part,
)
from method.terms.combination import combination_template, template_of
from method.terms.describe import FieldInfo
from tests.method.terms_cases import every_list, filled, full_terms

DICE = random.Random(11)


def typed(field: FieldInfo) -> str | list[str]:
    """A valid value as a browser's form sends it."""
    value = filled(field)
    if isinstance(value, bool):
        return "on" if value else ""
    return value if isinstance(value, list) else str(value)


def problems(caught: pytest.ExceptionInfo[TermsError]) -> list[tuple[str, str, str, str, str]]:
    return [(p.id, p.part, p.clause, p.field, p.item) for p in caught.value.problems]


@pytest.mark.parametrize("clause", CLAUSES)
def test_every_field_can_be_typed_in_and_emptied(clause: str) -> None:
    plain = [field for field in fields_of(clause) if field.item is None]
    terms = with_values(Terms(), clause, {field.name: typed(field) for field in plain})
    raw = document(terms)["shared"][clause]
    assert {field.name: raw[field.name] for field in plain} == {
        field.name: filled(field) for field in plain
    }
    assert with_values(terms, clause, {field.name: "" for field in plain}) == Terms()


@pytest.mark.parametrize(("clause", "name"), every_list())
def test_items_are_added_changed_and_removed(clause: str, name: str) -> None:
    info = field_of(clause, name)
    assert info is not None
    assert info.item is not None
    fields = fields_of(info.item)
    terms = with_item(
        Terms(), clause, name, {field.name: typed(field) for field in fields}, source=DICE
    )
    (row,) = document(terms)["shared"][clause][name]
    assert row == {"id": row["id"], **{field.name: filled(field) for field in fields}}
    again = with_item(terms, clause, name, {"id": row["id"], fields[0].name: ""})
    (only,) = compare(terms, again)
    assert (only.item, only.sub, only.kind) == (row["id"], fields[0].name, "changed")
    assert without_item(again, clause, name, row["id"]) == Terms()


def test_nothing_is_changed_in_place() -> None:
    terms = full_terms()
    before = document(terms)
    part = terms.parts[0].id
    with_values(terms, "scope", {"finish": "x"}, part)
    with_item(terms, "tolerances", "items", {"limit": "9"}, part)
    without_item(terms, "tolerances", "items", terms.shared.tolerances.items[0].id)
    assert document(terms) == before


def test_every_problem_is_listed_with_its_place() -> None:
    with pytest.raises(TermsError) as caught:
        with_values(
            Terms(),
            "observers",
            {"panel_size": "three", "tests_averaged": "ten", "borrowed": "maybe", "mood": "x"},
        )
    assert problems(caught) == [
        ("not_an_integer", "", "observers", "panel_size", ""),
        ("not_yes_or_no", "", "observers", "borrowed", ""),
        ("field_unknown", "", "observers", "mood", ""),
    ]


def test_limits_and_choices_are_checked() -> None:
    with pytest.raises(TermsError) as caught:
        with_values(Terms(), "observers", {"panel_size": "0", "tests_averaged": "ten"})
    assert problems(caught) == [
        ("too_small", "", "observers", "panel_size", ""),
        ("not_a_choice", "", "observers", "tests_averaged", ""),
    ]
    assert "1 or more" in str(caught.value)


def test_problems_of_an_item_name_the_item_and_the_part() -> None:
    terms = full_terms()
    part, item = terms.parts[1].id, terms.shared.tolerances.items[0].id
    with pytest.raises(TermsError) as caught:
        with_item(terms, "tolerances", "items", {"id": item, "limit": "1,5"}, part)
    assert problems(caught) == [("not_a_decimal", part, "tolerances", "limit", item)]
    with pytest.raises(TermsError) as caught:
        with_item(terms, "tolerances", "items", {"id": item, "decimals": "7"}, part)
    assert problems(caught) == [("too_large", part, "tolerances", "decimals", item)]


@pytest.mark.parametrize("text", ["1,5", "1e3", "NaN", "½", "--1", "1 000", "1.1234567"])
def test_a_decimal_is_not_guessed_at(text: str) -> None:
    with pytest.raises(TermsError) as caught:
        with_values(Terms(), "decision", {"uncertainty_value": text})
    assert problems(caught) == [("not_a_decimal", "", "decision", "uncertainty_value", "")]


def test_text_is_kept_in_one_form() -> None:
    terms = with_values(Terms(), "scope", {"finish": "  mat\r\ne\u0301 \r"})
    assert terms.shared.scope.finish == "mat\n\u00e9"
    with pytest.raises(TermsError) as caught:
        with_values(Terms(), "scope", {"finish": "a\x00b"})
    assert problems(caught) == [("control_character", "", "scope", "finish", "")]
    with pytest.raises(TermsError) as caught:
        with_values(Terms(), "scope", {"finish": "x" * 4001})
    assert problems(caught) == [("text_too_long", "", "scope", "finish", "")]


def test_days_come_one_a_line() -> None:
    terms = with_values(Terms(), "disputes", {"holidays": "2031-05-01\r\n2031-01-01, 2031-05-01"})
    assert [str(day) for day in terms.shared.disputes.holidays] == ["2031-01-01", "2031-05-01"]
    with pytest.raises(TermsError) as caught:
        with_values(Terms(), "disputes", {"holidays": "1 May"})
    assert problems(caught) == [("not_a_day", "", "disputes", "holidays", "")]


def test_lists_of_items_are_no_values() -> None:
    with pytest.raises(TermsError) as caught:
        with_values(Terms(), "tolerances", {"items": "x"})
    assert problems(caught) == [("is_a_list", "", "tolerances", "items", "")]
    for clause, name in (("tolerances", "limit"), ("viewing", "frame"), ("weather", "items")):
        with pytest.raises(TermsError):
            with_item(Terms(), clause, name, {})


def test_a_second_row_for_one_pair_is_refused() -> None:
    terms = starter("visual", DICE)
    with pytest.raises(TermsError) as caught:
        with_item(
            terms,
            "decision",
            "combination",
            {"visual": "conforming", "instrument": "not_asked", "outcome": "nonconforming"},
        )
    assert [problem.id for problem in caught.value.problems] == ["pair_repeated"]


def test_a_table_is_replaced_whole() -> None:
    rows = combination_template("instrument", DICE)
    terms = with_items(
        starter("visual", DICE), "decision", "combination", [row.model_dump() for row in rows]
    )
    assert template_of(terms.shared.decision) == "instrument"


def test_heading() -> None:
    terms = with_heading(Terms(), {"title": " Caps ", "note": ""})
    assert terms.title == "Caps"
    with pytest.raises(TermsError) as caught:
        with_heading(Terms(), {"title": "x" * 201})
    assert problems(caught) == [("text_too_long", "", "", "title", "")]


def test_a_part_departs_only_where_it_differs() -> None:
    terms = with_part(full_terms(), {"number": "K-300", "colour": "blue"}, source=DICE)
    part = terms.parts[-1].id
    shared = terms.shared.scope
    own = with_values(terms, "scope", {"finish": shared.finish, "texture": "fine"}, part)
    assert own.parts[-1].overrides == {"scope": {"texture": "fine"}}
    assert resolve(own, part).scope.texture == "fine"
    assert with_values(own, "scope", {"texture": shared.texture}, part) == terms
    assert without_override(own, "scope", "texture", part) == terms
    empty = with_values(terms, "scope", {"thickness_mm": ""}, part)
    assert empty.parts[-1].overrides == {"scope": {"thickness_mm": None}}


def test_the_items_of_a_part() -> None:
    terms = full_terms()
    part, (first, second) = terms.parts[1].id, terms.shared.tolerances.items
    own = with_item(terms, "tolerances", "items", {"id": first.id, "limit": "3.00"}, part)
    assert [str(item.limit) for item in resolve(own, part).tolerances.items] == [
        "3.00",
        str(second.limit),
    ]
    assert own.shared == terms.shared
    back = with_item(own, "tolerances", "items", {"id": first.id, "limit": str(first.limit)}, part)
    assert back == terms
    gone = without_item(own, "tolerances", "items", second.id, part)
    assert [item.id for item in resolve(gone, part).tolerances.items] == [first.id]
    more = with_item(gone, "tolerances", "items", {"limit": "4.00"}, part, DICE)
    assert [str(item.limit) for item in resolve(more, part).tolerances.items] == ["3.00", "4.00"]
    added = resolve(more, part).tolerances.items[1].id
    assert without_item(more, "tolerances", "items", added, part) == gone
    restored = with_item(gone, "tolerances", "items", {"id": second.id}, part)
    assert [item.id for item in resolve(restored, part).tolerances.items] == [first.id, second.id]


def test_a_shared_item_that_goes_leaves_no_trace_in_parts() -> None:
    terms = full_terms()
    second = terms.shared.tolerances.items[1]
    after = without_item(terms, "tolerances", "items", second.id)
    lists = document(after)["parts"][0]["overrides"]["tolerances"]["items"]
    assert lists["without"] == []
    assert len(lists["own"]) == 2


def test_parts_are_changed_and_removed() -> None:
    terms = full_terms()
    first, second = terms.parts
    renamed = with_part(terms, {"name": "closure"}, first.id)
    assert renamed.parts[0].name == "closure"
    assert renamed.parts[0].overrides == first.overrides
    assert [part.id for part in without_part(terms, first.id).parts] == [second.id]


@pytest.mark.parametrize(
    "act",
    [
        lambda terms: with_part(terms, {"name": "x"}, "prt-nobody"),
        lambda terms: without_part(terms, "prt-nobody"),
        lambda terms: with_values(terms, "scope", {"finish": "x"}, "prt-nobody"),
        lambda terms: with_item(terms, "tolerances", "items", {}, "prt-nobody"),
        lambda terms: without_item(terms, "tolerances", "items", "tol-nobody"),
        lambda terms: without_item(terms, "tolerances", "items", "tol-nobody", terms.parts[0].id),
        lambda terms: with_values(terms, "weather", {}),
        lambda terms: with_item(terms, "tolerances", "items", {"id": "evd-000000"}),
    ],
)
def test_what_is_not_there_is_refused(act: object) -> None:
    with pytest.raises(TermsError):
        act(full_terms())  # type: ignore[operator]
