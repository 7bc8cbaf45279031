"""What every page knows about its reader."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.http import HttpRequest

from parties.alarms import for_banner
from parties.looks import THEMES, theme_of
from parties.models import Person


def reader(request: HttpRequest) -> dict[str, Any]:
    """The sitter of this page (None outside a dossier), whether this is the demo, the alarms
    that the reader is told of wherever they are, and the theme of this browser."""
    who = getattr(request, "user", None)
    return {
        "sitter": getattr(request, "sitter", None),
        "demo": settings.DEMO,
        "theme": theme_of(request),
        "themes": THEMES,
        "alarms": for_banner(who) if isinstance(who, Person) else [],
    }
