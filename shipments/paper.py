"""The PDF of a verdict: the page's words and figures on paper, the JSON attached."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.template.loader import render_to_string
from django.utils import translation
from django.utils.translation import gettext

from jobs import pdf, plots
from ledger import blobs
from shipments.models import Verdict, VerdictPaper
from shipments.wording import shown

MOST_ROWS = 40  # rows of one figure; the table beside it has them all


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


def figures(view: dict[str, Any]) -> list[Any]:
    """One figure per tolerance: values of the specimens against the limit and its ±U band."""
    return [
        plots.margins(
            [
                (
                    row["specimen"],
                    Decimal(row["value"]),
                    Decimal(item["limit"]),
                    Decimal(item["uncertainty"]),
                    row["zone_words"],
                )
                for row in item["rows"][:MOST_ROWS]
            ],
            title=gettext("%(formula)s under %(illuminant)s, %(observer)s°")
            % {
                "formula": item["formula"],
                "illuminant": item["illuminant"],
                "observer": item["observer"],
            },
            desc=gettext("Each specimen's difference from the target, the limit and ±U (k = 2)."),
            unit_text="ΔE00",
        )
        for item in view["instrument"]["items"]
        if item["rows"]
    ]
