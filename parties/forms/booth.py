"""Marking a browser as standing at a viewing booth."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from parties.forms.base import CleanForm, is_password_of


class BoothForm(CleanForm):
    """Nothing is asked to set the mark; the password to take it away."""

    password = forms.CharField(
        label=_("Your password"),
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        strip=False,
    )

    def __init__(self, *args: Any, person: Any, request: Any, marked: bool, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.person, self.request = person, request
        if not marked:
            del self.fields["password"]

    def clean_password(self) -> str:
        """Throttled exactly as a login is."""
        if not is_password_of(self.person, self.cleaned_data["password"], self.request):
            raise forms.ValidationError(_("This is not your password."), code="password")
        return ""
