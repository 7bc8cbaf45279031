"""The chain as a timeline with filters; each entry with its proof."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from desk.filters import filtered, page_of
from desk.forms import TimelineForm
from desk.payload import facts_of
from desk.proof import blob_links, proof_of
from desk.timeline import rows
from ledger import chain
from ledger.erasure import with_keys
from ledger.models import Entry
from parties.access import READING, for_seat
from parties.downloads import attachment
from parties.models import Dossier, Sitter

AGREEMENT = Dossier.Purpose.AGREEMENT


@for_seat(roles=READING, purpose=AGREEMENT)
def timeline(request: HttpRequest, sitter: Sitter, dossier: Dossier) -> HttpResponse:
    """What entered the chain, the latest first; filtered by what the address asks for."""
    form = TimelineForm(request.GET) if request.GET else TimelineForm()
    wanted = form.cleaned_data if form.is_valid() else {}
    page = page_of(filtered(chain.entries(dossier.chain), wanted, sitter), request.GET)
    context = {
        "obj": dossier,
        "form": form,
        "page": page,
        "narrowed": any(wanted.values()),
        "rows": rows(page.entries, sitter),
    }
    return render(request, "desk/timeline.html", context)


@for_seat(roles=READING, purpose=AGREEMENT)
def entry(request: HttpRequest, sitter: Sitter, dossier: Dossier, number: int) -> HttpResponse:
    """One entry: header, payload, digests, and how to prove them."""
    found = entry_of(dossier, number)
    proof = proof_of(found, sitter)
    context = {
        "obj": dossier,
        "entry": found,
        "row": rows([found], sitter)[0],
        "facts": facts_of(found),
        "proof": proof,
        "covers": rows(proof.covers, sitter),
        "blobs": blob_links(found, sitter),
    }
    return render(request, "desk/entry.html", context)


@for_seat(roles=READING, purpose=AGREEMENT)
def header(request: HttpRequest, sitter: Sitter, dossier: Dossier, number: int) -> HttpResponse:
    """The header's bytes, whose SHA-256 is the entry's hash."""
    found = entry_of(dossier, number)
    return attachment(bytes(found.header_bytes), f"entry-{number:06d}.json", "application/json")


def entry_of(dossier: Dossier, number: int) -> Entry:
    """The entry of this number, or 404."""
    found = with_keys(chain.entries(dossier.chain).filter(number=number))
    if not found:
        raise Http404
    return found[0]
