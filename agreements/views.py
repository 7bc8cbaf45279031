"""Pages of an agreement: overview, own draft, revisions, comparison."""

from __future__ import annotations

from typing import Any

from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from agreements import acts
from agreements.models import Draft, Remark, Revision, Standing, TermsPaper
from agreements.moves import draft_acts, next_move, standing_acts
from agreements.papers import on_paper
from agreements.redline import redline
from agreements.sampling_figure import of_terms
from agreements.showing import acts_on, chosen, invitations, own_draft, signatures, with_remarks
from agreements.standing import in_force, standing_of, today_in
from agreements.words import findings, part_sections, sections
from jobs.figures.kept import for_page
from ledger import blobs
from parties.access import ALL_ROLES, READING, STAFF, TWO_SIDES, for_seat
from parties.downloads import attachment
from parties.models import Dossier, Seat, Sitter

AGREEMENT = Dossier.Purpose.AGREEMENT


@for_seat(roles=ALL_ROLES, purpose=AGREEMENT)
def overview(request: HttpRequest, sitter: Sitter, dossier: Dossier) -> HttpResponse:
    """Whose move it is, revisions, signatures, seats, invitations, and the way to the rest."""
    visible = Revision.objects.visible_to(sitter)
    ours = Q(remarks__dossier=dossier)
    counted = visible.annotate(remark_count=Count("remarks", filter=ours))
    rows = counted.select_related("based_on")
    revisions = list(rows.defer("terms", "based_on__terms").order_by("-number"))
    latest = revisions[0] if revisions else None
    draft = own_draft(sitter)
    signed = any(row.status == Revision.Status.SIGNED for row in revisions)
    standing = standing_of(dossier)
    names = standing_acts(standing, signed)
    signed_by = signatures(sitter, revisions)
    context = {
        "dossier": dossier,
        "revisions": revisions,
        "latest": latest,
        "latest_acts": acts_on(latest, sitter, latest, draft) if latest else [],
        "draft": draft,
        "move": next_move(latest),
        "awaits_me": next_move(latest).awaits(sitter.seat.side),
        "in_force": in_force(dossier, today_in(dossier)) if signed else None,
        "standing": standing,
        "standings": Standing.objects.visible_to(sitter).order_by("number"),
        "standing_acts": acts.named(acts.STANDING, names),
        "signatures": [
            {"revision": row, "signatures": signed_by[row.pk]}
            for row in revisions
            if row.pk in signed_by
        ],
        "seats": Seat.objects.filter(dossier=dossier)
        .select_related("organisation")
        .annotate(people=Count("sitters", filter=Q(sitters__active=True)))
        .order_by("side"),
        "invitations": invitations(sitter),
        "reads": sitter.role in READING,
    }
    return render(request, "agreements/overview.html", context)


@for_seat(Draft, sides=TWO_SIDES, purpose=AGREEMENT)
def draft(request: HttpRequest, sitter: Sitter, found: Draft) -> HttpResponse:
    """The side's draft, clause by clause, each with the way to edit it."""
    terms = found.document
    latest = Revision.objects.visible_to(sitter).brief().first()
    names = draft_acts(latest, sitter.seat.side, found.based_on_id)
    checked = findings(terms)
    context = {
        "draft": found,
        "terms": terms,
        "edits": sitter.role in STAFF,
        "sections": sections(terms),
        "parts": part_sections(terms),
        "sampling": of_terms(terms, for_page),
        "latest": latest,
        "move": next_move(latest),
        "stale": latest is not None and found.based_on_id != latest.pk,
        "acts": acts.named(acts.DRAFT, names),
        "blockers": sum(one.severity == "blocker" for one in checked),
        "others": sum(one.severity != "blocker" for one in checked),
    }
    return render(request, "agreements/draft.html", context)


@for_seat(Draft, sides=TWO_SIDES, purpose=AGREEMENT)
def draft_findings(request: HttpRequest, sitter: Sitter, found: Draft) -> HttpResponse:
    """The draft check on the side's draft."""
    context = {
        "draft": found,
        "edits": sitter.role in STAFF,
        "findings": findings(found.document),
        "back": found.get_absolute_url(),
    }
    return render(request, "agreements/findings.html", context)


@for_seat(Draft, sides=TWO_SIDES, purpose=AGREEMENT)
def draft_redline(request: HttpRequest, sitter: Sitter, found: Draft) -> HttpResponse:
    """The side's draft against the latest revision, or another one."""
    others = list(Revision.objects.visible_to(sitter).brief())
    other = chosen(request, others, others[0] if others else None)
    return compared(request, found, other, others, {"draft": found})


@for_seat(Revision, purpose=AGREEMENT)
def revision(request: HttpRequest, sitter: Sitter, found: Revision) -> HttpResponse:
    """The terms as sentences, clause by clause, with the remarks made on them."""
    terms = found.document
    latest = Revision.objects.visible_to(sitter).brief().first()
    remarks = Remark.objects.visible_to(sitter).filter(revision=found).order_by("created_at")
    context = {
        "revision": found,
        "terms": terms,
        # An older revision asks for nothing: the move is that of the latest.
        "move": next_move(latest) if latest and latest.pk == found.pk else None,
        "sections": with_remarks(sections(terms), list(remarks)),
        "parts": part_sections(terms),
        "sampling": of_terms(terms, for_page),
        "namings": found.namings.order_by("created_at"),
        "signatures": signatures(sitter, [found]).get(found.pk, []),
        "acts": acts_on(found, sitter, latest, own_draft(sitter)),
        "remark_acts": [acts.STRIKE] if acts.STRIKE.open_to(sitter) else [],
        "may_remark": acts.REMARK.open_to(sitter),
    }
    return render(request, "agreements/revision.html", context | on_paper(sitter, found))


@for_seat(Revision, purpose=AGREEMENT)
def revision_findings(request: HttpRequest, sitter: Sitter, found: Revision) -> HttpResponse:
    """The draft check on a shared revision."""
    context = {
        "revision": found,
        "findings": findings(found.document),
        "back": found.get_absolute_url(),
    }
    return render(request, "agreements/findings.html", context)


@for_seat(Revision, purpose=AGREEMENT)
def revision_redline(request: HttpRequest, sitter: Sitter, found: Revision) -> HttpResponse:
    """A revision against the one it is based on, or another one."""
    others = [row for row in Revision.objects.visible_to(sitter).brief() if row.pk != found.pk]
    base = next((row for row in others if row.pk == found.based_on_id), None)
    return compared(request, found, chosen(request, others, base), others, {"revision": found})


def compared(
    request: HttpRequest,
    found: Draft | Revision,
    other: Revision | None,
    others: list[Revision],
    context: dict[str, Any],
) -> HttpResponse:
    """The comparison of two texts: what was in `other`, what is in `found`."""
    groups = redline(other.document, found.document) if other else []
    context |= {"groups": groups, "other": other, "others": others}
    context |= {"back": found.get_absolute_url()}
    return render(request, "agreements/redline.html", context)


@for_seat(Revision, purpose=AGREEMENT)
def terms_json(request: HttpRequest, sitter: Sitter, found: Revision) -> HttpResponse:
    """The signed bytes of the terms, to keep."""
    return attachment(bytes(found.terms), f"terms-{found.number}.json", "application/json")


@for_seat(TermsPaper, purpose=AGREEMENT)
def paper(request: HttpRequest, sitter: Sitter, found: TermsPaper) -> HttpResponse:
    """A sealed PDF of the terms."""
    data = blobs.get(found.dossier.chain, found.digest)
    name = f"terms-{found.revision.number}-{found.language}-{found.place}.pdf"
    return attachment(data, name, "application/pdf")
