"""Text at the edge: what cannot be stored is refused by name, the rest is brought to one form."""

from __future__ import annotations

import pytest
from django import forms

from parties.acts import form_data
from parties.codes import ALPHABET, CodesExhausted, code_for
from parties.forms import CleanForm
from parties.models import Code


class Sample(CleanForm):
    """A field of each sort."""

    text = forms.CharField()
    choice = forms.ChoiceField(choices=[("a", "a")], required=False)
    several = forms.MultipleChoiceField(choices=[("a", "a")], required=False)
    secret = forms.CharField(required=False, strip=False, widget=forms.PasswordInput)

    def clean_text(self):
        """Never reached with text that cannot be stored."""
        return self.cleaned_data["text"].encode().decode()


@pytest.mark.parametrize("bad", ["\0", "\x07", "\x7f", "\ud800", "\udfff", "\x85"])
@pytest.mark.parametrize("field", ["text", "choice", "several", "secret"])
def test_characters_that_cannot_be_stored(bad, field):
    """Named by code point, at the field, without repeating the value."""
    form = Sample(form_data({"text": "fine", field: f"a{bad}"}))
    assert list(form.errors) == [field]
    assert f"U+{ord(bad):04X}" in str(form.errors[field].as_text()) or bad == "\0"
    assert bad not in form.errors.as_json()
    form.errors.as_json().encode()


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("Cafe\u0301", "Caf\u00e9"),
        ("a\r\nb\rc", "a\nb\nc"),
        ("\u767d\u8272 \U0001f600", "\u767d\u8272 \U0001f600"),
        ("tab\there", "tab\there"),
    ],
)
def test_text_is_kept_in_one_form(typed, kept):
    """NFC, one sort of line ending; every script and plane."""
    form = Sample(form_data({"text": typed}))
    assert form.is_valid()
    assert form.cleaned_data["text"] == kept


def test_a_password_is_kept_as_typed():
    """Signing in does not normalise it either."""
    form = Sample(form_data({"text": "x", "secret": " Cafe\u0301 "}))
    assert form.is_valid()
    assert form.cleaned_data["secret"] == " Cafe\u0301 "


def test_codes_are_one_per_key_and_never_reused(cast, monkeypatch):
    """Drawn from an alphabet without look-alikes; another dossier draws its own."""
    code = code_for(cast.agreement, "sitter:1", "P")
    assert code_for(cast.agreement, "sitter:1", "P") == code
    assert set(code.removeprefix("P-")) <= set(ALPHABET)
    assert not set("01OILUV") & set(ALPHABET)
    monkeypatch.setattr("parties.codes._draw", lambda length: code.removeprefix("P-"))
    with pytest.raises(CodesExhausted):
        code_for(cast.agreement, "sitter:2", "P")
    assert code_for(cast.other, "sitter:2", "P") == code
    assert Code.objects.filter(code=code).count() == 2
