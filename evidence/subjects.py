"""What evidence is about: a string that the apps above understand."""

from __future__ import annotations

import re

from django.utils.translation import gettext_lazy as _

from parties.access import way_to
from parties.models import Sitter
from parties.refusal import Refusal

FORM = re.compile(r"(lot|article|dispute)/[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")


def checked(subject: str) -> str:
    """The subject, or Refusal where it has not the form `noun/uuid` (empty: none yet)."""
    if subject and not FORM.fullmatch(subject):
        raise Refusal("bad_subject", _("This evidence names something that cannot be."))
    return subject


def address(sitter: Sitter, subject: str) -> str:
    """The page of the subject, found by URL name; empty where there is none for this sitter."""
    noun, _sep, key = subject.partition("/")
    found = (
        way_to(sitter, f"{app}:{noun}", dossier=sitter.dossier_id, pk=key)
        for app in ("shipments", "disputes")
    )
    return next((one for one in found if one), "")
