"""Clause 7, decision: how findings become one of the verdict's words."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from method.terms.models.base import (
    PRACTICE,
    About,
    AsSet,
    Clause,
    Count,
    Item,
    Positive,
)
from method.words import gettext_noop

Finding = Literal["conforming", "nonconforming", "inconclusive", "not_asked"]
Outcome = Literal["conforming", "nonconforming", "inconclusive"]
PanelRule = Literal["all", "majority", "at_least"]
Rule = Literal["guarded"]  # acceptance limit = limit minus uncertainty, on both sides of it
ZoneBearer = Literal["supplier", "customer", "nobody"]
UncertaintyKind = Literal["declared"]
Rounding = Literal["half_even", "half_up"]
SamplingKind = Literal["fixed", "every_piece"]
Stratum = Literal["batch", "cavity", "rack", "time"]

FINDING_WORDS = {
    "conforming": gettext_noop("conforming"),
    "nonconforming": gettext_noop("nonconforming"),
    "inconclusive": gettext_noop("inconclusive"),
    "not_asked": gettext_noop("not asked"),
}
OUTCOME_WORDS = {
    "conforming": gettext_noop("conforming"),
    "nonconforming": gettext_noop("nonconforming"),
    "inconclusive": gettext_noop("inconclusive"),
}
PANEL_RULE_WORDS = {
    "all": gettext_noop("all observers accept it"),
    "majority": gettext_noop("more than half of the observers accept it"),
    "at_least": gettext_noop("at least the number of observers given here accept it"),
}
RULE_WORDS = {
    "guarded": gettext_noop("the limit less the uncertainty, and the limit plus the uncertainty"),
}
ZONE_WORDS = {
    "supplier": gettext_noop("counts as conforming: the supplier has the benefit"),
    "customer": gettext_noop("counts as nonconforming: the customer has the benefit"),
    "nobody": gettext_noop("is inconclusive: nobody has the benefit"),
}
UNCERTAINTY_WORDS = {"declared": gettext_noop("declared in these terms")}
ROUNDING_WORDS = {
    "half_even": gettext_noop("halves to the even digit"),
    "half_up": gettext_noop("halves away from zero"),
}
SAMPLING_WORDS = {
    "fixed": gettext_noop("a fixed number of pieces"),
    "every_piece": gettext_noop("every piece"),
}
STRATUM_WORDS = {
    "batch": gettext_noop("batch"),
    "rack": gettext_noop("rack"),
    "cavity": gettext_noop("cavity"),
    "time": gettext_noop("time of making"),
}


class Combination(Item):
    """One row of the table that combines the eye's and the instrument's findings."""

    PREFIX: ClassVar[str] = "cmb"
    NAME: ClassVar[str] = gettext_noop("Row of the combination table")
    SAYS: ClassVar[str] = gettext_noop(
        "By eye %(visual)s, by instrument %(instrument)s: the verdict is %(outcome)s."
    )

    visual: Annotated[Finding | None, About(gettext_noop("By eye"), choices=FINDING_WORDS)] = None
    instrument: Annotated[
        Finding | None, About(gettext_noop("By instrument"), choices=FINDING_WORDS)
    ] = None
    outcome: Annotated[Outcome | None, About(gettext_noop("Outcome"), choices=OUTCOME_WORDS)] = None


class Decision(Clause):
    """Combination, panel rule, decision rules, uncertainty, rounding, sampling."""

    TITLE: ClassVar[str] = gettext_noop("Decision")

    combination: Annotated[
        tuple[Combination, ...],
        Field(max_length=16),
        About(
            gettext_noop("Combination table"),
            gettext_noop(
                "What follows from each pair of findings; pairs left out are inconclusive."
            ),
        ),
    ] = ()
    panel_rule: Annotated[
        PanelRule | None,
        About(
            gettext_noop("Panel rule"),
            gettext_noop("When a specimen judged by a panel conforms."),
            suggest="majority",
            source=PRACTICE,
            choices=PANEL_RULE_WORDS,
            says=gettext_noop("A specimen conforms by eye when %(value)s."),
            glossary=("panel",),
        ),
    ] = None
    panel_number: Annotated[
        Annotated[int, Field(ge=1, le=50)] | None,
        About(
            gettext_noop("Number of accepting observers"),
            gettext_noop("For the rule that names a number."),
            unit=gettext_noop("observers"),
            says=gettext_noop("Number of accepting observers needed: %(value)s."),
        ),
    ] = None
    rule_at_release: Annotated[
        Rule | None,
        About(
            gettext_noop("Rule at release"),
            gettext_noop("The supplier proves conformity; between the limits is inconclusive."),
            suggest="guarded",
            source=gettext_noop("ISO 14253-1 (from memory)"),
            choices=RULE_WORDS,
            says=gettext_noop(
                "At release, values are compared with %(value)s; between them nothing is proved."
            ),
            glossary=("decision-rule", "guard-band"),
        ),
    ] = None
    rule_at_rejection: Annotated[
        Rule | None,
        About(
            gettext_noop("Rule at rejection"),
            gettext_noop("The customer proves nonconformity."),
            suggest="guarded",
            source=gettext_noop("ISO 14253-1 (from memory)"),
            choices=RULE_WORDS,
            says=gettext_noop("At rejection, values are compared with %(value)s."),
            glossary=("decision-rule",),
        ),
    ] = None
    zone_at_rejection: Annotated[
        ZoneBearer | None,
        About(
            gettext_noop("Zone between the limits at rejection"),
            gettext_noop("Uncertainty counts against whoever provides the proof."),
            suggest="supplier",
            source=gettext_noop("ISO 14253-1 (from memory)"),
            choices=ZONE_WORDS,
            says=gettext_noop("At rejection, a value between the limits %(value)s."),
        ),
    ] = None
    uncertainty_kind: Annotated[
        UncertaintyKind | None,
        About(
            gettext_noop("Uncertainty"),
            gettext_noop("Where the uncertainty comes from."),
            suggest="declared",
            choices=UNCERTAINTY_WORDS,
            says=gettext_noop("The uncertainty is %(value)s."),
        ),
    ] = None
    uncertainty_value: Annotated[
        Positive | None,
        About(
            gettext_noop("Expanded uncertainty U"),
            gettext_noop("Of a colour difference, at the coverage factor given."),
            unit=gettext_noop("CIEDE2000 units"),
            suggest="0.20",
            source=PRACTICE,
            says=gettext_noop("Expanded uncertainty U of a difference: %(value)s CIEDE2000 units."),
            glossary=("uncertainty",),
        ),
    ] = None
    coverage_factor: Annotated[
        Positive | None,
        About(
            gettext_noop("Coverage factor k"),
            suggest="2",
            source=gettext_noop("JCGM 100 (from memory)"),
            says=gettext_noop("Coverage factor k = %(value)s."),
        ),
    ] = None
    rounding: Annotated[
        Rounding | None,
        About(
            gettext_noop("Rounding"),
            gettext_noop("How a value is rounded to the decimals of its tolerance."),
            suggest="half_even",
            source=gettext_noop("ASTM E29 (from memory)"),
            choices=ROUNDING_WORDS,
            says=gettext_noop("Values are rounded before comparison, %(value)s."),
            glossary=("rounding",),
        ),
    ] = None
    sampling_kind: Annotated[
        SamplingKind | None,
        About(
            gettext_noop("Sampling"),
            gettext_noop("Which pieces of a lot are judged."),
            suggest="fixed",
            source=PRACTICE,
            choices=SAMPLING_WORDS,
            says=gettext_noop("Of each lot, %(value)s is judged."),
            glossary=("acceptance-sampling",),
        ),
    ] = None
    sample_size: Annotated[
        Annotated[int, Field(ge=1, le=1_000_000)] | None,
        About(
            gettext_noop("Sample size n"),
            unit=gettext_noop("pieces"),
            suggest="5",
            source=PRACTICE,
            says=gettext_noop("Sample size: %(value)s pieces."),
        ),
    ] = None
    acceptance_number: Annotated[
        Count | None,
        About(
            gettext_noop("Acceptance number Ac"),
            gettext_noop("The lot conforms while no more pieces are nonconforming."),
            unit=gettext_noop("pieces"),
            suggest="0",
            source=PRACTICE,
            says=gettext_noop("Acceptance number: %(value)s nonconforming pieces."),
            glossary=("acceptance-number", "oc-curve"),
        ),
    ] = None
    strata: Annotated[
        tuple[Stratum, ...],
        AsSet,
        About(
            gettext_noop("Strata"),
            gettext_noop("Deviating pieces come in clumps: take some from each."),
            choices=STRATUM_WORDS,
            says=gettext_noop("Pieces are taken from each: %(value)s."),
            glossary=("stratum",),
        ),
    ] = ()
