"""Every component in every state, with invented samples; for those who build the pages."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from parties import gallery
from parties.access import open_to_all

INVENTED = "invented samples alone, where the installation asks for the gallery"


@open_to_all(INVENTED)
def components(request: HttpRequest) -> HttpResponse:
    """All components as pages show them."""
    return render(request, "parties/gallery.html", gallery.samples())


@open_to_all(INVENTED)
def paper(request: HttpRequest) -> HttpResponse:
    """Those that papers share with pages, in the frame of every PDF."""
    return render(request, "parties/gallery_paper.html", gallery.paper_samples())


@open_to_all(INVENTED)
def paper_style(request: HttpRequest) -> HttpResponse:
    """The style of the PDFs as a sheet of its own: a page refuses a style within it."""
    return render(request, "components/paper.css", content_type="text/css")
