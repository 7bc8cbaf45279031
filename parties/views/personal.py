"""Personal data: whose can be erased, what goes and what stays."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from parties.access import for_seat
from parties.models import Dossier, Role, Side, Sitter
from parties.personal import traces_of


@for_seat(sides={Side.OWN}, roles={Role.ADMINISTRATOR}, purpose=Dossier.Purpose.REGISTER)
def personal(request: HttpRequest, sitter: Sitter, dossier: Dossier) -> HttpResponse:
    """People who have left the firm and observers without login, with what there is of them."""
    context = {"obj": dossier, "found": traces_of(sitter.seat.organisation)}
    return render(request, "parties/personal.html", context)
