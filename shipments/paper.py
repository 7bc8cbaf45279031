"""The PDF of a verdict: the page's words and figures on paper, the JSON attached, sealed once.

It is no entry of the chain (the verdict itself is): the service's seal is for who reads the file
apart from the record.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.conf import settings
from django.db import IntegrityError, transaction
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.translation import gettext

from agreements.transitions.signing import WHAT as TERMS
from agreements.words import Section, part_sections, sections
from jobs import pdf
from ledger import blobs
from parties import seals
from parties.models import Signature
from shipments.behind import behind_of
from shipments.figures import drawn
from shipments.lists import signature_of
from shipments.models import Submission, Verdict, VerdictPaper
from shipments.paper_lists import for_paper
from shipments.wording import shown

# The clauses of which a reader of a verdict needs the words at hand.
DECIDING = ("tolerances", "decision", "evidence")


def make_paper(verdict: Verdict, language: str) -> VerdictPaper:
    """The PDF of a verdict in a language, made once; a second call returns the first."""
    found = VerdictPaper.objects.filter(verdict=verdict, language=language).first()
    if found is not None:
        return found
    with translation.override(language):
        data, certified = seals.certify(set_pages(verdict, language), stamp=seals.stamping())
    digest = blobs.put(verdict.dossier.chain, data, "application/pdf")
    row = VerdictPaper(
        dossier=verdict.dossier, verdict=verdict, language=language, digest=digest, size=len(data)
    )
    try:
        with transaction.atomic():
            row.save(force_insert=True)
            seals.record(verdict.dossier, digest, [certified])
    except IntegrityError:
        # The same job ran elsewhere and was first: its file stands, ours is nobody's.
        return VerdictPaper.objects.get(verdict=verdict, language=language)
    return row


def set_pages(verdict: Verdict, language: str) -> bytes:
    """The unsealed PDF in a language; the same facts give the same bytes."""
    submission = verdict.submission
    with translation.override(language):
        title = gettext("Verdict on %(what)s") % {"what": submission.what}
        html = render_to_string("shipments/paper.html", context_of(verdict, title, language))
        return pdf.render(
            html,
            attachments=[
                ("verdict.json", bytes(verdict.bytes), gettext("The verdict as given")),
                ("submission.json", bytes(submission.bytes), gettext("What was handed in")),
            ],
            created=verdict.created_at,
            title=title,
        )


def context_of(verdict: Verdict, title: str, language: str) -> dict[str, Any]:
    """What the template shows."""
    view = for_paper(drawn(shown(verdict), behind_of(verdict, page=False), paper=True))
    submission = verdict.submission
    terms = Signature.objects.filter(
        dossier=verdict.dossier, what=TERMS, subject=str(submission.revision.pk)
    )
    return {
        "demo": settings.DEMO,
        "paper": True,
        "title": title,
        "language": language,
        "verdict": verdict,
        "submission": submission,
        "what": submission.what,
        "view": view,
        "clauses": clauses(submission),
        "conditions": [fact for fact in view["conditions"] if fact.sort != "reference"],
        "references": [fact for fact in view["conditions"] if fact.sort == "reference"],
        "people": people(view["visual"]["judgements"]),
        "terms_signatures": terms.order_by("created_at"),
        "signature": signature_of(submission),
    }


def clauses(submission: Submission) -> list[Section]:
    """The part's own departures, then the clauses that decide, as sentences."""
    terms = submission.revision.document
    own = [one for one in part_sections(terms) if one.id == submission.what.part]
    deciding = [one for one in sections(terms) if one.id in DECIDING]
    return [one for one in own + deciding if any(said.said for said in one.said)]


def people(judgements: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Observers by code, with how many of their judgements count."""
    codes = sorted({one["observer"] for one in judgements})
    own = {code: [one for one in judgements if one["observer"] == code] for code in codes}
    return [
        {"code": code, "all": len(own[code]), "counted": sum(one["counted"] for one in own[code])}
        for code in codes
    ]
