"""The signed record: asking for copies, whole or of one thing; downloading them."""

from __future__ import annotations

from typing import Any

from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from desk import acts
from desk.about import parts_in_words
from desk.models import RecordCopy
from desk.records import EXPORT, outdated, path_of
from jobs import queue
from ledger.chain import Head
from parties import reading
from parties.access import READING, for_seat
from parties.checkpoints import has_chain
from parties.downloads import attachment
from parties.keys import installation
from parties.logged import noted, refused
from parties.models import Dossier, Sitter
from parties.states import job_state

SHOWN = 50


@for_seat(roles=READING, purpose=Dossier.Purpose.AGREEMENT)
def record(request: HttpRequest, sitter: Sitter, dossier: Dossier) -> HttpResponse:
    """The signed record: copies made for one's side, what was verified when, the fingerprint."""
    copies = list(RecordCopy.objects.visible_to(sitter).order_by("-created_at")[:SHOWN])
    parts = parts_in_words((one.about for one in copies), sitter)
    context: dict[str, Any] = {
        "obj": dossier,
        "copies": [(one, parts.get(one.about, one.about)) for one in copies],
        "acts": acts.DOSSIER_ACTS,
        "has_chain": has_chain(dossier),
        "fingerprint": installation().fingerprint,
    }
    return render(request, "desk/record.html", context)


@for_seat(RecordCopy, roles=READING)
def copy(request: HttpRequest, sitter: Sitter, copy: RecordCopy) -> HttpResponse:
    """One copy: its progress, then the link to it."""
    job = queue.latest(EXPORT, copy.subject)
    context = {
        "obj": copy,
        "about": parts_in_words([copy.about], sitter).get(copy.about, copy.about),
        "job": job_state(job),
        "outdated": outdated(copy),
        "acts": acts.COPY_ACTS if queue.failed(copy.subject) else [],
        "fingerprint": installation().fingerprint,
    }
    return render(request, "desk/copy.html", context)


@for_seat(RecordCopy, roles=READING, logs_itself=True)
def download(request: HttpRequest, sitter: Sitter, copy: RecordCopy) -> HttpResponse | FileResponse:
    """The file, once it is written; who takes it is logged first, for everybody."""
    if copy.size is None or outdated(copy) or not path_of(copy).exists():
        raise Http404
    facts = {"copy": str(copy.pk), "about": copy.about, "digest": copy.digest}
    if not noted(reading.record_taken, sitter, number=copy.number, hash=copy.hash, **facts):
        return refused(request)
    response = FileResponse(
        path_of(copy).open("rb"),
        as_attachment=True,
        filename=copy.file_name,
        content_type="application/zip",
    )
    response["X-Content-Type-Options"] = "nosniff"
    return response


@for_seat(RecordCopy, roles=READING, logs_itself=True)
def copy_checkpoint(request: HttpRequest, sitter: Sitter, copy: RecordCopy) -> HttpResponse:
    """The checkpoint that the file holds, as a note."""
    if not copy.note:
        raise Http404
    if not noted(reading.checkpoint_given, sitter, Head(copy.number, copy.hash), "record"):
        return refused(request)
    return attachment(copy.note.encode("ascii"), f"checkpoint-{copy.number}.txt", "text/plain")
