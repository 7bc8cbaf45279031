"""Forms about personal data: a name for the record, and erasure with a second look."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from parties.forms.base import ActForm
from parties.personal import Traces, traces_of
from parties.refusal import Refusal
from parties.transitions.personal import nameable


class NameForm(ActForm):
    """Whose name; and that they know."""

    code = forms.ChoiceField(label=_("Person"))
    told = forms.BooleanField(
        label=_("This person knows that the name enters the record, and who reads it there")
    )

    def prepare(self) -> None:
        found = nameable(self.by)
        if not found:
            raise Refusal(
                "personal.nobody_to_name",
                _(
                    "There is nobody to name: the names of your people here stand in the record or"
                    " in their certificates, or were erased."
                ),
            )
        self.fields["code"].choices = [(code, f"{name} ({code})") for code, name in found.items()]

    def values(self) -> dict[str, Any]:
        """The code alone."""
        return {"code": self.cleaned_data["code"]}


class EraseForm(ActForm):
    """Whom; done only after the page has shown what goes and what stays for just this person.

    `looked` is no field to fill in: the page sends with it whose list it showed.
    """

    key = forms.ChoiceField(label=_("Person"))
    confirmed = forms.BooleanField(
        label=_("I have read what goes and what stays. It cannot be undone."), required=False
    )

    look: Traces | None = None

    def prepare(self) -> None:
        found = {
            one.key: one for one in traces_of(self.by.organisation) if one.erased_at is None
        }  # fmt: skip
        if not found:
            raise Refusal(
                "personal.nobody",
                _("There is nobody whose data could be erased: nobody has left your firm."),
            )
        people = [(key, f"{one.name} {one.code_words}".strip()) for key, one in found.items()]
        self.fields["key"].choices = [("", _("choose")), *people]
        asked = self.data.get("key") if self.is_bound else self.initial.get("key")
        self.look = found.get(asked or "")
        if self.look is None:
            del self.fields["confirmed"]  # the second look comes first

    def clean(self) -> dict[str, Any]:
        """The list that was shown is this person's, and was read."""
        cleaned = super().clean() or self.cleaned_data
        key = cleaned.get("key")
        if key and self.data.get("looked") != key:
            self.add_error(
                None, _("Read below what goes and what stays for this person, then confirm it.")
            )
        elif key and not cleaned.get("confirmed"):
            self.add_error("confirmed", _("Confirm that you have read it. Nothing was erased."))
        return cleaned

    def values(self) -> dict[str, Any]:
        """The person alone."""
        return {"key": self.cleaned_data["key"]}
