"""The desk's own page: what awaits me."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from agreements.due import due_in as agreements_due
from disputes.due import due_in as disputes_due
from parties.access import for_person
from parties.capacity import Capacity
from parties.due import due_in as parties_due
from parties.due import seats_due_in as seats_due
from parties.key_due import keys_due_in as keys_due
from parties.models import Sitter
from shipments.due import due_in as shipments_due

GATHERED = (agreements_due, shipments_due, disputes_due, parties_due, seats_due, keys_due)


@for_person()
def home(request: HttpRequest) -> HttpResponse:
    """My dossiers and what awaits me in them."""
    sitters = list(
        Sitter.objects.today()
        .filter(person=request.user)  # type: ignore[misc]
        .select_related("dossier", "seat__organisation", "person")
        .order_by("dossier__purpose", "dossier__title")
    )
    capacities = [Capacity(sitter) for sitter in sitters]
    today = timezone.now().date()
    waiting = [one for due in GATHERED for one in due(capacities, today)]
    waiting.sort(key=lambda one: one.day)
    context = {"sitters": sitters, "waiting": waiting, "today": today}
    return render(request, "desk/home.html", context)
