"""The PDF of a verdict: the page's words and figures on paper, the JSON attached."""

from __future__ import annotations

from typing import Any

from django.template.loader import render_to_string
from django.utils import translation
from django.utils.translation import gettext

from jobs import pdf
from ledger import blobs
from shipments.figures import figures
from shipments.models import Verdict, VerdictPaper
from shipments.wording import shown


def make_paper(verdict: Verdict, language: str) -> VerdictPaper:
    """The PDF of a verdict in a language, made once; a second call returns the first."""
    found = VerdictPaper.objects.filter(verdict=verdict, language=language).first()
    if found is not None:
        return found
    submission = verdict.submission
    with translation.override(language):
        title = gettext("Verdict on %(what)s") % {"what": submission.what}
        html = render_to_string("shipments/paper.html", context_of(verdict, title, language))
        data = pdf.render(
            html,
            attachments=[
                ("verdict.json", bytes(verdict.bytes), gettext("The verdict as given")),
                ("submission.json", bytes(submission.bytes), gettext("What was handed in")),
            ],
            created=verdict.created_at,
            title=title,
        )
    digest = blobs.put(verdict.dossier.chain, data, "application/pdf")
    made, _new = VerdictPaper.objects.get_or_create(
        verdict=verdict,
        language=language,
        defaults={"dossier": verdict.dossier, "digest": digest, "size": len(data)},
    )
    return made


def context_of(verdict: Verdict, title: str, language: str) -> dict[str, Any]:
    """What the template shows."""
    view = shown(verdict)
    return {
        "title": title,
        "language": language,
        "verdict": verdict,
        "submission": verdict.submission,
        "what": verdict.submission.what,
        "view": view,
        "figures": figures(view),
    }
