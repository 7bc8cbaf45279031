"""What is logged when it is read: logged, or not shown.

A log with holes that nobody knows of would prove nothing about who read what.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping
from typing import Any

from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from ledger.chain import ChainError
from parties import reading
from parties.models import DossierRow, Sitter

NOT_TAKEN = 422
NOTHING_NEW = 204
log = logging.getLogger(__name__)


def shown(
    request: HttpRequest, sitter: Sitter, found: Any, rest: Mapping[str, Any], answer: HttpResponse
) -> HttpResponse:
    """The answer to a GET, or the page of a form that was not taken, once a guest's reading of it
    is logged; 503 where it cannot be.

    found: the row that the page is of, or the dossier; rest: what else the address gives, such as
    the number of an entry or the digest of a file.
    """
    shows = request.method in {"GET", "HEAD"} or answer.status_code == NOT_TAKEN
    if not shows or not reading.watched(sitter):
        return answer
    if 300 <= answer.status_code < 400 or answer.status_code == NOTHING_NEW:
        return answer  # led elsewhere, or an open page that shows all there is: nothing was read
    match = request.resolver_match
    page, entry, parts = match.view_name if match else "", None, list(rest.values())
    if isinstance(found, DossierRow):
        parts.insert(0, getattr(found, "subject", f"{found._meta.model_name}/{found.pk}"))
    elif "number" in rest:
        entry, parts = rest["number"], []
    if noted(reading.page_read, sitter, page, entry, "/".join(map(str, parts))):
        return answer
    # Not answer.close(): that says that the request is over, and lets its connection go.
    if file := getattr(answer, "file_to_stream", None):
        file.close()
    return refused(request)


def noted(write: Callable[..., None], *args: Any, **facts: Any) -> bool:
    """Write to the log; whether that was possible."""
    try:
        write(*args, **facts)
    except (DatabaseError, ChainError):
        log.exception("the reading log could not be written")
        return False
    return True


def refused(request: HttpRequest) -> HttpResponse:
    """What is said instead."""
    return render(request, "parties/not_logged.html", status=503)
