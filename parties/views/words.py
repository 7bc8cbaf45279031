"""The words of the trade and of this service, with their sources."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from parties import glossary
from parties.access import open_to_all


@open_to_all("what a word means, and by which standard, is nobody's secret")
def words(request: HttpRequest) -> HttpResponse:
    """All entries of the glossary."""
    return render(request, "parties/words.html", {"entries": glossary.alphabetical()})
