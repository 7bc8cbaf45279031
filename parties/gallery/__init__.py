"""Invented samples for the gallery: plain values in the shapes that the components take."""

from __future__ import annotations

from decimal import Decimal
from types import SimpleNamespace as Sample
from typing import Any

from django.utils.translation import get_language, gettext

from jobs.figures import margins
from jobs.figures.drawing import Conditions, for_page, for_paper
from parties.gallery import forms, invented, record, terms
from parties.gallery.invented import WHEN
from parties.whose_move import BOTH, CUSTOMER, NOBODY, SUPPLIER, Move

DOSSIER = "00000000-0000-0000-0000-000000000000"
LINK = "#content"


def samples() -> dict[str, Any]:
    """The context of the gallery's page."""
    long = invented.long()
    do = gettext("Answer the revision")
    return {
        "long": long,
        "moves": [Move("sample", sides, do) for sides in (CUSTOMER, SUPPLIER, BOTH, NOBODY)],
        "act": do,
        "revision": Sample(dossier_id=DOSSIER, pk=DOSSIER),
        "clauses": terms.clauses(),
        "redlines": terms.redlines(),
        "requirements": terms.requirements(),
        "verdicts": terms.verdicts(),
        "item": terms.tolerance(),
        "specimens": _specimens(),
        "condition": ["CIEDE2000", "D65", "10°", "45:0", gettext("against sealed sample M-1")],
        "rows": record.rows(),
        "dispute": Sample(is_open=False, dossier_id=DOSSIER),
        "posts": record.posts(),
        "form": forms.SampleForm(),
        "wrong_form": forms.wrong(),
        "drop": forms.SampleDrop(),
        "understandings": forms.understandings(),
        "jobs": record.jobs(),
        **record.signing(),
        "keys": record.keys(),
        "refused": gettext(
            "The terms ask for a key of your own, and you have none that can be used. "
            "Nothing was signed."
        ),
        "link": (LINK, gettext("Make a key")),
        "links": [
            {"url": LINK, "title": do, "first": True},
            {"url": LINK, "title": gettext("Take it back")},
            {"url": LINK, "title": long},
        ],
        "messages": [gettext("The chip counts as used."), long],
        "alarms": [Sample(dossier=gettext("Invented agreement"), words=long, times=2)],
        "pages": record.pages(),
        "drawing": for_page(margins.draw, _figure(), "gallery"),
        "seals": [record.seal()],
        "revoked": WHEN,
    }


def paper_samples() -> dict[str, Any]:
    """The context of the gallery's sheet of paper."""
    return {
        "title": gettext("Components on paper"),
        "language": get_language(),
        "demo": True,
        "clauses": terms.clauses(),
        "redlines": terms.redlines(),
        "requirements": terms.requirements(),
        "verdicts": terms.verdicts(),
        "item": terms.tolerance(),
        "specimens": _specimens(),
        "drawing": for_paper(margins.draw, _figure(), "paper"),
        "seals": [record.seal()],
    }


def _specimens() -> list[dict[str, str]]:
    within, between = gettext("within the limit less U"), gettext("between: nothing is proven")
    beyond = gettext("beyond the limit plus U")
    return [
        {"specimen": "P1", "value": "0.54", "state": "conforming", "zone_words": within},
        {"specimen": "P2", "value": "0.95", "state": "inconclusive", "zone_words": between},
        {"specimen": "P3", "value": "1.60", "state": "nonconforming", "zone_words": beyond},
        {"specimen": invented.UNBROKEN, "value": "–", "state": "missing",
         "zone_words": gettext("missing")},
    ]  # fmt: skip


def _figure() -> margins.Margins:
    limit, u = Decimal("1.00"), Decimal("0.20")
    rows = [
        margins.Row(one["specimen"], Decimal(one["value"]), limit, u, one["zone_words"])
        for one in _specimens()[:3]
    ]
    conditions = Conditions("ΔE00", "D65", "10°", "45:0")
    title = gettext("Colour differences against their limit")
    drawn: margins.Margins = margins.Margins(title, "ΔE00", conditions, rows)
    return drawn
