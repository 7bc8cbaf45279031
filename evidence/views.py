"""Pages of evidence: files as understood, sets, sittings."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext

from evidence import acts
from evidence.figures import reflectance
from evidence.models import (
    Document,
    EvidenceFile,
    Judgement,
    MeasuredSet,
    RetainedPiece,
    Sitting,
)
from evidence.reading_words import understanding
from evidence.subjects import address
from evidence.transitions import holder_of
from jobs.figures.kept import for_page
from ledger import blobs
from method.terms.models.measurement import MEASURING_BACKING_WORDS, UV_WORDS
from method.terms.models.tolerances import GEOMETRY_WORDS
from parties.access import READING, STAFF, TWO_SIDES, for_seat
from parties.downloads import attachment
from parties.models import Dossier, Role, Sitter
from parties.paging import page_of


@for_seat(sides=TWO_SIDES, roles=READING | {Role.OBSERVER}, purpose=Dossier.Purpose.AGREEMENT)
def index(request: HttpRequest, sitter: Sitter, dossier: Dossier) -> HttpResponse:
    """All evidence of one's own side; an observer sees the sittings."""
    asked = request.GET
    context: dict[str, Any] = {
        "sittings": page_of(Sitting.objects.visible_to(sitter), asked, "sittings-"),
        "acts": acts.DOSSIER_ACTS,
        "obj": dossier,
    }
    if sitter.role != Role.OBSERVER:
        files = EvidenceFile.objects.visible_to(sitter)
        sets = MeasuredSet.objects.visible_to(sitter).select_related("file")
        documents = Document.objects.visible_to(sitter).select_related("file")
        context["files"] = shown = page_of(files, asked, "files-")
        waiting = files.waiting().filter(pk__in=[file.pk for file in shown.rows])
        context["waiting"] = set(waiting.values_list("pk", flat=True))
        context["sets"] = page_of(sets, asked, "sets-")
        context["documents"] = page_of(documents, asked, "documents-")
        context["pieces"] = page_of(RetainedPiece.objects.visible_to(sitter), asked, "pieces-")
    return render(request, "evidence/index.html", context)


@for_seat(EvidenceFile, sides=TWO_SIDES, roles=READING)
def file(request: HttpRequest, sitter: Sitter, file: EvidenceFile) -> HttpResponse:
    """What was understood of a file, and the sets read from it.

    A document or a scanned sheet is no table of spectra: it is not read, its page is named.
    """
    holder = holder_of(file)
    context = {
        "obj": file,
        "holder": holder,
        "understanding": None if holder else understanding(file),
        "sets": MeasuredSet.objects.visible_to(sitter).filter(file=file),
        "subject": address(sitter, file.subject),
        "acts": acts.FILE_ACTS,
    }
    return render(request, "evidence/file.html", context)


@for_seat(EvidenceFile, sides=TWO_SIDES, roles=READING)
def download(request: HttpRequest, sitter: Sitter, file: EvidenceFile) -> HttpResponse:
    """The file as it was uploaded."""
    return attachment(blobs.get(file.dossier.chain, file.digest), file.name, file.media_type)


@for_seat(MeasuredSet, sides=TWO_SIDES, roles=READING)
def measured(request: HttpRequest, sitter: Sitter, measured: MeasuredSet) -> HttpResponse:
    """One set: condition and specimens."""
    words = condition_words(measured)
    context = {
        "obj": measured,
        "words": words,
        "drawing": reflectance(measured, words, for_page),
        "subject": address(sitter, measured.subject),
        "acts": acts.SET_ACTS,
    }
    return render(request, "evidence/set.html", context)


@for_seat(Document, sides=TWO_SIDES, roles=READING)
def document(request: HttpRequest, sitter: Sitter, document: Document) -> HttpResponse:
    """One document: what it is, and the file."""
    context = {
        "obj": document,
        "subject": address(sitter, document.subject),
        "acts": acts.DOCUMENT_ACTS,
    }
    return render(request, "evidence/document.html", context)


@for_seat(RetainedPiece, sides=TWO_SIDES, roles=READING)
def piece(request: HttpRequest, sitter: Sitter, piece: RetainedPiece) -> HttpResponse:
    """One piece under seal."""
    context = {
        "obj": piece,
        "subject": address(sitter, piece.subject),
        "acts": acts.PIECE_ACTS,
    }
    return render(request, "evidence/piece.html", context)


CONDITIONS = {
    "geometry": GEOMETRY_WORDS,
    "uv": UV_WORDS,
    "backing": MEASURING_BACKING_WORDS,
}


def condition_words(measured: MeasuredSet) -> dict[str, str]:
    """What was said of geometry, ultraviolet and backing, in words."""
    said = {name: measured.condition.get(name, "") for name in CONDITIONS}
    return {
        name: gettext(CONDITIONS[name].get(value, value)) for name, value in said.items() if value
    }


@for_seat(Sitting, sides=TWO_SIDES, roles=STAFF | {Role.READER, Role.OBSERVER})
def sitting(request: HttpRequest, sitter: Sitter, sitting: Sitting) -> HttpResponse:
    """One sitting with what was said; an observer sees only their own word, to stay unswayed."""
    judgements = Judgement.objects.visible_to(sitter).filter(sitting=sitting)
    if sitter.role == Role.OBSERVER:
        judgements = judgements.filter(entered_by=sitter.code, entered_by_observer=True)
    context = {
        "obj": sitting,
        "judgements": judgements.order_by("observer_code", "specimen", "illuminant"),
        "subject": address(sitter, sitting.subject),
        "acts": acts.SITTING_ACTS,
    }
    return render(request, "evidence/sitting.html", context)
