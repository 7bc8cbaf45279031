"""Every component in every state, with invented samples; for those who build the pages."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import get_language

from parties import gallery
from parties.access import open_to_all

INVENTED = "invented samples alone, where the installation asks for the gallery"


@open_to_all(INVENTED)
def components(request: HttpRequest) -> HttpResponse:
    """All components but the frame of PDFs, which is a document of its own."""
    return render(request, "parties/gallery.html", gallery.samples())


@open_to_all(INVENTED)
def paper(request: HttpRequest) -> HttpResponse:
    """The frame of every PDF, as the page that is set."""
    context = {"title": gallery.LONG, "language": get_language(), "demo": True}
    return render(request, "components/paper.html", context)
