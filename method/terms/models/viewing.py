"""Clause 3, viewing: the light, the booth, the room and how specimens are presented."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from method.terms.models.base import (
    ISO_3668,
    MAX_ITEMS,
    PRACTICE,
    About,
    AsSet,
    Clause,
    Count,
    Item,
    Positive,
    Text,
)
from method.words import gettext_noop

BoothLight = Literal["A", "D50", "D65", "F11", "F12", "F2", "LED-B3"]
Category = Literal["A", "B", "C", "D", "E"]
ViewingBacking = Literal["white", "grey", "black", "as_assembled"]
Frame = Literal["neutral_frame", "edge_to_edge", "none"]

LIGHT_WORDS = {
    "D65": gettext_noop("D65 (daylight)"),
    "D50": gettext_noop("D50 (daylight, warmer)"),
    "A": gettext_noop("A (incandescent)"),
    "F2": gettext_noop("F2 (cool white fluorescent)"),
    "F11": gettext_noop("F11 (three-band fluorescent, 4000 K)"),
    "F12": gettext_noop("F12 (three-band fluorescent, 3000 K)"),
    "LED-B3": gettext_noop("LED-B3 (blue-pumped LED)"),
}
CATEGORY_WORDS = {
    "A": gettext_noop("category A"),
    "B": gettext_noop("category B"),
    "C": gettext_noop("category C"),
    "D": gettext_noop("category D"),
    "E": gettext_noop("category E"),
}
VIEWING_BACKING_WORDS = {
    "white": gettext_noop("white"),
    "grey": gettext_noop("neutral grey"),
    "black": gettext_noop("black"),
    "as_assembled": gettext_noop("as assembled"),
}
FRAME_WORDS = {
    "neutral_frame": gettext_noop("within a neutral frame"),
    "edge_to_edge": gettext_noop("edge to edge"),
    "none": gettext_noop("without a frame"),
}
Degrees = Annotated[int, Field(ge=-90, le=90)]


class ViewingAngle(Item):
    """One pair of directions; effect finishes need several."""

    PREFIX: ClassVar[str] = "ang"
    NAME: ClassVar[str] = gettext_noop("Viewing angle")
    SAYS: ClassVar[str] = gettext_noop(
        "Lit at %(light_deg)s degrees and viewed at %(eye_deg)s degrees from the normal. %(note)s"
    )

    light_deg: Annotated[
        Degrees | None, About(gettext_noop("Light"), unit=gettext_noop("degrees"), suggest="0")
    ] = None
    eye_deg: Annotated[
        Degrees | None, About(gettext_noop("Eye"), unit=gettext_noop("degrees"), suggest="45")
    ] = None
    note: Annotated[Text, About(gettext_noop("Note"))] = ""


class Viewing(Clause):
    """The viewing booth and the manner of viewing."""

    TITLE: ClassVar[str] = gettext_noop("Viewing")

    primary: Annotated[
        BoothLight | None,
        About(
            gettext_noop("Primary illuminant"),
            gettext_noop("The light under which the judgement is made first."),
            suggest="D65",
            source=ISO_3668,
            choices=LIGHT_WORDS,
            says=gettext_noop("Primary illuminant: %(value)s."),
            glossary=("illuminant",),
        ),
    ] = None
    secondary: Annotated[
        tuple[BoothLight, ...],
        AsSet,
        About(
            gettext_noop("Secondary illuminants"),
            gettext_noop("A pair may match in daylight and part under lamplight."),
            suggest=("A",),
            source=ISO_3668,
            choices=LIGHT_WORDS,
            says=gettext_noop("Secondary illuminants: %(value)s."),
            glossary=("metamerism",),
        ),
    ] = ()
    simulator_category: Annotated[
        Category | None,
        About(
            gettext_noop("Simulator category, visible range"),
            gettext_noop("The worst category allowed; A is the best."),
            suggest="B",
            source=ISO_3668,
            choices=CATEGORY_WORDS,
            says=gettext_noop("The daylight simulator is of %(value)s or better (visible range)."),
            glossary=("simulator-category",),
        ),
    ] = None
    simulator_category_uv: Annotated[
        Category | None,
        About(
            gettext_noop("Simulator category, UV range"),
            gettext_noop("Matters for brightened and fluorescent colours."),
            suggest="C",
            source=ISO_3668,
            choices=CATEGORY_WORDS,
            says=gettext_noop("The daylight simulator is of %(value)s or better (UV range)."),
            glossary=("simulator-category",),
        ),
    ] = None
    illuminance_min_lx: Annotated[
        Count | None,
        About(
            gettext_noop("Least illuminance"),
            unit=gettext_noop("lux"),
            suggest="1000",
            source=ISO_3668,
            says=gettext_noop("Illuminance at the specimen: at least %(value)s lux."),
        ),
    ] = None
    illuminance_max_lx: Annotated[
        Count | None,
        About(
            gettext_noop("Greatest illuminance"),
            gettext_noop("Dark colours need the upper end."),
            unit=gettext_noop("lux"),
            suggest="4000",
            source=ISO_3668,
            says=gettext_noop("Illuminance at the specimen: at most %(value)s lux."),
        ),
    ] = None
    interior_l_min: Annotated[
        Positive | None,
        About(
            gettext_noop("Interior, least L*"),
            suggest="45",
            source=ISO_3668,
            says=gettext_noop("The booth's interior has L* of at least %(value)s."),
            glossary=("surround",),
        ),
    ] = None
    interior_l_max: Annotated[
        Positive | None,
        About(
            gettext_noop("Interior, greatest L*"),
            gettext_noop("About 65 or more for light colours."),
            suggest="55",
            source=ISO_3668,
            says=gettext_noop("The booth's interior has L* of at most %(value)s."),
        ),
    ] = None
    interior_ab_max: Annotated[
        Positive | None,
        About(
            gettext_noop("Interior, greatest a* and b*"),
            gettext_noop("In amount, each of a* and b*."),
            suggest="10",
            source=ISO_3668,
            says=gettext_noop("The interior's a* and b* are at most %(value)s in amount."),
        ),
    ] = None
    room_ab_max: Annotated[
        Positive | None,
        About(
            gettext_noop("Room, greatest a* and b*"),
            gettext_noop("Walls and things in view, apart from the booth's interior."),
            suggest="10",
            source=PRACTICE,
            says=gettext_noop("The room's a* and b* are at most %(value)s in amount."),
        ),
    ] = None
    room: Annotated[
        Text,
        About(
            gettext_noop("Room"),
            gettext_noop("White or neutral, darkened or lit, coloured things in view."),
            says=gettext_noop("The room: %(value)s"),
            glossary=("surround",),
        ),
    ] = ""
    angles: Annotated[
        tuple[ViewingAngle, ...],
        Field(max_length=MAX_ITEMS),
        About(
            gettext_noop("Viewing angles"),
            gettext_noop("One pair for solid colours, several for effect finishes."),
        ),
    ] = ()
    directional_light: Annotated[
        bool,
        About(
            gettext_noop("Directional light"),
            gettext_noop("Effect finishes are also seen in directional light while tilted."),
            says=gettext_noop("Specimens are also tilted in directional light."),
            says_not=gettext_noop("Directional light is not asked."),
        ),
    ] = False
    distance_mm: Annotated[
        Count | None,
        About(
            gettext_noop("Viewing distance"),
            unit=gettext_noop("millimetres"),
            suggest="500",
            source=PRACTICE,
            says=gettext_noop("Viewing distance: about %(value)s millimetres."),
        ),
    ] = None
    frame: Annotated[
        Frame | None,
        About(
            gettext_noop("Presentation"),
            gettext_noop("How specimen and reference lie beside each other."),
            suggest="edge_to_edge",
            source=PRACTICE,
            choices=FRAME_WORDS,
            says=gettext_noop("Specimen and reference are seen side by side, %(value)s."),
        ),
    ] = None
    backing: Annotated[
        ViewingBacking | None,
        About(
            gettext_noop("Backing while viewing"),
            suggest="grey",
            source=PRACTICE,
            choices=VIEWING_BACKING_WORDS,
            says=gettext_noop("Backing while viewing: %(value)s."),
        ),
    ] = None
    light_behind: Annotated[
        bool,
        About(
            gettext_noop("Light behind"),
            gettext_noop("Translucent parts are also judged with light from behind."),
            says=gettext_noop("Parts are also judged with light from behind."),
            says_not=gettext_noop("Parts are not judged with light from behind."),
        ),
    ] = False
    warm_up_minutes: Annotated[
        Count | None,
        About(
            gettext_noop("Warm-up"),
            gettext_noop("Time the lamps burn before the first judgement."),
            unit=gettext_noop("minutes"),
            suggest="15",
            source=PRACTICE,
            says=gettext_noop("Lamps burn for at least %(value)s minutes before judging."),
        ),
    ] = None
    lamp_hours_max: Annotated[
        Count | None,
        About(
            gettext_noop("Greatest lamp hours"),
            gettext_noop("Lamps are replaced before they have burnt longer."),
            unit=gettext_noop("hours"),
            suggest="2000",
            source=PRACTICE,
            says=gettext_noop("Lamps have burnt for at most %(value)s hours."),
        ),
    ] = None
    check_interval_days: Annotated[
        Count | None,
        About(
            gettext_noop("Booth check interval"),
            gettext_noop("Illuminance, lamps and interior are checked at least this often."),
            unit=gettext_noop("days"),
            suggest="30",
            source=PRACTICE,
            says=gettext_noop("The booth is checked at least every %(value)s days."),
        ),
    ] = None
