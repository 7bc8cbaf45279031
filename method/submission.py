"""Submission, version 1: everything that judging needs, frozen, in one canonical form.

A submission names every file, packed set, mapping and the terms by digest; the bytes are blobs
of the same chain. Ids of its parts derive from their content and lists are sorted by content,
so the same evidence gives the same bytes whatever the order of uploading (see
`method.documents`). Private facts about observers have no field here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Annotated, Any, Literal

from pydantic import (
    ConfigDict,
    Field,
    StringConstraints,
    ValidationError,
    field_validator,
    model_validator,
)

from ledger.canonical import CanonicalError, canonical_bytes, parse
from method.documents import (
    Day,
    Digest,
    Document,
    Id,
    Identified,
    Moment,
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

SCHEMA = 1
Purpose = Literal["first_article", "lot", "rejection", "referee", "joint_test"]
BLOB_FIELDS = frozenset(
    ("terms", "file", "mapping", "packed", "scan", "report", "certificate", "reading", "document")
)
PURPOSES: tuple[Purpose, ...] = ("first_article", "lot", "rejection", "referee", "joint_test")
Direction = Literal[
    "lighter", "darker", "redder", "greener", "yellower", "bluer",
    "cleaner", "greyer", "glossier", "duller",
]  # fmt: skip


class SubmissionError(ValueError):
    """Bytes that are no submission of a version read here; `place` names field and fault."""

    def __init__(self, id: str, place: str) -> None:
        super().__init__(f"{id}: {place}")
        self.id, self.place = id, place


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
    """Other evidence: a file, and the evidence item of clause 8 that it answers."""

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
        return sorted_by(value, lambda one: (one.compared_with, one.label or ""), "target")


class Submission(Document):
    """Evidence handed in for one purpose under one revision and part of the terms.

    `nth` counts submissions for the same lot or article and purpose from 1; `answers` is the
    digest of the submission that this one stands beside (a rejection beside a release).
    """

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)

    version: Literal[1] = Field(default=1, alias="schema")
    engine: Annotated[str, StringConstraints(pattern=r"^[0-9]{1,4}(\.[0-9]{1,4}){2}$")]
    purpose: Purpose
    nth: Positive
    dossier: Text
    terms: Digest
    revision: Positive
    part: Text
    lot: Lot | None = None
    article: Article | None = None
    answers: Digest | None = None
    submitted_at: Moment
    by: By
    specimens: tuple[Specimen, ...]
    conditions: Conditions = Conditions()
    measured: tuple[Measured, ...] = ()
    sittings: tuple[Sitting, ...] = ()
    attachments: tuple[Attachment, ...] = ()
    retained: tuple[Retained, ...] = ()
    permissions: tuple[Permission, ...] = ()
    note: Text | None = None

    @field_validator("specimens")
    @classmethod
    def _specimens(cls, value: tuple[Specimen, ...]) -> tuple[Specimen, ...]:
        return sorted_by(value, lambda specimen: specimen.label, "specimen")

    @field_validator("measured")
    @classmethod
    def _measured(cls, value: tuple[Measured, ...]) -> tuple[Measured, ...]:
        ordered = by_id(value)
        rows = [(one.packed, reading.row) for one in ordered for reading in one.readings]
        sorted_by(rows, lambda row: row, "reading (packed set, row)")
        return ordered

    @field_validator("sittings")
    @classmethod
    def _sittings(cls, value: tuple[Sitting, ...]) -> tuple[Sitting, ...]:
        return by_id(value)

    @field_validator("attachments")
    @classmethod
    def _attachments(cls, value: tuple[Attachment, ...]) -> tuple[Attachment, ...]:
        return by_id(value)

    @field_validator("retained")
    @classmethod
    def _retained(cls, value: tuple[Retained, ...]) -> tuple[Retained, ...]:
        return sorted_by(value, lambda piece: piece.seal, "seal")

    @field_validator("permissions")
    @classmethod
    def _permissions(cls, value: tuple[Permission, ...]) -> tuple[Permission, ...]:
        return sorted_by(value, lambda one: one.document, "permission")

    @model_validator(mode="after")
    def _subject(self) -> Submission:
        needed = {"first_article": self.article, "lot": self.lot, "rejection": self.lot}
        if needed.get(self.purpose, self.lot or self.article) is None:
            raise ValueError(f"a submission for {self.purpose} without its lot or article")
        return self

    @model_validator(mode="after")
    def _resolves(self) -> Submission:
        for what, id, known in _links(self):
            if id is not None and id not in known:
                raise ValueError(f"{what} {id} is not among those of the submission")
        return self

    def plain(self) -> dict[str, Any]:
        """The JSON value; `None` is left out."""
        return self.model_dump(mode="json", exclude_none=True, by_alias=True)


def submission_bytes(submission: Submission) -> bytes:
    """Canonical bytes of a submission; the same evidence in any order gives the same bytes."""
    return canonical_bytes(submission.plain())


def parse_submission(data: bytes) -> Submission:
    """The submission of canonical bytes.

    Raises SubmissionError (id, place): `not_canonical`, `unknown_version`, `bad_field` with the
    path of the field, `not_in_order` where lists, ids or decimals are not in their one form.
    """
    try:
        value = parse(data)
    except CanonicalError as error:
        raise SubmissionError("not_canonical", str(error)) from None
    if not isinstance(value, dict) or value.get("schema") != SCHEMA:
        raise SubmissionError("unknown_version", f"schema is not {SCHEMA}")
    try:
        submission = Submission.model_validate(value)
    except ValidationError as error:
        first = error.errors()[0]
        place = ".".join(str(step) for step in first["loc"]) or "document"
        raise SubmissionError("bad_field", f"{place}: {first['msg']}") from None
    if submission_bytes(submission) != data:
        raise SubmissionError("not_in_order", "lists, ids or decimals are not in their one form")
    return submission


def blob_digests(submission: Submission) -> tuple[str, ...]:
    """Digests of every blob the submission refers to, sorted: terms, files, mappings, packed
    sets, target readings, certificates, scans, permissions. An entry lists all of them."""
    return tuple(sorted(set(_digests(submission.plain()))))


def _digests(value: Any) -> Iterator[str]:
    """Values of the fields that name a blob, at any depth."""
    if isinstance(value, dict):
        for key, item in value.items():
            if key in BLOB_FIELDS and isinstance(item, str):
                yield item
            else:
                yield from _digests(item)
    elif isinstance(value, list):
        for item in value:
            yield from _digests(item)


def _judgement_key(judgement: Judgement) -> tuple[str, str, str]:
    return (judgement.observer, judgement.specimen, judgement.illuminant or "")


def _links(submission: Submission) -> Iterator[tuple[str, str | None, frozenset[str]]]:
    """Every reference from one part of the submission to another: what, id, ids known."""
    conditions = submission.conditions
    booths = _ids(conditions.booths)
    instruments = _ids(conditions.instruments)
    references = _ids(conditions.references)
    labels = frozenset(specimen.label for specimen in submission.specimens)
    for target in conditions.targets:
        yield "reference", target.reference, references
        yield "instrument", target.instrument, instruments
    for measured in submission.measured:
        yield "instrument", measured.instrument, instruments
        for reading in measured.readings:
            yield "specimen", reading.specimen, labels
    for sitting in submission.sittings:
        yield "booth", sitting.booth, booths
        yield "reference", sitting.comparator.reference, references
        for judgement in sitting.judgements:
            yield "specimen", judgement.specimen, labels
    for piece in submission.retained:
        yield "specimen", piece.specimen, labels


def _ids(parts: Iterable[Identified]) -> frozenset[str]:
    return frozenset(part.id for part in parts)
