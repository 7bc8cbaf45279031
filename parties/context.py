"""What every page knows about its reader."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.http import HttpRequest


def reader(request: HttpRequest) -> dict[str, Any]:
    """The sitter of this page (None outside a dossier) and whether this is the demo."""
    return {"sitter": getattr(request, "sitter", None), "demo": settings.DEMO}
