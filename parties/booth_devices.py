"""Browsers that stand at a viewing booth, where several people come by: nobody signs there.

The mark is kept in the session and in a signed cookie, so that it outlives signing out and in again
on the same browser. It is taken away on the same page, with a password.
"""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext_lazy as _

from parties.refusal import Refusal

COOKIE = "booth_device"
SALT = "parties.booth_devices"
SECONDS = 400 * 24 * 3600  # 400 days: the longest that browsers keep a cookie


def is_booth_device(request: Any) -> bool:
    """Whether this browser was marked as standing at a booth."""
    if request is None:
        return False
    session = getattr(request, "session", None)
    if session is not None and session.get(COOKIE):
        return True
    signed: str | None = request.get_signed_cookie(COOKIE, default=None, salt=SALT)
    return signed is not None


def refuse_at_booth(request: Any) -> None:
    """Refusal where this browser stands at a booth."""
    if is_booth_device(request):
        raise Refusal(
            "booth_device",
            _(
                "This browser is marked as standing at a viewing booth, where several people work: "
                "nobody signs or makes keys here. Use a device of your own."
            ),
        )


def mark(request: HttpRequest, answer: HttpResponse) -> None:
    """This browser stands at a booth from now on."""
    request.session[COOKIE] = True
    answer.set_signed_cookie(
        COOKIE,
        "yes",
        salt=SALT,
        max_age=SECONDS,
        httponly=True,
        samesite="Lax",
        secure=settings.SESSION_COOKIE_SECURE,
    )


def unmark(request: HttpRequest, answer: HttpResponse) -> None:
    """It does not any more."""
    request.session.pop(COOKIE, None)
    answer.delete_cookie(COOKIE, samesite="Lax")
