"""Forms of the shared text: heading, clauses, and items of lists (also a part's own items)."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from agreements.forms.edits import EditForm, PartedForm
from agreements.words import clause_title, clause_titles, item_name, items_of, list_titles
from method.terms.describe import field_of, fields_of
from method.terms.document import document
from method.terms.edit import with_heading, with_item, with_values, without_item
from method.terms.models import CLAUSES, Terms
from method.terms.resolve import resolve

FIRST_LIST = "tolerances.items"


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
        self.name_of_item = f"{clause_title(self.clause)}: {item_name(self.clause, self.of_list)}"
        info = field_of(self.clause, self.of_list)
        assert info is not None and info.item is not None  # noqa: S101  (list_titles gives only lists)
        self.derive(fields_of(info.item), self._present())

    def _present(self) -> dict[str, Any]:
        """The values of the item that is edited; none for a new one."""
        found = self.asked("item")
        rows = [
            row
            for part in (self.of_part, "")  # also a shared item that the part does without
            for row in getattr(getattr(resolve(self.terms, part), self.clause), self.of_list)
        ]
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
