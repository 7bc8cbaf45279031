"""The PDF of signed terms: set once, then sealed by the service and for each side that has signed.

Each file begins with the bytes of the one before. So the pages are those of the first signature:
they say of the second side only what stays true whether it signs or not.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.conf import settings
from django.db import IntegrityError, transaction
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.translation import gettext

from agreements.models import Revision, TermsPaper
from agreements.models.revisions import PARTIES
from agreements.sampling_figure import of_terms
from agreements.transitions.signing import WHAT
from agreements.words import part_sections, sections
from jobs import pdf
from jobs.figures.drawing import for_paper
from jobs.pdfseal import Stamping
from ledger import blobs, chain
from ledger.chain import SYSTEM
from ledger.kinds import Kind
from parties import seals
from parties.models import Seat, Signature

MEDIA_TYPE = "application/pdf"


def signatures_of(revision: Revision) -> list[Signature]:
    """The signatures on a revision, the first signer's first."""
    rows = Signature.objects.filter(
        dossier=revision.dossier, what=WHAT, subject=str(revision.pk), side__in=PARTIES
    )
    return sorted(rows, key=lambda one: (one.side != revision.first_signer, one.created_at))


def seal_papers(revision: Revision, language: str) -> list[TermsPaper]:
    """The PDFs that the signatures so far ask for, in one language, each made once for good.

    A second call returns the first ones. Raises jobs.pdf.PdfError, jobs.pdfseal.SealingError.
    """
    rows = TermsPaper.objects.filter(revision=revision, language=language).order_by("place")
    papers = list(rows)
    stamping = seals.stamping()
    signatures = signatures_of(revision)
    with translation.override(language):
        for signature in signatures[len(papers) :]:
            before = papers[-1] if papers else None
            papers.append(_next(revision, language, signature, before, stamping))
    return papers


def set_pages(revision: Revision, language: str, first: Signature) -> bytes:
    """The unsealed PDF; the same bytes whenever it is set again."""
    with translation.override(language):
        title = gettext("Terms of %(agreement)s, revision %(number)s") % {
            "agreement": revision.dossier.title,
            "number": revision.number,
        }
        context = context_of(revision, first, title, language)
        return pdf.render(
            render_to_string("agreements/paper.html", context),
            attachments=[("terms.json", bytes(revision.terms), gettext("The terms as signed"))],
            created=first.created_at,
            title=title,
        )


def context_of(revision: Revision, first: Signature, title: str, language: str) -> dict[str, Any]:
    """What the template shows: nothing that happened after the first signature."""
    terms = revision.document
    seats = {seat.side: seat for seat in _seats(revision)}
    return {
        "demo": settings.DEMO,
        "title": title,
        "language": language,
        "revision": revision,
        "terms": terms,
        "parts": part_sections(terms),
        "sections": sections(terms),
        "sampling": of_terms(terms, for_paper),
        "paper": True,
        "seats": [seats[side] for side in PARTIES if side in seats],
        "first": first,
        "first_seat": seats[first.side],
        "second_seat": next(seat for side, seat in seats.items() if side != first.side),
        "service_field": seals.SERVICE_FIELD,
        "fields": seals.FIELDS,
        "first_field": seals.FIELDS[first.side],
    }


def _seats(revision: Revision) -> Sequence[Seat]:
    rows = Seat.objects.filter(dossier=revision.dossier, side__in=PARTIES)
    return list(rows.select_related("organisation"))


def _next(
    revision: Revision,
    language: str,
    signature: Signature,
    before: TermsPaper | None,
    stamping: Stamping | None,
) -> TermsPaper:
    """The file after one more signature."""
    place = revision.dossier.chain
    put = []
    if before is None:
        data, certified = seals.certify(
            set_pages(revision, language, signature),
            places=[seals.FIELDS[side] for side in PARTIES],
            stamp=stamping,
        )
        put.append(certified)
    else:
        data = blobs.get(place, before.digest)
    seat = next(seat for seat in _seats(revision) if seat.side == signature.side)
    data, countersigned = seals.seal_for(seat, data, stamp=stamping)
    put.append(countersigned)
    digest = blobs.put(place, data, MEDIA_TYPE)
    number = before.place + 1 if before else 1
    row = TermsPaper(
        dossier=revision.dossier,
        revision=revision,
        language=language,
        place=number,
        digest=digest,
        size=len(data),
    )
    try:
        with transaction.atomic():
            row.save(force_insert=True)
            _enter(row, put, before)
    except IntegrityError:
        # The same job ran elsewhere and was first: its file stands, ours is nobody's.
        return TermsPaper.objects.get(revision=revision, language=language, place=number)
    return row


def _enter(row: TermsPaper, put: Sequence[seals.Put], before: TermsPaper | None) -> None:
    """The entries: certificates once, then the sealed document with its bytes."""
    revision = row.revision
    act = f"paper-{revision.pk.hex}-{row.language}-{row.place}"
    seals.enter_certificates(revision.dossier, put, act=act)
    fingerprints = seals.record(
        revision.dossier, row.digest, put, before=before.digest if before else ""
    )
    payload = {
        "what": f"revision/{row.language}",
        "revision": revision.number,
        "shows": revision.digest,
        "digest": row.digest,
        "seals": fingerprints,
    }
    if before is not None:
        payload["continues"] = before.digest
    chain.append(
        revision.dossier.chain,
        by=SYSTEM,
        kind=Kind.DOCUMENT_SEALED,
        subject=str(revision.pk),
        act=act,
        payload=payload,
        blobs=[row.digest],
    )
