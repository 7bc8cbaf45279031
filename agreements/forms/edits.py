"""Bases of the forms that change the own draft: each works out new terms, `rewrite` stores them.

A page sends a whole form (`whole`); a JSON call may send only the fields that it changes.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from agreements.forms.fields import form_field, shown, typed
from agreements.models import Draft
from agreements.words import part_title, problem
from method.terms.describe import FieldInfo
from method.terms.errors import TermsError
from method.terms.models import Terms
from parties.forms import ActForm


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
