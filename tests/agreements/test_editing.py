"""Editing the own draft through its forms: clauses, items, parts, own values, and bad input."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from agreements.models import Draft
from method.terms.describe import CLAUSE_TYPES, fields_of
from method.terms.models import CLAUSES
from method.terms.resolve import resolve
from tests.agreements.conftest import Table


class Editor:
    """A signed-in person with the draft of their side."""

    def __init__(self, client: Client, draft: Draft):
        self.client, self.draft = client, draft

    def address(self, act: str, api: bool = False) -> str:
        kwargs = {"dossier": self.draft.dossier_id, "pk": self.draft.pk}
        name = f"agreements-api:draft-{act}-api" if api else f"agreements:draft-{act}"
        return reverse(name, kwargs=kwargs)

    def form(self, act: str, **asked: str) -> Any:
        """The form of the page that a link opens."""
        response = self.client.get(self.address(act), asked)
        assert response.status_code == 200
        return response.context["form"]

    def post(self, act: str, **values: Any) -> Any:
        return self.client.post(self.address(act), {"whole": "on", **values})

    def call(self, act: str, **values: Any) -> Any:
        body = json.dumps(values)
        return self.client.post(self.address(act, api=True), body, content_type="application/json")

    @property
    def terms(self):
        self.draft = Draft.objects.get(pk=self.draft.pk)
        return self.draft.document

    @property
    def bytes(self) -> bytes:
        return bytes(Draft.objects.get(pk=self.draft.pk).terms)


@pytest.fixture
def editor(table: Table, cast, sign_in) -> Editor:
    """The customer's colleague at a complete draft."""
    return Editor(sign_in(cast.customer_colleague), table.draft())


@pytest.mark.parametrize("clause", CLAUSES)
def test_every_field_of_a_clause_has_a_form_field_with_its_words(editor, clause):
    form = editor.form("clause", clause=clause)
    for info in fields_of(clause):
        if info.kind != "items":
            bound = form[info.name]
            assert (bound.label, bound.help_text) == (info.label, info.help)
            assert (bound.field.unit, bound.field.source) == (info.unit, info.source)
            assert bool(bound.field.suggested) is bool(info.suggest)


def sent_back(form: Any) -> dict[str, Any]:
    """What a browser sends when nothing is changed."""
    values = {}
    for bound in form:
        value = bound.value()
        if value is not False and value is not None and value != "":
            values[bound.html_name] = list(value) if isinstance(value, tuple) else value
    return values


@pytest.mark.parametrize("clause", CLAUSES)
def test_saving_a_clause_unchanged_changes_no_byte(editor, clause):
    before = editor.bytes
    answer = editor.post("clause", **sent_back(editor.form("clause", clause=clause)))
    assert answer.status_code == 302
    assert editor.bytes == before


def test_a_clause_is_saved_and_emptied(editor):
    editor.post("clause", clause="viewing", primary="D65", secondary=["A", "F11"], distance_mm="5")
    viewing = editor.terms.shared.viewing
    assert (viewing.primary, viewing.secondary, viewing.distance_mm) == ("D65", ("A", "F11"), 5)
    editor.post("clause", clause="viewing", primary="A")
    viewing = editor.terms.shared.viewing
    assert (viewing.primary, viewing.secondary, viewing.distance_mm) == ("A", (), None)


def test_a_call_changes_only_the_fields_that_it_sends(editor):
    before = editor.terms.shared.viewing
    answer = editor.call("clause", clause="viewing", distance_mm="640")
    assert answer.status_code == 200
    after = editor.terms.shared.viewing
    assert after.distance_mm == 640
    assert after.model_copy(update={"distance_mm": before.distance_mm}) == before


@pytest.mark.parametrize(
    ("clause", "field", "value"),
    [
        ("viewing", "distance_mm", "half a metre"),
        ("viewing", "interior_l_min", "45,5"),
        ("viewing", "primary", "moonlight"),
        ("viewing", "secondary", ["A", "moonlight"]),
        ("changes", "starts_on", "31.12.2026"),
        ("scope", "material", "bad\0resin"),
        ("scope", "material", "x" * 5000),
        ("decision", "panel_number", "0"),
        ("scope", "thickness_mm", "-1"),
    ],
)
def test_bad_input_is_refused_at_its_field_and_nothing_is_lost(editor, clause, field, value):
    before = editor.bytes
    answer = editor.post("clause", clause=clause, **{field: value})
    assert answer.status_code == 422
    form = answer.context["form"]
    assert list(form.errors) == [field]
    assert form[field].value() == value  # what was typed is still there
    assert editor.bytes == before
    call = editor.call("clause", clause=clause, **{field: value})
    assert (call.status_code, list(call.json()["fields"])) == (422, [field])
    assert editor.bytes == before


def test_an_unknown_clause_is_refused_by_name(editor):
    answer = editor.post("clause", clause="prices", primary="D65")
    assert answer.status_code == 422
    assert "clause" in answer.context["form"].errors


def test_a_surrogate_in_a_call_is_refused(editor):
    answer = editor.client.post(
        editor.address("clause", api=True),
        b'{"clause": "scope", "material": "bad\\ud800"}',
        content_type="application/json",
    )
    assert (answer.status_code, list(answer.json()["fields"])) == (422, ["material"])


def test_an_item_is_added_changed_and_removed(editor):
    place = "scope.mating_parts"
    editor.post("item", list=place, name="Lid", maker="Lid Works", note="")
    row = editor.terms.shared.scope.mating_parts[0]
    assert (row.name, row.maker) == ("Lid", "Lid Works")
    form = editor.form("item", list=place, item=row.id)
    assert form["name"].value() == "Lid"
    editor.post("item", list=place, item=row.id, name="Cover", maker="Lid Works")
    changed = editor.terms.shared.scope.mating_parts
    assert [(one.id, one.name) for one in changed] == [(row.id, "Cover")]
    editor.post("remove-item", item=row.id)
    assert editor.terms.shared.scope.mating_parts == ()


def test_an_item_that_does_not_exist_is_refused(editor):
    answer = editor.post("item", list="scope.mating_parts", item="mat-zzzzzz", name="Lid")
    assert "item" in answer.context["form"].errors
    answer = editor.post("remove-item", item="mat-zzzzzz")
    assert "item" in answer.context["form"].errors
    answer = editor.post("item", list="scope.prices", name="Lid")
    assert "list" in answer.context["form"].errors


def test_bad_input_in_an_item_names_the_field(editor):
    answer = editor.post("item", list="tolerances.items", limit="-0.5", decimals="9")
    assert set(answer.context["form"].errors) == {"limit", "decimals"}


def test_parts_are_added_changed_and_removed(editor):
    editor.post("part", number="H-2", name="Lid", colour="Black")
    part = editor.terms.parts[1]
    assert (part.number, part.colour) == ("H-2", "Black")
    editor.post("part", part=part.id, number="H-2", name="Lid", colour="White")
    assert editor.terms.parts[1].colour == "White"
    answer = editor.post("part", part="prt-zzzzzz", number="H-9")
    assert answer.status_code == 422
    editor.post("remove-part", part=part.id)
    assert len(editor.terms.parts) == 1


def test_a_part_gets_its_own_value_and_gives_it_up(editor):
    part = editor.terms.parts[0].id
    form = editor.form("own-value", part=part, field="viewing.distance_mm")
    assert "distance_mm" in form.fields
    place = "viewing.distance_mm"
    assert form["asked_for"].value() == place
    sent = {"part": part, "field": place, "asked_for": place, "distance_mm": "300"}
    answer = editor.post("own-value", **sent)
    assert answer["Location"].endswith(f"#part-{part}")
    assert resolve(editor.terms, part).viewing.distance_mm == 300
    assert editor.terms.shared.viewing.distance_mm != 300
    page = editor.client.get(editor.draft.get_absolute_url()).content.decode()
    assert "300 millimetres" in page
    editor.post("shared-value", own=f"{part}/viewing/distance_mm")
    assert editor.terms.parts[0].overrides == {}


def test_the_field_of_an_own_value_is_chosen_first_and_nothing_is_saved_by_that(editor):
    part = editor.terms.parts[0].id
    before = editor.bytes
    assert editor.form("own-value").infos == {}
    answer = editor.post("own-value", part=part, field="viewing.distance_mm")
    assert answer.status_code == 422
    form = answer.context["form"]
    assert form["distance_mm"].value() == editor.terms.shared.viewing.distance_mm
    # Another field is chosen on a page that shows the first one's input.
    other = {"field": "viewing.frame", "asked_for": "viewing.distance_mm", "distance_mm": "300"}
    answer = editor.post("own-value", part=part, **other)
    assert answer.context["form"]["frame"].value() == editor.terms.shared.viewing.frame
    answer = editor.post("own-value", part=part, field="viewing.prices")
    assert "field" in answer.context["form"].errors
    assert editor.bytes == before


def test_a_call_sets_an_own_value_at_once(editor):
    part = editor.terms.parts[0].id
    answer = editor.call("own-value", part=part, field="viewing.frame", frame="none")
    assert answer.status_code == 200
    assert resolve(editor.terms, part).viewing.frame == "none"
    answer = editor.call("own-value", part=part, field="viewing.frame")
    assert answer.status_code == 422


def test_a_part_does_without_a_shared_item_and_takes_it_back(editor):
    part = editor.terms.parts[0].id
    item = editor.terms.shared.changes.signatories[0].id
    editor.post("remove-item", part=part, item=item)
    assert item not in [row.id for row in resolve(editor.terms, part).changes.signatories]
    assert item in [row.id for row in editor.terms.shared.changes.signatories]
    page = editor.client.get(editor.draft.get_absolute_url()).content.decode()
    assert "does not bind this part" in page
    values = {"side": "customer", "role": "quality_lead", "label": "customer quality_lead"}
    editor.post("item", part=part, list="changes.signatories", item=item, **values)
    assert item in [row.id for row in resolve(editor.terms, part).changes.signatories]


def test_the_heading_is_edited(editor):
    editor.post("heading", title="Grey housings", note="Second season")
    assert (editor.terms.title, editor.terms.note) == ("Grey housings", "Second season")


def test_an_edit_of_an_older_page_is_refused_and_keeps_what_was_typed(editor):
    version = editor.form("heading").initial["version"]
    editor.post("heading", title="One", version=version)
    answer = editor.post("heading", title="Two", version=version)
    assert answer.status_code == 422
    assert answer.context["form"].refused == "draft.changed"
    assert answer.context["form"]["title"].value() == "Two"
    assert editor.terms.title == "One"


def test_the_draft_check_is_shown_with_its_mend(editor):
    editor.post("remove-part", part=editor.terms.parts[0].id)
    address = reverse(
        "agreements:draft-check",
        kwargs={"dossier": editor.draft.dossier_id, "pk": editor.draft.pk},
    )
    page = editor.client.get(address).content.decode()
    assert "The terms name no part." in page and "blocker" in page
    assert "Add at least one part" in page


@pytest.mark.parametrize("act", ["remove-part", "shared-value", "remove-item", "item", "part"])
def test_forms_open_without_being_linked_to(editor, act):
    assert editor.form(act) is not None


def test_names_of_items_do_not_collide_with_the_forms_own_fields():
    own = {"version", "whole", "clause", "part", "list", "item", "field", "own"}
    for kind in CLAUSE_TYPES.values():
        for info in fields_of(kind):
            assert info.name not in own
            for inner in fields_of(info.item) if info.item else ():
                assert inner.name not in own, f"{info.name}.{inner.name}"
