"""A verdict in words, in the reader's language: what page and PDF show of the frozen bytes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from ledger.canonical import parse
from method.reasons import words
from method.submission import parse_submission
from method.terms.models import CLAUSES, Clauses
from method.terms.models.decision import FINDING_WORDS
from method.terms.models.evidence import EVIDENCE_WORDS
from method.terms.models.references import (
    DIRECTION_WORDS,
)
from method.terms.models.tolerances import COMPARED_WORDS, GEOMETRY_WORDS
from method.words import gettext_noop
from shipments.conditions import conditions
from shipments.models import Verdict

RULES = {
    "release": gettext_noop("release: the supplier proves conformity"),
    "rejection": gettext_noop("rejection: the customer proves nonconformity"),
}
STATES = {
    "met": gettext_noop("met"),
    "missing": gettext_noop("missing"),
    "invalid": gettext_noop("invalid"),
}
# Not in clause 8: what clause 4 asks for before the first lot.
APPROVAL = {"first_article_approval": gettext_noop("approval of the first article")}
JUDGEMENTS = {"accept": gettext_noop("accept"), "reject": gettext_noop("reject")}
ZONES = {
    "within": gettext_noop("within the limit less U"),
    "between": gettext_noop("between: nothing is proven"),
    "beyond": gettext_noop("beyond the limit plus U"),
}
STATE_OF = {"within": "conforming", "between": "inconclusive", "beyond": "nonconforming"}

WHAT_NEXT = {
    ("lot", "conforming"): _("Your quality lead can release the lot."),
    ("lot", "nonconforming"): _(
        "The lot cannot be released. Sort, rework or withdraw it, then hand in again."
    ),
    ("lot", "inconclusive"): _(
        "Nothing is proven either way. Judge or measure more specimens and hand in again."
    ),
    ("lot", "incomplete"): _("Complete the evidence named below and hand in again."),
    ("first_article", "conforming"): _("The customer can approve the first article."),
    ("first_article", "nonconforming"): _("The customer decides; a correction is likely."),
    ("first_article", "inconclusive"): _("The customer decides, by eye if the numbers cannot."),
    ("first_article", "incomplete"): _("Complete the evidence named below and submit again."),
    ("rejection", "conforming"): _(
        "The customer's own evidence does not bear the rejection out. Compare both sides' "
        "conditions and numbers."
    ),
    ("rejection", "nonconforming"): _(
        "The customer's evidence bears the rejection out. Answer, then offer a remedy."
    ),
    ("rejection", "inconclusive"): _("Neither side has proven its point. Examine together."),
    ("rejection", "incomplete"): _("The customer's evidence lacks what is named below."),
}


@dataclass(frozen=True)
class Line:
    """One reason or finding: words, clause title, its item's id."""

    words: str
    clause: str
    item: str = ""


def reason_line(reason: Mapping[str, Any]) -> Line:
    """A reason of the verdict in words."""
    return Line(words(reason, gettext), clause_title(reason["clause"]), reason.get("item", ""))


def said(words: Mapping[str, str], value: str) -> str:
    """The translated word of a value, or the value where it is none (or a list of them)."""
    parts = [gettext(words[part]) if part in words else part for part in value.split(", ")]
    return ", ".join(parts)


def clause_title(name: str) -> str:
    """Number and title of a clause."""
    names = list(CLAUSES)
    title: str = Clauses.model_fields[name].annotation.TITLE  # type: ignore[union-attr]
    return f"{names.index(name) + 1} {gettext(title)}"  # type: ignore[arg-type]


def lines(reasons: Iterable[Mapping[str, Any]]) -> list[Line]:
    """Reasons in words."""
    return [reason_line(reason) for reason in reasons]


def shown(verdict: Verdict) -> dict[str, Any]:
    """Everything that page and PDF show of a verdict."""
    value = parse(bytes(verdict.bytes))
    document = parse_submission(bytes(verdict.submission.bytes))
    next_step = WHAT_NEXT[verdict.submission.purpose, value["outcome"]]
    return {
        "outcome": value["outcome"],
        "outcome_words": verdict.get_outcome_display(),
        "next": next_step,
        "rule": said(RULES, value["rule"]),
        "reasons": lines(value["reasons"]),
        "evidence": [_evidence(one) for one in value["evidence"]],
        "visual": _visual(value["visual"]),
        "instrument": _instrument(value["instrument"]),
        "conditions": conditions(document),
        "engine": value["engine"],
        "grid": value["conditions"].get("grid"),
        "coverage_factor": value["conditions"].get("coverage_factor"),
    }


def _evidence(one: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "what": said(EVIDENCE_WORDS | APPROVAL, one["what"]),
        "state": one["state"],
        "state_words": said(STATES, one["state"]),
        "required": one["required"],
        "reasons": lines(one["reasons"]),
    }


def _visual(value: Mapping[str, Any]) -> dict[str, Any]:
    """The panel's part: counts, specimens, every judgement with whether it counted."""
    judgements = [
        {
            **one,
            "outcome_words": said(JUDGEMENTS, one["outcome"]),
            "directions_words": ", ".join(
                said(DIRECTION_WORDS, direction) for direction in one.get("directions", [])
            ),
            "reasons": lines(one["reasons"]),
        }
        for one in value["judgements"]
    ]
    return {
        **value,
        "outcome_words": said(FINDING_WORDS, value["outcome"]),
        "specimens": [_outcome(one) for one in value["specimens"]],
        "judgements": judgements,
    }


def _outcome(one: Mapping[str, Any]) -> dict[str, Any]:
    return {**one, "outcome_words": said(FINDING_WORDS, one["outcome"])}


def _instrument(value: Mapping[str, Any]) -> dict[str, Any]:
    """The instrument's part: each tolerance with its whole condition and every value."""
    items = [
        {
            **item,
            "compared_words": said(COMPARED_WORDS, item["compared_with"]),
            "geometry_words": said(GEOMETRY_WORDS, item.get("geometry", "")),
            "rows": [
                {**one, "zone_words": said(ZONES, one["zone"]), "state": STATE_OF[one["zone"]]}
                for one in item["values"]
            ],
        }
        for item in value["items"]
    ]
    return {
        **value,
        "outcome_words": said(FINDING_WORDS, value["outcome"]),
        "specimens": [_outcome(one) for one in value["specimens"]],
        "items": items,
    }
