"""The facts of the day that a submission freezes: booths, instruments, references, targets.

Only public facts stand here. Error scores, eye examinations and private reasons have no field
in any of these documents. What a register does not know is left out, and the evidence check
says so; nothing is assumed. `code` is the label of the thing in its owner's register.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator

from method.documents import (
    Day,
    Digest,
    Document,
    Id,
    Identified,
    Number,
    Text,
    Word,
    sorted_by,
)

Count = Annotated[int, Field(strict=True, ge=0, le=10**9)]
Category = Literal["A", "B", "C", "D", "E"]
Positive = Annotated[int, Field(strict=True, ge=1, le=10**9)]


class Lab(Document):
    """CIE 1976 L*a*b* coordinates."""

    L: Number
    a: Number
    b: Number


class Light(Document):
    """One light of a booth on the day: hours run, and what is known of its quality.

    `category` and `category_uv` are the simulator categories A to E (visible, UV range), measured
    or declared; `lamp_limit` is the owner's own relamping limit in hours, where one is kept.
    """

    illuminant: Text
    technology: Text | None = None
    lamp_hours: Count | None = None
    lamp_limit: Count | None = None
    category: Category | None = None
    category_uv: Category | None = None
    category_source: Literal["measured", "declared"] | None = None
    illuminance_lux: Number | None = None


class BoothFacts(Identified):
    """A viewing booth on one day."""

    code: Text
    lights: tuple[Light, ...] = ()
    checked_on: Day | None = None
    interior: Lab | None = None
    interior_text: Text | None = None
    surround: Lab | None = None
    report: Digest | None = None

    @field_validator("lights")
    @classmethod
    def _lights(cls, value: tuple[Light, ...]) -> tuple[Light, ...]:
        return sorted_by(value, lambda light: light.illuminant, "light")


class GridFacts(Document):
    """A regular wavelength grid in nanometres."""

    start: Positive
    stop: Positive
    step: Positive


class InstrumentFacts(Identified):
    """A measuring instrument on one day."""

    code: Text
    geometries: tuple[Text, ...] = ()
    apertures_mm: tuple[Number, ...] = ()
    uv: tuple[Text, ...] = ()
    grid: GridFacts | None = None
    calibrated_on: Day | None = None
    calibration_due: Day | None = None
    repeatability: Number | None = None
    certificate: Digest | None = None

    @field_validator("geometries", "uv")
    @classmethod
    def _texts(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(sorted(set(value)))

    @field_validator("apertures_mm")
    @classmethod
    def _apertures(cls, value: tuple[Number, ...]) -> tuple[Number, ...]:
        return sorted_by(value, lambda aperture: aperture, "aperture")


class Numbers(Document):
    """CIELAB numbers (or differences) for one illuminant and colorimetric observer ("2", "10")."""

    illuminant: Text
    observer: Text
    lab: Lab


def _numbers_key(one: Numbers) -> tuple[str, str]:
    return (one.illuminant, one.observer)


class ReferenceFacts(Identified):
    """A reference specimen on one day.

    `role` is its place in the system (master, duplicate, limit_sample, previous_lot,
    mating_part), `kind` what it is by the words of clause 4. `like_part` names in what it is made
    as the part is. `offsets` are measured differences of a duplicate from its master (duplicate
    minus master), `drift` its difference from its own first reading.
    """

    code: Text
    role: Word
    kind: Word | None = None
    like_part: tuple[Word, ...] = ()
    master: Text | None = None
    substrate: Text | None = None
    finish: Text | None = None
    thickness_mm: Number | None = None
    edition: Text | None = None
    chip: Text | None = None
    issued_on: Day | None = None
    opened_on: Day | None = None
    expires_on: Day | None = None
    offsets: tuple[Numbers, ...] = ()
    drift: Number | None = None
    difference: Number | None = None
    seal: Text | None = None
    reading: Digest | None = None

    @field_validator("like_part")
    @classmethod
    def _like_part(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(sorted(set(value)))

    @field_validator("offsets")
    @classmethod
    def _offsets(cls, value: tuple[Numbers, ...]) -> tuple[Numbers, ...]:
        return sorted_by(value, _numbers_key, "offset")


class TargetFacts(Document):
    """What readings are compared with, under one `compared_with` of the tolerance items.

    The reading is the mean of `rows` of the packed set, or `numbers` (targets given as numbers
    in the terms need no facts here). `source` is a word of clause 4 (stored_reading, duplicate,
    numbers). `reference` is the id of the reference read, `instrument` of the instrument used.
    """

    compared_with: Word = "target"
    label: Text | None = None
    source: Word
    reference: Id | None = None
    packed: Digest | None = None
    rows: tuple[Count, ...] = ()
    file: Digest | None = None
    mapping: Digest | None = None
    read_on: Day | None = None
    instrument: Id | None = None
    geometry: Text | None = None
    numbers: tuple[Numbers, ...] = ()

    @field_validator("rows")
    @classmethod
    def _rows(cls, value: tuple[int, ...]) -> tuple[int, ...]:
        return sorted_by(value, lambda row: row, "row")

    @field_validator("numbers")
    @classmethod
    def _numbers(cls, value: tuple[Numbers, ...]) -> tuple[Numbers, ...]:
        return sorted_by(value, _numbers_key, "target numbers")


class Approval(Document):
    """What the chain says of the first article on the day of submission.

    `taken_up` counts the pieces already released under an approval with limits.
    """

    outcome: Literal["none", "approved", "approved_with_limits", "returned"]
    article: Text | None = None
    submission: Digest | None = None
    decided_on: Day | None = None
    quantity: Count | None = None
    taken_up: Count | None = None
    until: Day | None = None


class SamplingState(Document):
    """Where the sampling scheme stands: a fixed plan has no history (`fixed`)."""

    state: Word = "fixed"
    strata: tuple[Text, ...] = ()

    @field_validator("strata")
    @classmethod
    def _strata(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(sorted(set(value)))
