"""Forms that edit the own draft. Each works out the new terms; the transition stores them.

A page sends a whole form (`whole`); a JSON call may send only the fields that it changes.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from agreements.forms.fields import form_field, label_of, shown, typed
from agreements.models import Draft
from agreements.words import clause_title, clause_titles, items_of, list_titles, part_title, problem
from method.terms.describe import FieldInfo, field_of, fields_of
from method.terms.document import document
from method.terms.edit import (
    with_heading,
    with_item,
    with_part,
    with_values,
    without_item,
    without_override,
    without_part,
)
from method.terms.errors import TermsError
from method.terms.models import CLAUSES, Part, Terms
from method.terms.resolve import resolve
from parties.forms import ActForm

FIRST_LIST = "tolerances.items"


class VersionForm(ActForm):
    """An act on a draft: refused if the draft was changed since the page was opened."""

    version = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def prepare(self) -> None:
        """The version that this page shows."""
        self.draft: Draft = self.obj
        self.terms: Terms = self.draft.document
        self.initial["version"] = self.draft.version
        self.build()

    def build(self) -> None:
        """Fields that depend on the draft."""

    def asked(self, name: str, otherwise: str = "") -> str:
        """A value that decides which fields there are: sent, linked to, or the usual one."""
        source = self.data if self.is_bound else self.initial
        return str(source.get(name) or otherwise)


class PlainDraftForm(VersionForm):
    """An act on the draft that asks nothing."""


class PutForwardForm(VersionForm):
    """Proposing or countering, with a note to the other side."""

    note = forms.CharField(
        label=_("Note to the other side"),
        required=False,
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 4}),
    )


class EditForm(VersionForm):
    """An edit: `edited` gives the new terms, or raises TermsError, which names the fields."""

    whole = forms.BooleanField(required=False, widget=forms.HiddenInput)

    def prepare(self) -> None:
        """A page's form is whole."""
        self.initial["whole"] = True
        super().prepare()

    def derive(self, infos: Iterable[FieldInfo], values: dict[str, Any]) -> None:
        """Add a field for each description, showing the present value."""
        self.infos = {info.name: info for info in infos if info.kind != "items"}
        for name, info in self.infos.items():
            self.fields[name] = form_field(info)
            self.initial[name] = shown(info, values.get(name))

    def typed(self) -> dict[str, Any]:
        """What was typed; of a JSON call, only the fields that it sent."""
        whole = self.cleaned_data.get("whole")
        return {
            name: typed(info, self.cleaned_data.get(name))
            for name, info in self.infos.items()
            if whole or name in self.data
        }

    def clean(self) -> dict[str, Any]:
        """Work the new terms out; a refusal marks the field that is to blame."""
        cleaned = super().clean() or self.cleaned_data
        if self.errors:
            return cleaned
        try:
            self.result = self.edited()
        except TermsError as error:
            for found in error.problems:
                self.add_error(found.field if found.field in self.fields else None, problem(found))
        return cleaned

    def edited(self) -> Terms:
        """The terms after this edit."""
        raise NotImplementedError

    def values(self) -> dict[str, Any]:
        """The new terms and the version they were made from."""
        return {"terms": self.result, "version": self.cleaned_data["version"], "at": self.at()}

    def at(self) -> str:
        """Where the draft's page opens afterwards."""
        return ""


class HeadingForm(EditForm):
    """Title and note of the document."""

    def build(self) -> None:
        """Both text fields."""
        self.derive(fields_of(Terms), document(self.terms))

    def edited(self) -> Terms:
        """The terms with another heading."""
        return with_heading(self.terms, self.typed())


class ClauseForm(EditForm):
    """All values of one shared clause; its lists are edited item by item."""

    clause = forms.ChoiceField(label=_("Clause"), widget=forms.HiddenInput)

    def build(self) -> None:
        """The fields of the clause asked for, the first one otherwise."""
        choice: Any = self.fields["clause"]
        choice.choices = clause_titles()
        self.name = self.asked("clause", CLAUSES[0])
        if self.name not in CLAUSES:
            self.name = CLAUSES[0]  # the field says what is wrong
        self.initial["clause"] = self.name
        self.title = clause_title(self.name)
        self.derive(fields_of(self.name), document(self.terms)["shared"][self.name])

    def edited(self) -> Terms:
        """The terms with these values."""
        return with_values(self.terms, self.name, self.typed())

    def at(self) -> str:
        """The clause."""
        return f"clause-{self.name}"


class PartedForm(EditForm):
    """An edit for all parts, or for one part only."""

    part = forms.ChoiceField(label=_("Holds for"), required=False)

    def build(self) -> None:
        """The parts of this draft."""
        choice: Any = self.fields["part"]
        parts = [(part.id, part_title(part)) for part in self.terms.parts]
        choice.choices = [("", _("all parts (shared)")), *parts]
        self.of_part = self.asked("part")
        if self.of_part not in dict(parts):
            self.of_part = ""

    def place(self, clause: str) -> str:
        """The clause within the part, or the shared clause."""
        return f"part-{self.of_part}" if self.of_part else f"clause-{clause}"


class ItemForm(PartedForm):
    """One item of a list: a new one, or another text for one that stands."""

    list = forms.ChoiceField(label=_("List"), widget=forms.HiddenInput)
    item = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)

    def build(self) -> None:
        """The fields of the list's items."""
        super().build()
        lists: Any = self.fields["list"]
        lists.choices = list_titles()
        place = self.asked("list", FIRST_LIST)
        self.clause, _dot, self.of_list = (
            place if place in dict(lists.choices) else FIRST_LIST
        ).partition(".")
        self.initial["list"] = f"{self.clause}.{self.of_list}"
        info = field_of(self.clause, self.of_list)
        assert info is not None and info.item is not None  # noqa: S101  (list_titles gives only lists)
        self.derive(fields_of(info.item), self._present())

    def _present(self) -> dict[str, Any]:
        """The values of the item that is edited; none for a new one."""
        found = self.asked("item")
        rows = getattr(getattr(resolve(self.terms, self.of_part), self.clause), self.of_list)
        row = next((row for row in rows if row.id == found), None)
        return row.model_dump(mode="json") if row is not None else {}

    def clean_item(self) -> str:
        """An item that is named must stand in the list."""
        found: str = self.cleaned_data["item"]
        if found and not self._present():
            raise forms.ValidationError(_("There is no such entry."), code="item")
        return found

    def edited(self) -> Terms:
        """The terms with this item."""
        values = self.typed()
        if self.cleaned_data["item"]:
            values["id"] = self.cleaned_data["item"]
        return with_item(self.terms, self.clause, self.of_list, values, self.of_part)

    def at(self) -> str:
        """The clause, or the part."""
        return self.place(self.clause)


class RemoveItemForm(PartedForm):
    """Taking one item out: of the shared list, or for one part."""

    item = forms.ChoiceField(label=_("Item"))

    def build(self) -> None:
        """The items that bind the part, or the shared ones."""
        super().build()
        rows = list(items_of(self.terms, self.of_part))
        self.lists = {key: (clause, of_list) for clause, of_list, key, _words in rows}
        choice: Any = self.fields["item"]
        choice.choices = [
            (key, f"{clause_title(clause)}: {words}") for clause, _list, key, words in rows
        ]

    def edited(self) -> Terms:
        """The terms without it."""
        found = self.cleaned_data["item"]
        return without_item(self.terms, *self.lists[found], found, self.of_part)

    def at(self) -> str:
        """The clause, or the part."""
        return self.place(self.lists[self.cleaned_data["item"]][0])


class PartForm(EditForm):
    """A part's number, name and colour; a new part without an id."""

    part = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)

    def build(self) -> None:
        """The values of the part that is edited."""
        found = self.asked("part")
        part = next((part for part in self.terms.parts if part.id == found), None)
        self.derive(fields_of(Part), part.model_dump(mode="json") if part else {})

    def edited(self) -> Terms:
        """The terms with this part."""
        return with_part(self.terms, self.typed(), self.cleaned_data["part"])

    def at(self) -> str:
        """The list of parts."""
        return "parts"


class RemovePartForm(EditForm):
    """Taking a part out, with all its own values."""

    part = forms.ChoiceField(label=_("Part"))

    def build(self) -> None:
        """The parts of this draft."""
        choice: Any = self.fields["part"]
        choice.choices = [(part.id, part_title(part)) for part in self.terms.parts]

    def edited(self) -> Terms:
        """The terms without it."""
        return without_part(self.terms, self.cleaned_data["part"])

    def at(self) -> str:
        """The list of parts."""
        return "parts"


class OwnValueForm(PartedForm):
    """One part's own value of one field, in place of the shared one."""

    field = forms.ChoiceField(label=_("Field"))

    def build(self) -> None:
        """Which field, and with it the field itself."""
        super().build()
        self.fields["part"].required = True
        choice: Any = self.fields["part"]
        choice.choices = choice.choices[1:]
        fields: Any = self.fields["field"]
        fields.choices = value_fields()
        names = [key for _title, group in value_fields() for key, _label in group]
        place = self.asked("field")
        self.clause, _dot, self.name = (place if place in names else names[0]).partition(".")
        info = field_of(self.clause, self.name)
        if place in names and info is not None:
            fields.widget = forms.HiddenInput()
            part = resolve(self.terms, self.of_part)
            present = getattr(part, self.clause).model_dump(mode="json")
            self.derive([info], present)
        else:
            self.infos = {}

    def edited(self) -> Terms:
        """The terms with the part's own value; equal to the shared one, it is no own value."""
        if not self.typed():
            self.add_error(None, _("Choose the field first; then its value is asked for."))
            return self.terms
        return with_values(self.terms, self.clause, self.typed(), self.of_part)

    def at(self) -> str:
        """The part."""
        return f"part-{self.of_part}"


class SharedValueForm(EditForm):
    """Giving up a part's own value: the shared one binds it again."""

    own = forms.ChoiceField(label=_("Own value"))

    def build(self) -> None:
        """The own values that there are."""
        choice: Any = self.fields["own"]
        choice.choices = own_values(self.terms)

    def edited(self) -> Terms:
        """The terms without it."""
        part, clause, name = self.cleaned_data["own"].split("/")
        return without_override(self.terms, clause, name, part)

    def at(self) -> str:
        """The part."""
        return "part-" + self.cleaned_data["own"].split("/")[0]


def value_fields() -> list[tuple[str, list[tuple[str, str]]]]:
    """All fields that are values, grouped by clause: key "clause.field" and words."""
    return [
        (
            clause_title(clause),
            [
                (f"{clause}.{info.name}", label_of(info))
                for info in fields_of(clause)
                if info.kind != "items"
            ],
        )
        for clause in CLAUSES
    ]


def own_values(terms: Terms) -> list[tuple[str, str]]:
    """Every own value of every part: key "part/clause/field" and words."""
    found = []
    for part in terms.parts:
        for clause, values in part.overrides.items():
            for name in values:
                info = field_of(clause, name)
                label = label_of(info) if info else name
                words = f"{part_title(part)}: {clause_title(clause)}, {label}"
                found.append((f"{part.id}/{clause}/{name}", words))
    return found
