"""Pages of disputes: the thread, both sides side by side, offers."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from disputes import acts
from disputes.beside import condition_pairs, number_pairs, sides
from disputes.figures import both_sides, spectra_of_both
from disputes.forms import PLACES
from disputes.models import Dispute, Note, Offer, Post
from disputes.showing import settlement_context
from disputes.thread import news, thread_of
from jobs.figures.kept import for_page
from ledger import blobs
from method.terms.models.tolerances import COMPARED_WORDS
from parties.access import READING, for_seat
from parties.downloads import attachment
from parties.models import Dossier, Sitter
from parties.paging import page_of
from shipments.wording import clause_title, said


@for_seat(roles=READING, purpose=Dossier.Purpose.AGREEMENT)
def index(request: HttpRequest, sitter: Sitter, dossier: Dossier) -> HttpResponse:
    """All disputes of an agreement."""
    rows = Dispute.objects.visible_to(sitter).select_related("lot")
    context = {"obj": dossier, "disputes": page_of(rows, request.GET)}
    return render(request, "disputes/index.html", context)


@for_seat(Dispute, roles=READING)
def thread(request: HttpRequest, sitter: Sitter, dispute: Dispute) -> HttpResponse:
    """Grounds, statements, offers; one's own side's private notes. A page that is open asks through
    htmx with `seen`, what it shows, and gets what is new, or 204."""
    context = thread_of(dispute, sitter)
    if request.htmx and "seen" in request.GET:
        new = news(context, request.GET["seen"])
        if new is None:
            return HttpResponse(status=204)
        return render(request, "disputes/news.html", context | new)
    context["grounds"] = [
        {
            "clause": clause_title(ground["clause"]),
            "compared": said(COMPARED_WORDS, ground["compared_with"]),
            "specimens": ", ".join(ground["specimens"]),
        }
        for ground in dispute.grounds
    ]
    context |= {
        "contained": [(PLACES[name], count) for name, count in dispute.contained.items() if count],
        "notes": Note.objects.visible_to(sitter).filter(dispute=dispute).order_by("created_at"),
    }
    return render(request, "disputes/thread.html", context)


@for_seat(Dispute, roles=READING)
def beside(request: HttpRequest, sitter: Sitter, dispute: Dispute) -> HttpResponse:
    """Both sides' evidence, conditions and numbers."""
    supplier, customer = sides(dispute)
    numbers = number_pairs(supplier, customer)
    context = {
        "obj": dispute,
        "supplier": supplier,
        "customer": customer,
        "conditions": condition_pairs(supplier, customer),
        "numbers": numbers,
        "drawings": both_sides(numbers, for_page),
        "spectra": spectra_of_both(supplier, customer, for_page),
    }
    return render(request, "disputes/beside.html", context)


@for_seat(Post, roles=READING)
def file(request: HttpRequest, sitter: Sitter, post: Post, number: int) -> HttpResponse:
    """A file of a statement."""
    if number >= len(post.files):
        raise Http404
    found = post.files[number]
    data = blobs.get(post.dossier.chain, found["digest"])
    return attachment(data, found["name"], found["media_type"])


@for_seat(Offer, roles=READING)
def offer(request: HttpRequest, sitter: Sitter, offer: Offer) -> HttpResponse:
    """A settlement as offered: text, pieces, costs, signatures."""
    context = settlement_context(offer) | {"acts": acts.offer_acts(offer, sitter.seat.side)}
    return render(request, "disputes/offer.html", context)
