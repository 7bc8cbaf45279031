"""Clause 6, tolerances: each keyed by what is compared, geometry and illuminant."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from method.terms.models.base import MAX_ITEMS, MEMORY, PRACTICE, About, Clause, Item, Positive
from method.words import gettext_noop

ComparedWith = Literal["target", "mating_part", "previous_lot", "among_pieces", "within_piece"]
Geometry = Literal[
    "45:0", "45as-15", "45as110", "45as15", "45as25", "45as45", "45as75", "de:8", "di:8",
]  # fmt: skip
Illuminant = Literal["A", "D65", "F11"]  # those whose weights the engine carries
Angle = Literal["2", "10"]
Formula = Literal["CIEDE2000"]

COMPARED_WORDS = {
    "target": gettext_noop("the target"),
    "mating_part": gettext_noop("the mating part"),
    "previous_lot": gettext_noop("the previous lot"),
    "among_pieces": gettext_noop("other pieces of the lot"),
    "within_piece": gettext_noop("other places of the same piece"),
}
GEOMETRY_WORDS = {
    "45:0": gettext_noop("45:0"),
    "di:8": gettext_noop("di:8 (specular included)"),
    "de:8": gettext_noop("de:8 (specular excluded)"),
    "45as-15": gettext_noop("45° with aspecular angle −15°"),
    "45as15": gettext_noop("45° with aspecular angle 15°"),
    "45as25": gettext_noop("45° with aspecular angle 25°"),
    "45as45": gettext_noop("45° with aspecular angle 45°"),
    "45as75": gettext_noop("45° with aspecular angle 75°"),
    "45as110": gettext_noop("45° with aspecular angle 110°"),
}
ILLUMINANT_WORDS = {
    "D65": gettext_noop("illuminant D65"),
    "A": gettext_noop("illuminant A"),
    "F11": gettext_noop("illuminant F11"),
}
OBSERVER_WORDS = {"2": gettext_noop("2°"), "10": gettext_noop("10°")}
FORMULA_WORDS = {"CIEDE2000": gettext_noop("CIEDE2000")}


class Tolerance(Item):
    """One limit on a colour difference; compared on printed decimals."""

    PREFIX: ClassVar[str] = "tol"
    NAME: ClassVar[str] = gettext_noop("Tolerance")
    SAYS: ClassVar[str] = gettext_noop(
        "Compared with %(compared_with)s under %(illuminant)s, geometry %(geometry)s:"
        " %(formula)s (%(k_l)s:%(k_c)s:%(k_h)s) at most %(limit)s, to %(decimals)s decimals;"
        " warning level %(warning)s."
    )

    compared_with: Annotated[
        ComparedWith | None,
        About(gettext_noop("Compared with"), suggest="target", choices=COMPARED_WORDS),
    ] = None
    geometry: Annotated[
        Geometry | None,
        About(
            gettext_noop("Geometry"),
            gettext_noop("Of the measurement; readings of unlike geometry are not compared."),
            suggest="di:8",
            source=PRACTICE,
            choices=GEOMETRY_WORDS,
            glossary=("geometry",),
        ),
    ] = None
    illuminant: Annotated[
        Illuminant | None,
        About(
            gettext_noop("Illuminant"),
            suggest="D65",
            source=PRACTICE,
            choices=ILLUMINANT_WORDS,
            glossary=("illuminant",),
        ),
    ] = None
    formula: Annotated[
        Formula | None,
        About(
            gettext_noop("Formula"),
            suggest="CIEDE2000",
            choices=FORMULA_WORDS,
            glossary=("ciede2000",),
        ),
    ] = None
    k_l: Annotated[
        Positive | None,
        About(
            gettext_noop("Factor kL"),
            gettext_noop("Parametric factor of the lightness difference."),
            suggest="1",
            source=gettext_noop("ISO/CIE 11664-6, reference conditions (from memory)"),
            glossary=("lightness-difference",),
        ),
    ] = None
    k_c: Annotated[
        Positive | None,
        About(
            gettext_noop("Factor kC"),
            gettext_noop("Parametric factor of the chroma difference."),
            suggest="1",
            source=gettext_noop("ISO/CIE 11664-6, reference conditions (from memory)"),
            glossary=("chroma-difference",),
        ),
    ] = None
    k_h: Annotated[
        Positive | None,
        About(
            gettext_noop("Factor kH"),
            gettext_noop("Parametric factor of the hue difference."),
            suggest="1",
            source=gettext_noop("ISO/CIE 11664-6, reference conditions (from memory)"),
            glossary=("hue-difference",),
        ),
    ] = None
    limit: Annotated[
        Positive | None,
        About(
            gettext_noop("Limit"),
            gettext_noop("The greatest difference that conforms, before uncertainty."),
            unit=gettext_noop("CIEDE2000 units"),
            suggest="1.00",
            source=PRACTICE,
            glossary=("tolerance",),
        ),
    ] = None
    decimals: Annotated[
        Annotated[int, Field(ge=0, le=4)] | None,
        About(
            gettext_noop("Decimals"),
            gettext_noop("Each value is rounded once to these, then compared."),
            suggest="2",
            source=MEMORY,
            glossary=("rounding",),
        ),
    ] = None
    warning: Annotated[
        Positive | None,
        About(
            gettext_noop("Warning level"),
            gettext_noop("Values above are marked; they still conform."),
            unit=gettext_noop("CIEDE2000 units"),
        ),
    ] = None


class Tolerances(Clause):
    """All limits that numbers are judged by."""

    TITLE: ClassVar[str] = gettext_noop("Tolerances")

    items: Annotated[
        tuple[Tolerance, ...],
        Field(max_length=MAX_ITEMS),
        About(gettext_noop("Tolerances"), gettext_noop("One for each condition compared.")),
    ] = ()
