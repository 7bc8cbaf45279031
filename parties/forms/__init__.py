"""Forms: the bases with which text is cleaned at the edge, and those of people and registers."""

from parties.forms.base import ActForm, CleanForm, PasswordForm, clean_text
from parties.forms.signing import SigningForm

__all__ = ["ActForm", "CleanForm", "PasswordForm", "SigningForm", "clean_text"]
