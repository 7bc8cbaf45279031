"""How the pages look to this browser: by daylight, in a dark room, or dimmed beside a booth."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.http import url_has_allowed_host_and_scheme

from parties.access import open_to_all
from parties.looks import COOKIE, THEMES

A_YEAR = 365 * 24 * 3600


@open_to_all("everybody reads by the light they have", methods=("POST",))
def set_theme(request: HttpRequest) -> HttpResponse:
    """Keep the choice in this browser; an unknown one changes nothing. Back to where one was."""
    there = request.POST.get("next", "")
    if not url_has_allowed_host_and_scheme(
        there, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    ):
        there = "/"
    answer = redirect(there)
    theme = request.POST.get("theme", "")
    if theme in THEMES:
        answer.set_cookie(
            COOKIE,
            theme,
            max_age=A_YEAR,
            httponly=True,
            samesite="Lax",
            secure=bool(settings.SESSION_COOKIE_SECURE),
        )
    return answer
