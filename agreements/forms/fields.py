"""A form field for each field of the terms, derived from its description in `method.terms`.

The fields only show and carry what is typed; `method.terms` reads it, so that page, JSON call and
any other caller refuse the same things in the same words.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy

from agreements.words import word
from method.terms.describe import FieldInfo

LINE = 200  # longer texts get several lines


class DayInput(forms.DateInput):
    """A day, written YYYY-MM-DD whatever the page's language."""

    input_type = "date"

    def __init__(self) -> None:
        super().__init__(format="%Y-%m-%d")


class Listed(forms.MultipleChoiceField):
    """Several choices; which of them exist is checked by the terms themselves."""

    widget = forms.CheckboxSelectMultiple

    def valid_value(self, value: Any) -> bool:
        """Left to `method.terms`."""
        return True


class Chosen(forms.ChoiceField):
    """One choice; whether it exists is checked by the terms themselves."""

    def valid_value(self, value: Any) -> bool:
        """Left to `method.terms`."""
        return True


def form_field(info: FieldInfo) -> forms.Field:
    """The form field; never required, because silence is the draft check's matter."""
    made = MAKERS[info.kind](info)
    made.required = False
    made.label = word(info.label)
    made.help_text = word(info.help)
    # What components/field.html says beside label and help, each for itself.
    made.glossary = info.about.glossary  # type: ignore[attr-defined]
    made.unit = word(info.unit)  # type: ignore[attr-defined]
    made.suggested = suggested(info)  # type: ignore[attr-defined]
    made.source = word(info.source)  # type: ignore[attr-defined]
    return made


def label_of(info: FieldInfo) -> str:
    """The label with its unit, for a list of fields."""
    label = word(info.label)
    return f"{label} ({word(info.unit)})" if info.unit else label


def suggested(info: FieldInfo) -> str:
    """What is suggested, in words; where it comes from stands beside it."""
    values = (info.suggest,) if isinstance(info.suggest, str) else info.suggest
    words = dict(info.choices)
    return ", ".join(word(words.get(value, value)) for value in values if value)


def _text(info: FieldInfo) -> forms.Field:
    long = not info.longest or info.longest > LINE
    widget = forms.Textarea(attrs={"rows": 3}) if long else forms.TextInput()
    return forms.CharField(widget=widget)


def _number(info: FieldInfo) -> forms.Field:
    mode = "numeric" if info.kind == "integer" else "decimal"
    return forms.CharField(widget=forms.TextInput(attrs={"inputmode": mode, "size": 12}))


def _choice(info: FieldInfo) -> forms.Field:
    unsaid = ("", gettext_lazy("not said"))
    return Chosen(choices=[unsaid, *((key, word(text)) for key, text in info.choices)])


def _choices(info: FieldInfo) -> forms.Field:
    return Listed(choices=[(key, word(text)) for key, text in info.choices])


def _days(info: FieldInfo) -> forms.Field:
    return forms.CharField(widget=forms.Textarea(attrs={"rows": 4}))


MAKERS: dict[str, Callable[[FieldInfo], forms.Field]] = {
    "text": _text,
    "integer": _number,
    "decimal": _number,
    "yes_no": lambda info: forms.BooleanField(),
    "choice": _choice,
    "choices": _choices,
    "day": lambda info: forms.CharField(widget=DayInput()),
    "days": _days,
}


def shown(info: FieldInfo, value: Any) -> Any:
    """A value of the terms' JSON as the form field shows it."""
    if info.kind == "days":
        return "\n".join(value or [])
    return "" if value is None else value


def typed(info: FieldInfo, value: Any) -> Any:
    """A cleaned form value as `method.terms` reads what is typed."""
    if info.kind in ("yes_no", "choices"):
        return value
    return "" if value is None else str(value)
