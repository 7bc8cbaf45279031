"""Forms: the bases with which text is cleaned at the edge, and those of people and registers."""

from parties.forms.base import ActForm, CleanForm, SigningForm, clean_text

__all__ = ["ActForm", "CleanForm", "SigningForm", "clean_text"]
