"""Form bases: text is cleaned at the edge; an act that signs asks for the password again."""

from __future__ import annotations

import unicodedata
from typing import Any

from django import forms
from django.contrib.auth import authenticate
from django.utils.translation import gettext_lazy as _

from parties.booth_devices import refuse_at_booth
from parties.refusal import Refusal


def clean_text(value: str) -> str:
    """NFC text without NUL, other control characters or lone surrogates.

    SQLite stores what PostgreSQL refuses, and a signed document must not differ by composition.
    """
    for character in value:
        if unicodedata.category(character) in {"Cc", "Cs"} and character not in "\n\t\r":
            raise forms.ValidationError(
                _("The text has a character that cannot be stored (U+%(code)s). Remove it."),
                code="character",
                params={"code": f"{ord(character):04X}"},
            )
    return unicodedata.normalize("NFC", value.replace("\r\n", "\n").replace("\r", "\n"))


class CleanForm(forms.Form):
    """Every form of ours: all text is checked before anything looks at it, and normalised after."""

    required_css_class = "required"
    template_name_div = "components/form.html"

    def _clean_fields(self) -> None:
        """As Django does it, but bad characters stop a field before its own checks run: these may
        ask the database or hash the value, and a choice field would repeat it in its message."""
        for name, bound in self._bound_items():  # type: ignore[attr-defined]
            try:
                check_raw(bound.data)
                value = bound.field._clean_bound_field(bound)
                if isinstance(value, str) and not isinstance(
                    bound.field.widget, forms.PasswordInput
                ):
                    value = clean_text(value)
                self.cleaned_data[name] = value
                own = getattr(self, f"clean_{name}", None)
                if own is not None:
                    self.cleaned_data[name] = own()
            except forms.ValidationError as problem:
                self.add_error(name, problem)


def check_raw(data: Any) -> None:
    """Refuse characters that cannot be stored in what was sent for one field."""
    for value in data if isinstance(data, (list, tuple)) else [data]:
        if isinstance(value, str):
            clean_text(value)


class ActForm(CleanForm):
    """The form of one act. `prepare` receives the object and the capacity it is filled in.

    An act in which the browser must do something has a form in two steps (`parties.forms.steps`):
    after the first one `needs_browser` is true, and `trouble` says what is wrong with the second.
    """

    needs_browser = False
    trouble: Refusal | None = None

    def __init__(
        self,
        *args: Any,
        obj: Any = None,
        by: Any = None,
        request: Any = None,
        act: Any = None,
        **kwargs: Any,
    ):
        super().__init__(*args, **kwargs)
        self.obj, self.by, self.request, self.act = obj, by, request, act
        self.prepare()

    def prepare(self) -> None:
        """Fill in choices that depend on the object."""

    def values(self) -> dict[str, Any]:
        """What is handed to the transition."""
        return dict(self.cleaned_data)


def is_password_of(person: Any, typed: str, request: Any) -> bool:
    """Whether this is the person's password, throttled exactly as a login is."""
    # The JSON call wraps Django's request; the throttle leaves its answer on the inner one.
    inner = getattr(request, "_request", request)
    found = authenticate(inner, username=person.email, password=typed)
    return found is not None and found.pk == person.pk


class PasswordForm(ActForm):
    """An act for which the password is asked again. Not to be filled in at a viewing booth."""

    password = forms.CharField(
        label=_("Your password"),
        help_text=_("Asked again because this act signs in your name."),
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        strip=False,
    )

    def __init__(self, *args: Any, request: Any = None, **kwargs: Any):
        refuse_at_booth(request)
        super().__init__(*args, request=request, **kwargs)

    def clean_password(self) -> str:
        """The password of the person who signs, throttled exactly as a login is."""
        if not self.asks_password():
            return ""
        if not is_password_of(self.by.person, self.cleaned_data["password"], self.request):
            raise forms.ValidationError(
                _("This is not your password. Nothing was signed; try again."), code="password"
            )
        return ""

    def asks_password(self) -> bool:
        """Whether it is needed for what was chosen."""
        return True

    def values(self) -> dict[str, Any]:
        """The password stays here."""
        return {name: value for name, value in self.cleaned_data.items() if name != "password"}
