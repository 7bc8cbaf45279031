"""Clause 5, measurement: the instrument, its settings and the readings."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from method.terms.models.base import (
    MAX_ITEMS,
    MEMORY,
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
from method.terms.models.tolerances import GEOMETRY_WORDS, OBSERVER_WORDS, Angle, Geometry
from method.words import gettext_noop

InstrumentUse = Literal["none", "required"]
UvCondition = Literal["included", "excluded", "adjusted"]
MeasuringBacking = Literal["white", "black", "as_assembled", "self_backed"]

INSTRUMENT_WORDS = {
    "none": gettext_noop("no instrument is used"),
    "required": gettext_noop("an instrument is required"),
}
UV_WORDS = {
    "included": gettext_noop("included"),
    "excluded": gettext_noop("excluded"),
    "adjusted": gettext_noop("adjusted to D65"),
}
MEASURING_BACKING_WORDS = {
    "white": gettext_noop("white"),
    "black": gettext_noop("black"),
    "as_assembled": gettext_noop("as assembled"),
    "self_backed": gettext_noop("further pieces of the same material"),
}
Nanometres = Annotated[int, Field(ge=200, le=2500)]


class Place(Item):
    """A place on the piece where it is read."""

    PREFIX: ClassVar[str] = "plc"
    NAME: ClassVar[str] = gettext_noop("Measuring place")
    SAYS: ClassVar[str] = gettext_noop("Measuring place %(name)s: %(where)s.")

    name: Annotated[Text, About(gettext_noop("Name"))] = ""
    where: Annotated[Text, About(gettext_noop("Where on the piece"))] = ""


class Measurement(Clause):
    """How spectra are taken; without an instrument nothing else here binds."""

    TITLE: ClassVar[str] = gettext_noop("Measurement")

    instrument: Annotated[
        InstrumentUse | None,
        About(
            gettext_noop("Instrument"),
            gettext_noop("An agreement may do without: then a panel decides by eye."),
            suggest="required",
            choices=INSTRUMENT_WORDS,
            says=gettext_noop("In these terms %(value)s."),
        ),
    ] = None
    geometries: Annotated[
        tuple[Geometry, ...],
        AsSet,
        About(
            gettext_noop("Geometries"),
            gettext_noop("Effect finishes need several."),
            suggest=("di:8",),
            source=PRACTICE,
            choices=GEOMETRY_WORDS,
            says=gettext_noop("Geometries: %(value)s."),
            glossary=("geometry", "specular-component"),
        ),
    ] = ()
    aperture_min_mm: Annotated[
        Positive | None,
        About(
            gettext_noop("Least aperture"),
            gettext_noop("A small aperture loses light at the edge of translucent parts."),
            unit=gettext_noop("millimetres"),
            suggest="8",
            source=PRACTICE,
            says=gettext_noop("The measured area is at least %(value)s millimetres across."),
        ),
    ] = None
    uv: Annotated[
        UvCondition | None,
        About(
            gettext_noop("UV condition"),
            gettext_noop("Whether the instrument's light contains UV."),
            suggest="included",
            source=PRACTICE,
            choices=UV_WORDS,
            says=gettext_noop("UV in the instrument's light: %(value)s."),
        ),
    ] = None
    observer: Annotated[
        Angle | None,
        About(
            gettext_noop("Colorimetric observer"),
            suggest="10",
            source=PRACTICE,
            choices=OBSERVER_WORDS,
            says=gettext_noop("Colorimetric observer: %(value)s."),
            glossary=("colorimetric-observer",),
        ),
    ] = None
    grid_start_nm: Annotated[
        Nanometres | None,
        About(
            gettext_noop("First wavelength"),
            unit=gettext_noop("nanometres"),
            suggest="400",
            source=PRACTICE,
            says=gettext_noop("Readings begin at %(value)s nanometres or below."),
        ),
    ] = None
    grid_end_nm: Annotated[
        Nanometres | None,
        About(
            gettext_noop("Last wavelength"),
            unit=gettext_noop("nanometres"),
            suggest="700",
            source=PRACTICE,
            says=gettext_noop("Readings end at %(value)s nanometres or above."),
        ),
    ] = None
    grid_step_nm: Annotated[
        Annotated[int, Field(ge=1, le=50)] | None,
        About(
            gettext_noop("Step"),
            gettext_noop("The coarsest step allowed."),
            unit=gettext_noop("nanometres"),
            suggest="10",
            source=PRACTICE,
            says=gettext_noop("Readings are at most %(value)s nanometres apart."),
        ),
    ] = None
    backing: Annotated[
        MeasuringBacking | None,
        About(
            gettext_noop("Backing while measuring"),
            gettext_noop("Decides much of the result for translucent parts."),
            suggest="white",
            source=PRACTICE,
            choices=MEASURING_BACKING_WORDS,
            says=gettext_noop("Backing while measuring: %(value)s."),
        ),
    ] = None
    readings: Annotated[
        Annotated[int, Field(ge=1, le=1000)] | None,
        About(
            gettext_noop("Readings per specimen"),
            gettext_noop("Averaged as spectra before anything is computed."),
            unit=gettext_noop("readings"),
            suggest="3",
            source=PRACTICE,
            says=gettext_noop("At least %(value)s readings are averaged for each specimen."),
        ),
    ] = None
    places: Annotated[
        tuple[Place, ...],
        Field(max_length=MAX_ITEMS),
        About(gettext_noop("Measuring places"), gettext_noop("Where on the piece.")),
    ] = ()
    orientation: Annotated[
        Text,
        About(
            gettext_noop("Orientation"),
            gettext_noop("Of grain, flow or weave to the instrument."),
            says=gettext_noop("Orientation: %(value)s"),
        ),
    ] = ""
    temperature_min_c: Annotated[
        Number | None,
        About(
            gettext_noop("Least specimen temperature"),
            gettext_noop("Some colours change with temperature."),
            unit=gettext_noop("degrees Celsius"),
            suggest="21",
            source=PRACTICE,
            says=gettext_noop("Specimens are at %(value)s degrees Celsius or above."),
        ),
    ] = None
    temperature_max_c: Annotated[
        Number | None,
        About(
            gettext_noop("Greatest specimen temperature"),
            unit=gettext_noop("degrees Celsius"),
            suggest="25",
            source=PRACTICE,
            says=gettext_noop("Specimens are at %(value)s degrees Celsius or below."),
        ),
    ] = None
    age_hours_min: Annotated[
        Count | None,
        About(
            gettext_noop("Least age since making"),
            gettext_noop("Colours settle as parts cool and coatings cure."),
            unit=gettext_noop("hours"),
            suggest="24",
            source=PRACTICE,
            says=gettext_noop("Specimens are read %(value)s hours after making or later."),
        ),
    ] = None
    conditioning: Annotated[
        Text,
        About(
            gettext_noop("Conditioning"),
            gettext_noop("Humidity, cleaning, time in the room."),
            says=gettext_noop("Conditioning: %(value)s"),
        ),
    ] = ""
    calibration_months: Annotated[
        Count | None,
        About(
            gettext_noop("Calibration interval"),
            gettext_noop("The instrument's service calibration is not older."),
            unit=gettext_noop("months"),
            suggest="12",
            source=PRACTICE,
            says=gettext_noop("The instrument was calibrated within %(value)s months."),
        ),
    ] = None
    calibration_hours: Annotated[
        Count | None,
        About(
            gettext_noop("White calibration interval"),
            gettext_noop("Against the white tile, before readings."),
            unit=gettext_noop("hours"),
            suggest="8",
            source=PRACTICE,
            says=gettext_noop("The white tile was read within %(value)s hours."),
        ),
    ] = None
    repeatability_max: Annotated[
        Positive | None,
        About(
            gettext_noop("Greatest repeatability"),
            gettext_noop("Mean difference from the mean of repeated readings of a tile."),
            unit=gettext_noop("CIEDE2000 units"),
            suggest="0.10",
            source=MEMORY,
            says=gettext_noop("Repeatability is at most %(value)s CIEDE2000 units."),
            glossary=("repeatability",),
        ),
    ] = None
