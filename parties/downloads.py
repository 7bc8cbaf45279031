"""Downloads: always as attachments, never shown inside the page's origin."""

from __future__ import annotations

from django.http import HttpResponse
from django.utils.http import content_disposition_header


def attachment(data: bytes, name: str, media_type: str) -> HttpResponse:
    """A response that a browser saves and does not guess about (nosniff)."""
    response = HttpResponse(data, content_type=media_type)
    response["Content-Disposition"] = content_disposition_header(True, name) or "attachment"
    response["X-Content-Type-Options"] = "nosniff"
    return response
