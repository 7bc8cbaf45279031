"""Words of the terms: every field described, every field said, every template complete."""

from __future__ import annotations

import re
import typing
from decimal import Decimal
from typing import Any, get_args, get_origin

import pytest
from hypothesis import given, settings

from method.terms import (
    CLAUSE_TYPES,
    CLAUSES,
    FINDINGS,
    PROBLEMS,
    Sentence,
    Terms,
    Word,
    clause_title,
    field_of,
    fields_of,
    from_document,
    render,
    sentences,
)
from method.terms.describe import unwrapped
from method.terms.models import Part
from method.terms.resolve import resolve
from method.terms.sentences import resolved_sentences
from method.terms.starter import suggested
from tests.method.terms_cases import documents, every_list, full_document, full_terms

MODELS: list[Any] = [*CLAUSE_TYPES.values()] + [
    field_of(clause, name).item  # type: ignore[union-attr]
    for clause, name in every_list()
]


@pytest.mark.parametrize("model", MODELS)
def test_every_field_but_the_id_is_described(model: Any) -> None:
    assert [field.name for field in fields_of(model)] == [
        name for name in model.model_fields if name != "id"
    ]
    assert all(field.label for field in fields_of(model))


@pytest.mark.parametrize("model", MODELS)
def test_choices_are_those_of_the_type(model: Any) -> None:
    hints = typing.get_type_hints(model, include_extras=True)
    for field in fields_of(model):
        base, _ = unwrapped(hints[field.name])
        if field.kind == "choices":
            base = get_args(base)[0]
        allowed = get_args(base) if get_origin(base) is typing.Literal else ()
        assert {value for value, _ in field.choices} == set(allowed)
        assert bool(field.choices) == (field.kind in ("choice", "choices"))
        assert all(words for _, words in field.choices)


@pytest.mark.parametrize("model", MODELS)
def test_proposals_can_be_read_and_say_where_they_come_from(model: Any) -> None:
    name = next((clause for clause, kind in CLAUSE_TYPES.items() if kind is model), model)
    values = suggested(name)
    assert set(values) == {field.name for field in fields_of(model) if field.suggest}
    for field in fields_of(model):
        if field.suggest and field.kind in ("decimal", "integer") and field.unit:
            assert field.source or model not in CLAUSE_TYPES.values(), field.name


def test_kinds_and_bounds_of_some_fields() -> None:
    def seen(clause: str, name: str) -> tuple[Any, ...]:
        field = field_of(clause, name)
        assert field is not None
        return field.kind, field.unit, field.lowest, field.highest

    assert seen("observers", "panel_size") == ("integer", "observers", "1", "50")
    assert seen("decision", "uncertainty_value") == ("decimal", "CIEDE2000 units", "0", "")
    assert seen("disputes", "holidays") == ("days", "", "", "")
    assert seen("changes", "starts_on") == ("day", "", "", "")
    assert seen("viewing", "secondary") == ("choices", "", "", "")
    assert seen("tolerances", "items") == ("items", "", "", "")
    assert [field.name for field in fields_of(Part)] == ["number", "name", "colour"]
    assert [field.name for field in fields_of(Terms)] == ["title", "note"]
    assert field_of(Part, "name").longest == 200  # type: ignore[union-attr]
    assert field_of("scope", "weather") is None


@pytest.mark.parametrize("clause", CLAUSES)
def test_every_plain_field_has_its_sentence(clause: str) -> None:
    for field in fields_of(clause):
        about = field.about
        if field.kind == "yes_no":
            assert about.says
            assert about.says_not
            assert about.says != about.says_not
        elif field.kind != "items":
            assert "%(value)s" in about.says, field.name
            assert not about.unit or "units" in about.unit or about.unit in about.says, field.name


@pytest.mark.parametrize(("clause", "name"), every_list())
def test_every_field_of_an_item_is_in_its_sentence(clause: str, name: str) -> None:
    item = field_of(clause, name).item  # type: ignore[union-attr]
    assert item is not None
    named = set(re.findall(r"%\((\w+)\)s", item.SAYS))
    assert named == {field.name for field in fields_of(item)}


def test_every_field_and_item_is_said_once() -> None:
    terms = full_terms()
    raw = full_document()["shared"]
    for clause, said in sentences(terms):
        if clause == "parts":
            continue
        expected = []
        for field in fields_of(clause):
            place = f"{clause}.{field.name}"
            rows = raw[clause][field.name]
            expected += [f"{place}.{row['id']}" for row in rows] if field.item else [place]
        assert [sentence.id for sentence in said] == expected
        assert all(sentence.said for sentence in said)


def test_values_stand_in_the_sentences() -> None:
    text = "\n".join(render(one) for _, said in sentences(full_terms()) for one in said)
    tolerance = full_document()["shared"]["tolerances"]["items"][0]
    assert "CIEDE2000 (1.50:1.50:1.50) at most 1.50" in text
    assert tolerance["limit"] == "1.50"
    assert "A panel of 2 qualified observers judges each specimen." in text
    assert "Secondary illuminants: D65 (daylight), D50 (daylight, warmer), A (" in text
    assert "Part K-100, cap, colour grey 7." in text
    assert "Finish: matt" in text
    assert "This does not bind this part: Compared with" in text
    assert "The shared clauses bind this part unchanged." in text


def test_silence_is_said() -> None:
    said = [one for _, rows in sentences(Terms()) for one in rows]
    yes_no = {f"{clause}.{f.name}" for clause in CLAUSES for f in fields_of(clause)
              if f.kind == "yes_no"}  # fmt: skip
    assert {one.id for one in said if one.said} == yes_no
    assert "Panel size: not said." in [render(one) for one in said]
    assert "Tolerances: none." in [render(one) for one in said]


@settings(max_examples=25, deadline=None)
@given(documents())
def test_every_sentence_renders(raw: dict[str, Any]) -> None:
    terms = from_document(raw)
    for _, said in [*sentences(terms), *resolved_sentences(resolve(terms))]:
        for one in said:
            assert "%(" not in render(one).replace("%(", "", text_count(one))


def text_count(sentence: Sentence) -> int:
    """How often typed text itself holds the two characters."""
    return sum(str(value).count("%(") for value in sentence.params.values())


def test_rendering_translates_words_but_never_typed_text() -> None:
    asked: list[str] = []

    def gettext(message: str) -> str:
        asked.append(message)
        return message.upper().replace("%(VALUE)S", "%(value)s")

    assert render(Sentence("x", "Finish: %(value)s", {"value": "matt 50%"}), gettext) == (
        "FINISH: matt 50%"
    )
    assert render(Sentence("x", "%(value)s", {"value": (Word("a"), Word("b"))}), gettext) == "A, B"
    assert set(asked) == {"Finish: %(value)s", "%(value)s", ", ", "a", "b"}


def test_titles_problems_and_findings_have_words() -> None:
    assert len({clause_title(clause) for clause in CLAUSES}) == 10
    assert all(PROBLEMS.values())
    for words in FINDINGS.values():
        assert words.text
        assert words.mend
        assert words.source


def test_decimals_are_shown_as_written() -> None:
    raw = full_document()
    raw["shared"]["decision"]["uncertainty_value"] = "0.10"
    terms = from_document(raw)
    assert terms.shared.decision.uncertainty_value == Decimal("0.1")
    said = dict(sentences(terms))["decision"]
    assert any("0.10 CIEDE2000" in render(one) for one in said)
