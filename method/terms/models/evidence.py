"""Clause 8, evidence due: what is handed in, by whom, on which occasion."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from method.terms.models.base import MAX_ITEMS, About, Clause, Count, Item, Text
from method.words import gettext_noop

EvidenceKind = Literal[
    "spectral", "visual", "reference_chip", "limit_samples", "physical_piece", "booth_report",
    "calibration_certificate", "photograph", "process_record",
]  # fmt: skip
Supplying = Literal["supplier", "customer"]
Occasion = Literal["first_article", "release", "rejection"]
DueBy = Literal["with_submission", "before_shipment", "with_shipment"]

EVIDENCE_WORDS = {
    "spectral": gettext_noop("spectral readings"),
    "visual": gettext_noop("visual judgements of the panel"),
    "reference_chip": gettext_noop("the reference chip used"),
    "limit_samples": gettext_noop("comparison with the limit samples"),
    "physical_piece": gettext_noop("pieces of the lot"),
    "booth_report": gettext_noop("the booth's service report"),
    "calibration_certificate": gettext_noop("the instrument's calibration certificate"),
    "photograph": gettext_noop("photographs"),
    "process_record": gettext_noop("the record of the process"),
}
SUPPLYING_WORDS = {
    "supplier": gettext_noop("the supplier"),
    "customer": gettext_noop("the customer"),
}
OCCASION_WORDS = {
    "first_article": gettext_noop("for the first article"),
    "release": gettext_noop("for release"),
    "rejection": gettext_noop("for rejection"),
}
DUE_WORDS = {
    "with_submission": gettext_noop("with the submission"),
    "before_shipment": gettext_noop("before shipment"),
    "with_shipment": gettext_noop("with the shipment"),
}


class EvidenceDue(Item):
    """One piece of evidence; a required one that is missing makes the verdict incomplete."""

    PREFIX: ClassVar[str] = "evd"
    NAME: ClassVar[str] = gettext_noop("Evidence due")
    SAYS: ClassVar[str] = gettext_noop(
        "Due %(occasion)s: %(supplied_by)s hands in %(what)s %(due)s. Required: %(required)s."
        " Signed by a lead: %(signed_by_lead)s. Pieces: %(pieces)s. %(note)s"
    )

    what: Annotated[
        EvidenceKind | None,
        About(gettext_noop("What"), choices=EVIDENCE_WORDS, glossary=("evidence-due",)),
    ] = None
    supplied_by: Annotated[
        Supplying | None, About(gettext_noop("From"), choices=SUPPLYING_WORDS)
    ] = None
    occasion: Annotated[
        Occasion | None, About(gettext_noop("Occasion"), choices=OCCASION_WORDS)
    ] = None
    due: Annotated[
        DueBy | None, About(gettext_noop("By when"), suggest="with_submission", choices=DUE_WORDS)
    ] = None
    required: Annotated[
        bool,
        About(
            gettext_noop("Required"),
            gettext_noop("Without it the verdict is incomplete."),
            suggest="yes",
        ),
    ] = False
    signed_by_lead: Annotated[
        bool,
        About(gettext_noop("Signed by a lead"), gettext_noop("A quality lead signs for it.")),
    ] = False
    pieces: Annotated[Count | None, About(gettext_noop("Pieces"), unit=gettext_noop("pieces"))] = (
        None
    )
    note: Annotated[Text, About(gettext_noop("Note"))] = ""


class Evidence(Clause):
    """All evidence due."""

    TITLE: ClassVar[str] = gettext_noop("Evidence due")

    items: Annotated[
        tuple[EvidenceDue, ...],
        Field(max_length=MAX_ITEMS),
        About(gettext_noop("Evidence due"), gettext_noop("What each side hands in.")),
    ] = ()
