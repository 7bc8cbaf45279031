"""Deny by default; the reader's language; the headers that keep a page to this origin."""

from __future__ import annotations

import logging
from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed, JsonResponse
from django.http.response import HttpResponseBase
from django.middleware.gzip import GZipMiddleware
from django.shortcuts import render
from django.utils import translation
from django.utils.translation import gettext_lazy as _

from ledger.blobs import StorageDown
from parties.access import Access

log = logging.getLogger(__name__)

Handler = Callable[[HttpRequest], HttpResponse]

DOWN = _("The files of this installation cannot be reached at the moment. Nothing was done.")
CONTENT_SECURITY_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "font-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'"
)


class DenyByDefaultMiddleware:
    """A view without an access mark is refused; a method the mark does not name gets 405.

    It stands before the CSRF check, so that a wrong method is answered alike to everybody.
    """

    def __init__(self, get_response: Handler):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", CONTENT_SECURITY_POLICY)
        response.headers.setdefault("Cache-Control", "private, no-store")
        return response

    def process_view(
        self, request: HttpRequest, view: Any, args: Any, kwargs: Any
    ) -> HttpResponse | None:
        """Look at the mark before anything else of the view runs."""
        access: Access | None = getattr(view, "access", None)
        if access is None:
            raise PermissionDenied("view without an access mark")
        if not access.allows(request.method):
            return HttpResponseNotAllowed(sorted(access.methods))
        return None


class PageCompressionMiddleware(GZipMiddleware):
    """Pages go over the wire compressed; files as they are, with their length. Django pads what it
    compresses by a random length, so that sizes tell nothing about a token in the page."""

    def process_response(
        self, request: HttpRequest, response: HttpResponseBase
    ) -> HttpResponseBase:
        """Compress a page that is whole."""
        if response.streaming or not response.get("Content-Type", "").startswith("text/html"):
            return response
        compressed: HttpResponseBase = super().process_response(request, response)
        return compressed


class ReaderMiddleware:
    """A signed-in person reads in the language they chose."""

    def __init__(self, get_response: Handler):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.user.is_authenticated and settings.LANGUAGE_COOKIE_NAME not in request.COOKIES:
            translation.activate(request.user.language)
            request.LANGUAGE_CODE = translation.get_language()  # type: ignore[attr-defined]
        return self.get_response(request)


class StorageMiddleware:
    """Where the files cannot be reached, whoever asked is told so, and that nothing was done."""

    def __init__(self, get_response: Handler):
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        """503 in words; what the operator has to do goes to the log."""
        if not isinstance(exception, StorageDown):
            return None
        log.error("files cannot be reached: %s", exception)
        if request.path.startswith("/api/"):
            said = {"id": "storage_down", "message": str(DOWN)}
            return JsonResponse(said, status=503)
        return render(request, "parties/storage_down.html", {"down": DOWN}, status=503)
