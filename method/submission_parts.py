"""The parts of a submission: who, what, readings, sittings, judgements, other evidence."""

from __future__ import annotations

from typing import Literal

from pydantic import field_validator, model_validator

from method.documents import (
    Day,
    Digest,
    Document,
    Id,
    Identified,
    Number,
    Text,
    Word,
    by_id,
    sorted_by,
)
from method.facts import (
    Approval,
    BoothFacts,
    Count,
    InstrumentFacts,
    Positive,
    ReferenceFacts,
    SamplingState,
    TargetFacts,
)

Direction = Literal[
    "lighter", "darker", "redder", "greener", "yellower", "bluer",
    "cleaner", "greyer", "glossier", "duller",
]  # fmt: skip


class By(Document):
    """Who submits: codes of the dossier, never names."""

    code: Text
    organisation: Text
    side: Word
    role: Word


class Lot(Document):
    """The lot judged. `accepted_on` is the day the order was accepted: it fixed the revision."""

    number: Text
    order: Text
    accepted_on: Day
    quantity: Positive
    made_on: Day | None = None


class Article(Document):
    """The first article judged."""

    number: Text
    quantity: Positive | None = None
    made_on: Day | None = None


class Specimen(Document):
    """One specimen drawn. `stratum` says where from (batch, rack, cavity, time)."""

    label: Text
    stratum: Text | None = None
    made_on: Day | None = None
    seal: Text | None = None


class Condition(Document):
    """How a set of readings was taken. What the mapping does not say is left out."""

    geometry: Text | None = None
    aperture_mm: Number | None = None
    uv: Text | None = None
    backing: Text | None = None
    temperature_c: Number | None = None
    age_hours: Number | None = None
    hours_since_white: Number | None = None
    orientation: Text | None = None


class Reading(Document):
    """One row of a packed set (from 0) and the specimen it reads."""

    row: Count
    specimen: Text
    place: Text | None = None


class Measured(Identified):
    """Readings from one file: the file as uploaded, the confirmed mapping, the packed values."""

    file: Digest
    name: Text
    mapping: Digest
    packed: Digest
    instrument: Id
    measured_on: Day
    zone: Text
    condition: Condition = Condition()
    readings: tuple[Reading, ...]

    @field_validator("readings")
    @classmethod
    def _readings(cls, value: tuple[Reading, ...]) -> tuple[Reading, ...]:
        if not value:
            raise ValueError("a measured set without readings")
        return sorted_by(value, lambda reading: reading.row, "row")


class PublicReason(Document):
    """A reason that the other side may read: an id of `method.reasons` and its parameters."""

    id: Word
    params: dict[str, str] = {}


class Judgement(Document):
    """What one observer said of one specimen. `illuminant` absent: under all of the sitting."""

    observer: Text
    specimen: Text
    illuminant: Text | None = None
    outcome: Literal["accept", "reject"]
    directions: tuple[Direction, ...] = ()
    grade: Text | None = None
    borrowed: bool | None = None
    qualified: bool
    reasons: tuple[PublicReason, ...] = ()

    @field_validator("directions")
    @classmethod
    def _directions(cls, value: tuple[Direction, ...]) -> tuple[Direction, ...]:
        return tuple(sorted(set(value)))

    @field_validator("reasons")
    @classmethod
    def _reasons(cls, value: tuple[PublicReason, ...]) -> tuple[PublicReason, ...]:
        return sorted_by(value, lambda one: (one.id, sorted(one.params.items())), "reason")

    @model_validator(mode="after")
    def _said_why(self) -> Judgement:
        if self.qualified == bool(self.reasons):
            raise ValueError("reasons stand with a judgement exactly when it is not qualified")
        return self


class Comparator(Document):
    """What the specimens were held against: a role of `ReferenceFacts` and the reference's id."""

    role: Word
    reference: Id | None = None


class Sitting(Identified):
    """A booth sitting. `day` and `zone` are the booth's local date and time zone."""

    day: Day
    zone: Text
    booth: Id
    procedure: Literal["release_check", "blind"] = "release_check"
    comparator: Comparator
    illuminants: tuple[Text, ...]
    warm_up_minutes: Count | None = None
    adaptation_minutes: Count | None = None
    entered_by: Literal["observer", "staff"]
    entered_by_code: Text | None = None
    scan: Digest | None = None
    judgements: tuple[Judgement, ...]

    @field_validator("illuminants")
    @classmethod
    def _illuminants(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(sorted(set(value)))

    @field_validator("judgements")
    @classmethod
    def _judgements(cls, value: tuple[Judgement, ...]) -> tuple[Judgement, ...]:
        key = _judgement_key
        return sorted_by(value, key, "judgement")

    @model_validator(mode="after")
    def _under_its_lights(self) -> Sitting:
        for judgement in self.judgements:
            if judgement.illuminant not in (None, *self.illuminants):
                raise ValueError(f"judgement under {judgement.illuminant}, not a light used here")
        return self


class Attachment(Identified):
    """Other evidence: a file, and the evidence item of clause 8 that it answers.

    Where clause 8 asks for none of its kind, `item` is the word of the kind.
    """

    item: Text
    file: Digest
    name: Text
    media_type: Text | None = None


class Retained(Document):
    """A piece kept back under seal."""

    seal: Text
    specimen: Text | None = None


class Permission(Document):
    """A signed waiver, permit or concession that bears on this submission, by digest.

    Everything it says stands in the document named; this engine carries none and refuses.
    """

    kind: Literal["waiver", "permit", "concession"]
    item: Text | None = None
    document: Digest


class Conditions(Document):
    """The facts of the day."""

    booths: tuple[BoothFacts, ...] = ()
    instruments: tuple[InstrumentFacts, ...] = ()
    references: tuple[ReferenceFacts, ...] = ()
    targets: tuple[TargetFacts, ...] = ()
    approval: Approval = Approval(outcome="none")
    sampling: SamplingState = SamplingState()

    @field_validator("booths")
    @classmethod
    def _booths(cls, value: tuple[BoothFacts, ...]) -> tuple[BoothFacts, ...]:
        return by_id(value)

    @field_validator("instruments")
    @classmethod
    def _instruments(cls, value: tuple[InstrumentFacts, ...]) -> tuple[InstrumentFacts, ...]:
        return by_id(value)

    @field_validator("references")
    @classmethod
    def _references(cls, value: tuple[ReferenceFacts, ...]) -> tuple[ReferenceFacts, ...]:
        return by_id(value)

    @field_validator("targets")
    @classmethod
    def _targets(cls, value: tuple[TargetFacts, ...]) -> tuple[TargetFacts, ...]:
        return sorted_by(value, _target_key, "target")


def _target_key(target: TargetFacts) -> tuple[str, str, str]:
    return (target.compared_with, target.label or "", target.geometry or "")


def _judgement_key(judgement: Judgement) -> tuple[str, str, str]:
    return (judgement.observer, judgement.specimen, judgement.illuminant or "")
