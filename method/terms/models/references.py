"""Clause 4, references: what specimens are compared with, and how it is kept."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from method.terms.models.base import (
    MAX_ITEMS,
    PRACTICE,
    About,
    AsSet,
    Clause,
    Count,
    Item,
    Number,
    Positive,
    Text,
)
from method.terms.models.tolerances import ILLUMINANT_WORDS, OBSERVER_WORDS, Angle, Illuminant
from method.words import gettext_noop

ReferenceKind = Literal[
    "approved_part", "moulded_plaque", "painted_panel", "reference_chip", "textile_swatch",
    "printed_sheet", "screen", "numbers",
]  # fmt: skip
MustMatch = Literal["effect", "finish", "substrate", "texture", "thickness"]
Target = Literal["stored_reading", "duplicate", "numbers"]
Direction = Literal[
    "lighter", "darker", "redder", "greener", "yellower", "bluer", "cleaner", "greyer",
    "glossier", "duller",
]  # fmt: skip

KIND_WORDS = {
    "approved_part": gettext_noop("an approved part"),
    "moulded_plaque": gettext_noop("a moulded plaque"),
    "painted_panel": gettext_noop("a painted panel"),
    "reference_chip": gettext_noop("a reference chip"),
    "textile_swatch": gettext_noop("a textile swatch"),
    "printed_sheet": gettext_noop("a printed sheet"),
    "screen": gettext_noop("a picture on a screen"),
    "numbers": gettext_noop("numbers alone"),
}
MATCH_WORDS = {
    "substrate": gettext_noop("substrate"),
    "thickness": gettext_noop("thickness"),
    "finish": gettext_noop("finish"),
    "texture": gettext_noop("texture"),
    "effect": gettext_noop("effect"),
}
TARGET_WORDS = {
    "stored_reading": gettext_noop("the stored reading of the master"),
    "duplicate": gettext_noop("a fresh reading of one's own duplicate"),
    "numbers": gettext_noop("the numbers given in these terms"),
}
DIRECTION_WORDS = {
    "lighter": gettext_noop("lighter"),
    "darker": gettext_noop("darker"),
    "redder": gettext_noop("redder"),
    "greener": gettext_noop("greener"),
    "yellower": gettext_noop("yellower"),
    "bluer": gettext_noop("bluer"),
    "cleaner": gettext_noop("cleaner"),
    "greyer": gettext_noop("greyer"),
    "glossier": gettext_noop("glossier"),
    "duller": gettext_noop("duller"),
}


class LimitSample(Item):
    """A physical piece at the limit of what is accepted in one direction."""

    PREFIX: ClassVar[str] = "lim"
    NAME: ClassVar[str] = gettext_noop("Limit sample")
    SAYS: ClassVar[str] = gettext_noop("Limit sample %(label)s: the limit %(direction)s. %(note)s")

    label: Annotated[Text, About(gettext_noop("Label"), gettext_noop("As marked on it."))] = ""
    direction: Annotated[
        Direction | None,
        About(gettext_noop("Direction"), choices=DIRECTION_WORDS, glossary=("limit-sample",)),
    ] = None
    note: Annotated[Text, About(gettext_noop("Note"))] = ""


class TargetValue(Item):
    """A target given as numbers, for one illuminant and colorimetric observer."""

    PREFIX: ClassVar[str] = "tgt"
    NAME: ClassVar[str] = gettext_noop("Target value")
    SAYS: ClassVar[str] = gettext_noop(
        "Target under %(illuminant)s, colorimetric observer %(observer)s:"
        " L* %(l_star)s, a* %(a_star)s, b* %(b_star)s."
    )

    illuminant: Annotated[
        Illuminant | None,
        About(gettext_noop("Illuminant"), choices=ILLUMINANT_WORDS, glossary=("illuminant",)),
    ] = None
    observer: Annotated[
        Angle | None,
        About(
            gettext_noop("Colorimetric observer"),
            choices=OBSERVER_WORDS,
            glossary=("colorimetric-observer",),
        ),
    ] = None
    l_star: Annotated[Positive | None, About(gettext_noop("L*"))] = None
    a_star: Annotated[Number | None, About(gettext_noop("a*"))] = None
    b_star: Annotated[Number | None, About(gettext_noop("b*"))] = None


class References(Clause):
    """The reference specimens and the target."""

    TITLE: ClassVar[str] = gettext_noop("References")

    kind: Annotated[
        ReferenceKind | None,
        About(
            gettext_noop("Kind of reference"),
            gettext_noop("What the master is; it should be made as the part is."),
            suggest="approved_part",
            source=PRACTICE,
            choices=KIND_WORDS,
            says=gettext_noop("The reference is %(value)s."),
            glossary=("master",),
        ),
    ] = None
    designation: Annotated[
        Text,
        About(
            gettext_noop("Designation"),
            gettext_noop("Number or name under which the reference is known."),
            says=gettext_noop("Designation of the reference: %(value)s"),
        ),
    ] = ""
    edition: Annotated[
        Text,
        About(
            gettext_noop("Edition and variant"),
            gettext_noop("A number alone names different colours in different editions."),
            says=gettext_noop("Edition and variant: %(value)s"),
        ),
    ] = ""
    must_match: Annotated[
        tuple[MustMatch, ...],
        AsSet,
        About(
            gettext_noop("Must be like the part in"),
            gettext_noop("In what the reference may not differ from the part."),
            suggest=("finish", "substrate", "thickness"),
            source=PRACTICE,
            choices=MATCH_WORDS,
            says=gettext_noop("The reference is like the part in: %(value)s."),
        ),
    ] = ()
    target: Annotated[
        Target | None,
        About(
            gettext_noop("Target"),
            gettext_noop("What measured values are compared with."),
            suggest="stored_reading",
            source=PRACTICE,
            choices=TARGET_WORDS,
            says=gettext_noop("Readings are compared with %(value)s."),
            glossary=("target",),
        ),
    ] = None
    offset_applied: Annotated[
        bool,
        About(
            gettext_noop("Offset of the duplicate applied"),
            gettext_noop("The duplicate's measured offset from the master is taken off."),
            says=gettext_noop("The duplicate's offset from the master is applied."),
            says_not=gettext_noop("No offset of a duplicate is applied."),
            glossary=("duplicate",),
        ),
    ] = False
    target_values: Annotated[
        tuple[TargetValue, ...],
        Field(max_length=MAX_ITEMS),
        About(gettext_noop("Target values"), gettext_noop("Where the target is numbers.")),
    ] = ()
    limit_samples: Annotated[
        tuple[LimitSample, ...],
        Field(max_length=MAX_ITEMS),
        About(gettext_noop("Limit samples"), gettext_noop("Pieces at the limit of acceptance.")),
    ] = ()
    first_article_required: Annotated[
        bool,
        About(
            gettext_noop("First article required"),
            gettext_noop("A first article is approved before the first lot is released."),
            suggest="yes",
            source=PRACTICE,
            says=gettext_noop("A first article is approved before the first lot is released."),
            says_not=gettext_noop("No first article is asked."),
            glossary=("first-article",),
        ),
    ] = False
    replacement_months: Annotated[
        Count | None,
        About(
            gettext_noop("Replacement"),
            gettext_noop("A reference older than this, counted from opening, is replaced."),
            unit=gettext_noop("months"),
            suggest="12",
            source=PRACTICE,
            says=gettext_noop("References are replaced %(value)s months after opening."),
        ),
    ] = None
    single_use: Annotated[
        bool,
        About(
            gettext_noop("Single use"),
            gettext_noop("Tear-off chips are used once and kept with the lot."),
            says=gettext_noop("Reference chips are used once."),
            says_not=gettext_noop("References may be used again."),
            glossary=("tear-off-chip",),
        ),
    ] = False
    storage: Annotated[
        Text,
        About(
            gettext_noop("Storage"),
            gettext_noop("Dark, dry, at which temperature."),
            says=gettext_noop("Storage of references: %(value)s"),
        ),
    ] = ""
    drift_limit: Annotated[
        Positive | None,
        About(
            gettext_noop("Allowed drift"),
            gettext_noop("Difference of a reference from its first reading."),
            unit=gettext_noop("CIEDE2000 units"),
            suggest="0.30",
            source=PRACTICE,
            says=gettext_noop("A reference has drifted by at most %(value)s CIEDE2000 units."),
        ),
    ] = None
    duplicate_limit: Annotated[
        Positive | None,
        About(
            gettext_noop("Allowed difference of duplicates"),
            gettext_noop("Difference of a duplicate from the master."),
            unit=gettext_noop("CIEDE2000 units"),
            suggest="0.20",
            source=PRACTICE,
            says=gettext_noop(
                "A duplicate differs from the master by at most %(value)s CIEDE2000 units."
            ),
            glossary=("duplicate",),
        ),
    ] = None
    retained_pieces: Annotated[
        Count | None,
        About(
            gettext_noop("Retained pieces"),
            gettext_noop("Pieces of each lot that the supplier keeps for disputes."),
            unit=gettext_noop("pieces"),
            suggest="3",
            source=PRACTICE,
            says=gettext_noop("The supplier retains %(value)s pieces of each lot."),
            glossary=("retained-piece",),
        ),
    ] = None
    retained_months: Annotated[
        Count | None,
        About(
            gettext_noop("Retained for"),
            unit=gettext_noop("months"),
            suggest="12",
            source=PRACTICE,
            says=gettext_noop("Retained pieces are kept for %(value)s months."),
        ),
    ] = None
    sealed_pairs: Annotated[
        bool,
        About(
            gettext_noop("Sealed in pairs"),
            gettext_noop("Approved pieces are sealed in pairs, one for each side."),
            says=gettext_noop("Approved pieces are sealed in pairs, one for each side."),
            says_not=gettext_noop("Approved pieces are not sealed."),
            glossary=("sealed-sample",),
        ),
    ] = False
    reissue: Annotated[
        Text,
        About(
            gettext_noop("Re-issue of the master"),
            gettext_noop("How an old master is replaced: seen side by side, signed by both."),
            says=gettext_noop("Re-issue of the master: %(value)s"),
        ),
    ] = ""
