"""The form with which a firm's own sealing certificate is taken in."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from parties.forms.base import ActForm


class OwnSealForm(ActForm):
    """A PKCS#12 file and its password, which is used once and not kept."""

    upload = forms.FileField(
        label=_("File with key and certificate (PKCS#12, .p12 or .pfx)"),
        help_text=_("An elliptic curve key on P-256 with its certificate, up to 64 KiB."),
    )
    file_password = forms.CharField(
        label=_("Password of the file"),
        help_text=_("Opens the file now and is not kept. Empty where the file has none."),
        widget=forms.PasswordInput(attrs={"autocomplete": "off"}),
        required=False,
        strip=False,
        max_length=200,
    )
