"""Samples of what two sides agree on: clauses with remarks, redlines, evidence, verdicts."""

from __future__ import annotations

from types import SimpleNamespace as Sample
from typing import Any

from django.utils.translation import gettext

from parties.gallery import invented
from parties.gallery.invented import CODE, OTHER_CODE, WHEN


def clauses() -> list[Any]:
    """A clause with everything, and one that says nothing."""
    limit = gettext("CIEDE2000 is at most 1.00 under D65, 10°.")
    open_words = gettext("The warning level is not said.")
    full = Sample(
        section=Sample(id="tolerances", number=6, title=gettext("Tolerances")),
        lines=[
            Sample(said=Sample(words=limit, said=True, item="tol-3f8k2q"), remarks=[_remark(1)]),
            Sample(said=Sample(words=invented.long(), said=True, item="tol-4h8k2q"), remarks=[]),
            Sample(said=Sample(words=open_words, said=False, item=""), remarks=[]),
        ],
        remarks=[_remark(2, struck=True), _remark(3, words=invented.long())],
    )
    bare = Sample(words=gettext("Nothing is said on changes."), said=False, item="")
    section = Sample(id="changes", number=9, title=gettext("Changes"))
    return [full, Sample(section=section, lines=[Sample(said=bare, remarks=[])], remarks=[])]


def _remark(number: int, *, struck: bool = False, words: str = "") -> Any:
    return Sample(
        pk=number,
        get_side_display=gettext("customer") if number % 2 else gettext("supplier"),
        author=CODE if number % 2 else OTHER_CODE,
        created_at=WHEN,
        text=words or invented.remark(),
        struck_at=WHEN if struck else None,
        struck_by=OTHER_CODE,
        struck_reason=gettext("Entered in the wrong clause."),
        side="customer",
    )


def redlines() -> list[dict[str, Any]]:
    """A line changed within, one taken out, one that is new, a long one."""

    def line(*texts: tuple[str, str]) -> list[Any]:
        return [Sample(text=text, mark=mark) for text, mark in texts]

    at_most = gettext("CIEDE2000 is at most") + " "
    return [
        {
            "was": line((at_most, ""), ("1.00", "del"), (".", "")),
            "now": line((at_most, ""), ("0.80", "ins"), (".", "")),
        },
        {"was": line((gettext("Lots are judged by eye alone."), "del")), "now": []},
        {"was": [], "now": line((gettext("Lots are measured, too."), "ins"))},
        {"was": line((invented.long(), "del")), "now": line((invented.long(), "ins"))},
    ]


def requirements() -> list[dict[str, Any]]:
    """A row in each state."""
    clause = gettext("8. Evidence")
    hue, sitting = gettext("Hue test of each observer"), gettext("Booth sitting")
    readings, piece = gettext("Readings of the specimens"), gettext("A piece retained under seal")
    waived = gettext("the customer waives it for this lot (concession 3)")
    rows = [
        (sitting, "met", gettext("met"), ""),
        (readings, "missing", gettext("missing"), gettext("no readings were handed in")),
        (hue, "invalid", gettext("invalid"), invented.reason()),
        (piece, "waived", gettext("waived"), waived),
        (invented.long(), "missing", gettext("missing"), invented.long()),
    ]
    return [
        {
            "what": what,
            "state": state,
            "state_words": words,
            "required": state != "waived",
            "reasons": [Sample(words=why, clause=clause)] if why else [],
        }
        for what, state, words, why in rows
    ]


def verdicts() -> list[dict[str, Any] | None]:
    """One with each outcome, and none yet."""
    rule = gettext("release: the supplier proves conformity")
    said = [
        ("conforming", gettext("conforming"), gettext("Your quality lead can release the lot."),
         gettext("all 12 specimens are within the limit less U")),
        ("nonconforming", gettext("nonconforming"),
         gettext("The lot cannot be released. Sort, rework or withdraw it, then hand in again."),
         gettext("specimen P3 is beyond the limit plus U")),
        ("inconclusive", gettext("inconclusive"),
         gettext(
             "Nothing is proven either way. Judge or measure more specimens and hand in again."
         ),
         gettext("specimen P2 is between: nothing is proven")),
        ("incomplete", gettext("incomplete"),
         gettext("Complete the evidence named below and hand in again."), invented.reason()),
    ]  # fmt: skip
    made: list[dict[str, Any] | None] = [
        {
            "outcome": outcome,
            "outcome_words": words,
            "next": then,
            "reasons": [Sample(words=why, clause=gettext("6. Tolerances"))],
            "rule": rule,
        }
        for outcome, words, then, why in said
    ]
    return [*made, None]


def tolerance() -> dict[str, str]:
    """What the numbers below it were computed for."""
    return {
        "formula": "CIEDE2000",
        "illuminant": "D65",
        "observer": "10",
        "geometry_words": "45:0",
        "compared_words": gettext("sealed sample M-1"),
        "limit": "1.00",
        "uncertainty": "0.20",
    }
