"""Taking the checkpoint of this moment; what came of comparing an old one; the reading log."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from desk import acts
from desk.comparing import ANSWERS
from desk.filters import page_of
from desk.models import Comparison
from desk.reading_words import readings
from ledger.chain import SYSTEM
from ledger.kinds import Kind
from ledger.notes import read_note
from parties import reading
from parties.access import READING, TWO_SIDES, for_seat
from parties.checkpoints import current_note, has_chain, head_of
from parties.downloads import attachment
from parties.keys import installation
from parties.logged import noted, refused
from parties.models import Dossier, Sitter

AGREEMENT = Dossier.Purpose.AGREEMENT


@for_seat(roles=READING, purpose=AGREEMENT, logs_itself=True)
def checkpoint(request: HttpRequest, sitter: Sitter, dossier: Dossier) -> HttpResponse:
    """The chain's head, signed now, as a text file."""
    if not has_chain(dossier):
        raise Http404
    note = current_note(dossier)
    head = head_of(note)
    if not noted(reading.checkpoint_given, sitter, head, "page"):
        return refused(request)
    return attachment(note.encode("ascii"), f"checkpoint-{head.number}.txt", "text/plain")


@for_seat(Comparison, roles=READING)
def comparison(request: HttpRequest, sitter: Sitter, made: Comparison) -> HttpResponse:
    """What a comparison proved, and what to do where it failed."""
    context = {
        "obj": made,
        "note": read_note(made.note),
        "answer": ANSWERS[made.outcome],
        "unborne": made.unborne.splitlines(),
        "acts": acts.DOSSIER_ACTS,
        "fingerprint": installation().fingerprint,
    }
    return render(request, "desk/comparison.html", context)


@for_seat(sides=TWO_SIDES, roles=READING, purpose=AGREEMENT)
def reading_log(request: HttpRequest, sitter: Sitter, dossier: Dossier) -> HttpResponse:
    """Who took what out of this dossier: both sides see all of it, by codes and roles.

    Checkpoints that went out by mail are most of it and are shown where they are asked for.
    """
    mails, entries = "mails" in request.GET, reading.entries(dossier)
    if not mails:
        entries = entries.exclude(kind=Kind.CHECKPOINT_GIVEN.value, actor=SYSTEM.person)
    page = page_of(entries, request.GET)
    context = {"obj": dossier, "page": page, "rows": readings(page.entries, sitter), "mails": mails}
    return render(request, "desk/reading.html", context)
