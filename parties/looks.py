"""The themes of the pages (static/theme.css): a choice of the browser, not of the person, because
it is the room that asks for it."""

from __future__ import annotations

from django.http import HttpRequest
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

COOKIE = "theme"
THEMES: dict[str, str | Promise] = {
    "device": _("as this device"),
    "light": _("light"),
    "dark": _("dark"),
    "dim": _("dim, at the booth"),
}


def theme_of(request: HttpRequest) -> str:
    """The theme that was chosen in this browser; "device" where none was."""
    chosen = request.COOKIES.get(COOKIE, "")
    return chosen if chosen in THEMES else "device"
