"""Whoever holds a checkpoint asks whether today's chain extends it, without a seat."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from desk.comparing import HELD
from desk.forms import NoteForm
from desk.rate import ByAddress
from parties import checkpoints
from parties.access import open_to_all

FORM = ("GET", "POST")


@open_to_all("a checkpoint is kept so that whoever holds it can have it honoured", methods=FORM)
def held(request: HttpRequest) -> HttpResponse:
    """Takes a note, says one of three things about it, and writes nothing anywhere.

    The answer is the page itself: an address that says "extends" could be made up.
    """
    if request.method != "POST":
        return _page(request, NoteForm())
    if not ByAddress().allow_request(request, None):
        typed = NoteForm(initial={"note": request.POST.get("note", "")})
        return _page(request, typed, 429)
    form = NoteForm(request.POST, request.FILES)
    if not form.is_valid():
        return _page(request, form, 422)
    note = form.cleaned_data["found"]
    return _page(request, form, note=note, answer=HELD[checkpoints.held(note)])


def _page(request: HttpRequest, form: NoteForm, status: int = 200, **more: object) -> HttpResponse:
    context = {"form": form, "too_often": status == 429, **more}
    return render(request, "desk/held.html", context, status=status)
