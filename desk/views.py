"""The desk: what awaits me; the chain as a timeline; the signed record."""

from __future__ import annotations

from typing import Any

from django.core.paginator import Paginator
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from agreements.due import due_in as agreements_due
from desk import acts
from desk.models import RecordCopy
from desk.payload import facts_of
from desk.records import EXPORT, path_of
from desk.timeline import rows
from disputes.due import due_in as disputes_due
from jobs import queue
from ledger import chain
from parties.access import READING, for_person, for_seat
from parties.capacity import Capacity
from parties.due import due_in as parties_due
from parties.due import seats_due_in as seats_due
from parties.keys import installation
from parties.models import Dossier, Sitter
from parties.states import job_state
from shipments.due import due_in as shipments_due

ENTRIES_A_PAGE = 50
GATHERED = (agreements_due, shipments_due, disputes_due, parties_due, seats_due)


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


@for_seat(roles=READING, purpose=Dossier.Purpose.AGREEMENT)
def timeline(request: HttpRequest, sitter: Sitter, dossier: Dossier) -> HttpResponse:
    """What entered the chain, the latest first."""
    page = Paginator(chain.entries(dossier.chain).order_by("-number"), ENTRIES_A_PAGE).get_page(
        request.GET.get("page")
    )
    context = {"obj": dossier, "page": page, "rows": rows(page.object_list, sitter)}
    return render(request, "desk/timeline.html", context)


@for_seat(roles=READING, purpose=Dossier.Purpose.AGREEMENT)
def entry(request: HttpRequest, sitter: Sitter, dossier: Dossier, number: int) -> HttpResponse:
    """One entry: header, payload, digests."""
    found = chain.entries(dossier.chain).filter(number=number).first()
    if found is None:
        raise Http404
    context = {
        "obj": dossier,
        "entry": found,
        "row": rows([found], sitter)[0],
        "facts": facts_of(found),
    }
    return render(request, "desk/entry.html", context)


@for_seat(roles=READING, purpose=Dossier.Purpose.AGREEMENT)
def record(request: HttpRequest, sitter: Sitter, dossier: Dossier) -> HttpResponse:
    """The signed record: copies made for one's side, how to check one, the fingerprint."""
    context: dict[str, Any] = {
        "obj": dossier,
        "copies": RecordCopy.objects.visible_to(sitter).order_by("-created_at")[:20],
        "acts": acts.DOSSIER_ACTS,
        "fingerprint": installation().fingerprint,
    }
    return render(request, "desk/record.html", context)


@for_seat(RecordCopy, roles=READING)
def copy(request: HttpRequest, sitter: Sitter, copy: RecordCopy) -> HttpResponse:
    """One copy: its progress, then the link to it."""
    job = queue.latest(EXPORT, copy.subject)
    context = {
        "obj": copy,
        "job": job_state(job),
        "acts": acts.COPY_ACTS if queue.failed(copy.subject) else [],
        "fingerprint": installation().fingerprint,
    }
    return render(request, "desk/copy.html", context)


@for_seat(RecordCopy, roles=READING)
def download(request: HttpRequest, sitter: Sitter, copy: RecordCopy) -> HttpResponse | FileResponse:
    """The file, once it is written."""
    if copy.size is None or not path_of(copy).exists():
        raise Http404
    response = FileResponse(
        path_of(copy).open("rb"),
        as_attachment=True,
        filename=copy.file_name,
        content_type="application/zip",
    )
    response["X-Content-Type-Options"] = "nosniff"
    return response
