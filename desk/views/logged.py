"""Pages whose reading by a guest is logged: logged, or not shown."""

from __future__ import annotations

import logging
from collections.abc import Callable
from functools import wraps
from typing import Any

from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from ledger.chain import ChainError
from parties import reading
from parties.models import Sitter

log = logging.getLogger(__name__)
View = Callable[..., HttpResponse]


def logged(page: str) -> Callable[[View], View]:
    """Stands below the access mark. Where a guest's reading cannot be logged, the page is held
    back (503): a log with holes that nobody knows of would prove nothing about who read what."""

    def mark(view: View) -> View:
        @wraps(view)
        def inner(request: HttpRequest, sitter: Sitter, found: Any, **rest: Any) -> HttpResponse:
            answer = view(request, sitter, found, **rest)
            shown = answer.status_code == 200
            if shown and not noted(reading.page_read, sitter, page, rest.get("number")):
                return refused(request)
            return answer

        return inner

    return mark


def noted(write: Callable[..., None], *args: Any, **facts: Any) -> bool:
    """Write to the log; whether that was possible."""
    try:
        write(*args, **facts)
    except (DatabaseError, ChainError):
        log.exception("the reading log could not be written")
        return False
    return True


def refused(request: HttpRequest) -> HttpResponse:
    """What is said instead of the page."""
    return render(request, "desk/not_logged.html", status=503)
