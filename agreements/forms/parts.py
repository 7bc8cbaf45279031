"""Forms of parts: their headings, their own values, and giving these up."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from agreements.forms.edits import EditForm, PartedForm
from agreements.forms.fields import label_of
from agreements.words import clause_title, part_title
from method.terms.describe import field_of, fields_of
from method.terms.edit import with_part, with_values, without_override, without_part
from method.terms.models import CLAUSES, Part, Terms
from method.terms.resolve import resolve


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
    """One part's own value of one field, in place of the shared one.

    Without a script this takes two steps: the field is chosen, then its value is asked for.
    `asked_for` tells for which field the page showed an input, so that choosing another field
    never saves an empty value.
    """

    field = forms.ChoiceField(label=_("Field"))
    asked_for = forms.CharField(required=False, widget=forms.HiddenInput)

    def build(self) -> None:
        """Which field, and with it the field itself."""
        super().build()
        self.fields["part"].required = True
        parts: Any = self.fields["part"]
        parts.choices = parts.choices[1:]
        fields: Any = self.fields["field"]
        fields.choices = value_fields()
        names = [key for _title, group in value_fields() for key, _label in group]
        place = self.asked("field")
        self.infos = {}
        if place not in names:
            return
        self.clause, _dot, self.name = place.partition(".")
        info = field_of(self.clause, self.name)
        assert info is not None  # noqa: S101  (value_fields gives only fields that exist)
        present = getattr(resolve(self.terms, self.of_part), self.clause)
        self.derive([info], present.model_dump(mode="json"))
        self.initial["asked_for"] = place
        self.first_step = self.is_bound and self._not_yet_asked(place)

    def _not_yet_asked(self, place: str) -> bool:
        """Whether the page had no input for this field; then it is shown with its present value."""
        if not self.data.get("whole") or self.data.get("asked_for") == place:
            return False
        shown_now = {"asked_for": place, self.name: self.initial[self.name]}
        self.data = {**dict(self.data.items()), **shown_now}
        return True

    def edited(self) -> Terms:
        """The terms with the part's own value; equal to the shared one, it is no own value."""
        if self.first_step or not self.typed():
            self.add_error(None, _("Now enter the part's value of this field and save it."))
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
