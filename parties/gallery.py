"""Invented samples for the gallery: plain values in the shapes that the components take."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal
from types import SimpleNamespace as Sample
from typing import Any

from django import forms
from django.core.paginator import Paginator

from jobs.figures import margins
from jobs.figures.drawing import Conditions, for_page
from parties.forms import CleanForm
from parties.models.keys import ASSURANCES
from parties.whose_move import BOTH, CUSTOMER, NOBODY, SUPPLIER, Move

WHEN = datetime(2026, 3, 5, 14, 30, 12, tzinfo=UTC)
LONG = "Seitenwandverkleidungsabdeckleiste-links-hinten-unten (invented), 左后立柱下饰板总成"
DIGEST = "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08"
STATES = [
    ("met", "conforming"),
    ("missing", "incomplete"),
    ("invalid", "nonconforming"),
    ("waived", "withdrawn"),
]
ITEM = {
    "formula": "CIEDE2000",
    "illuminant": "D65",
    "observer": "10",
    "geometry_words": "45°:0°",
    "compared_words": "sealed sample M-1",
    "limit": "1.00",
    "uncertainty": "0.20",
}


class Signed:
    """Something to sign: a digest and a name."""

    digest = DIGEST

    def __str__(self) -> str:
        return LONG


class SampleForm(CleanForm):
    """A field of the terms, a required one, a choice among few, a file."""

    limit = forms.DecimalField(
        label="Limit of the colour difference", help_text="ΔE00, CIE 142, at most 5", max_value=5
    )
    name = forms.CharField(label=LONG, required=False, help_text=LONG)
    light = forms.ChoiceField(
        label="Light", choices=[("d65", "D65"), ("a", LONG)], widget=forms.RadioSelect
    )
    file = forms.FileField(label="Measurement file", required=False)


def samples() -> dict[str, Any]:
    """The context of the gallery's page."""
    page = Paginator(range(90), 30)
    return {
        "long": LONG,
        "moves": [Move("sample", sides, LONG) for sides in (CUSTOMER, SUPPLIER, BOTH, NOBODY)],
        "revision": Sample(dossier_id="00000000-0000-0000-0000-000000000000", pk=1),
        "clauses": _clauses(),
        "redlines": _redlines(),
        "requirements": [_requirement(*state) for state in STATES],
        "verdicts": [_verdict(one) for one in ("conforming", "nonconforming", "inconclusive")],
        "item": ITEM,
        "rows": [
            Sample(entry=_entry(n), words=LONG, about=LONG, side="supplier", role="lead")
            for n in range(1, 41)
        ],
        "dispute": Sample(is_open=False),
        "posts": [_post(), _post(struck=True)],
        "form": SampleForm(),
        "wrong_form": SampleForm({"limit": "9", "name": "", "light": ""}),
        "understandings": [_understood(), _not_understood()],
        "jobs": [_job("queued"), _job("working"), _job("done"), _job("failed")],
        "signed": Signed(),
        "signer": Sample(
            person=Sample(name="Invented Person"),
            sitter=Sample(code="K7"),
            organisation=Sample(name=LONG),
        ),
        "intent": LONG,
        "assurances": ASSURANCES,
        "keys": [
            Sample(
                side_words="customer",
                name=LONG,
                person="K7",
                assurance_words="held here",
                fingerprint=DIGEST,
            )
        ],
        "link": ("#content", LONG),
        "links": [{"url": "#content", "title": "Do it"}, {"url": "#content", "title": LONG}],
        "messages": ["Done.", LONG],
        "alarms": [Sample(dossier="Invented agreement", words=LONG, times=2)],
        "pages": [page.page(2), page.page(1)],
        "by_number": Sample(earlier=12, later=40),
        "drawing": for_page(margins.draw, _figure(), "gallery"),
        "seals": [_seal()],
        "revoked": WHEN,
    }


def _clauses() -> list[Any]:
    """A clause with everything, and one that says nothing."""
    said = Sample(words="ΔE00 is at most 1.00 under D65, 10°.", said=True, item="")
    left_open = Sample(words=f"{LONG}: not said.", said=False, item="")
    full = Sample(
        section=Sample(id="sample", number=6, title=LONG),
        lines=[Sample(said=said, remarks=[_remark()]), Sample(said=left_open, remarks=[])],
        remarks=[_remark(struck=True)],
    )
    section = Sample(id="empty", number=7, title="Left open")
    return [full, Sample(section=section, lines=[Sample(said=left_open, remarks=[])], remarks=[])]


def _remark(*, struck: bool = False) -> Any:
    return Sample(
        pk=int(struck),
        get_side_display="customer",
        author="K7",
        created_at=WHEN,
        text=LONG,
        struck_at=WHEN if struck else None,
        struck_by="K7",
        struck_reason=LONG,
        side="customer",
    )


def _redlines() -> list[dict[str, Any]]:
    def line(*texts: tuple[str, str]) -> list[Any]:
        return [Sample(text=text, mark=mark) for text, mark in texts]

    return [
        {
            "was": line(("ΔE00 is at most ", ""), ("1.00", "del"), (".", "")),
            "now": line(("ΔE00 is at most ", ""), ("0.80", "ins"), (".", "")),
        },
        {"was": line((LONG, "del")), "now": []},
        {"was": [], "now": line((LONG, "ins"))},
    ]


def _requirement(state: str, _tone: str) -> dict[str, Any]:
    reasons = [] if state == "met" else [Sample(words=LONG, clause="8 Evidence")]
    return {
        "what": f"Hue test: {LONG}",
        "state": state,
        "state_words": state,
        "required": state != "waived",
        "reasons": reasons,
    }


def _verdict(outcome: str) -> dict[str, Any]:
    reasons = [Sample(words=LONG, clause="6 Tolerances")]
    return {
        "outcome": outcome,
        "outcome_words": outcome,
        "next": LONG,
        "reasons": reasons,
        "rule": "release: the supplier proves conformity",
    }


def _entry(number: int) -> Any:
    return Sample(number=number, time=WHEN, actor="K7")


def _post(*, struck: bool = False) -> Any:
    return Sample(
        pk=int(struck),
        created_at=WHEN,
        author="K7",
        side="customer",
        text=LONG,
        files=[],
        get_kind_display="statement",
        struck_at=WHEN if struck else None,
        struck_by="K7",
        struck_reason=LONG,
    )


def _understood() -> Any:
    facts = [Sample(label="Specimens", value="12"), Sample(label="Name", value=LONG)]
    look = Sample(label=LONG, ends=["41.2", "43.9"], colour=["68.4", "-0.3", "1.9"])
    return Sample(
        facts=facts,
        looks=[look],
        ends=["400 nm", "700 nm"],
        condition=facts,
        tables=[LONG],
        oddities=[LONG],
        questions=[LONG],
    )


def _not_understood() -> Any:
    wrong = Sample(line=7, column=3, field="R450", message=LONG, mend=LONG)
    return Sample(error=wrong)


def _job(state: str) -> Any:
    ended = state in ("done", "failed")
    return Sample(state=state, error=LONG, finished=ended, total=10, done=10 if ended else 4)


def _figure() -> margins.Margins:
    values = ("0.54", "0.95", "1.60")
    limit, u = Decimal("1.00"), Decimal("0.20")
    rows = [margins.Row(f"P{n}", Decimal(one), limit, u, LONG) for n, one in enumerate(values)]
    return margins.Margins(LONG, "ΔE00", Conditions("ΔE00", "D65", "10°", "45°:0°"), rows)


def _seal() -> Any:
    key = Sample(get_issuer_display="this installation", fingerprint=DIGEST)
    return Sample(
        sealed_at=WHEN,
        side_words="customer",
        holder=LONG,
        key=key,
        get_stamp_display="no outside time",
    )
