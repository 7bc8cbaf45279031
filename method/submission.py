"""Submission, version 1: everything that judging needs, frozen, in one canonical form.

A submission names every file, packed set, mapping and the terms by digest; the bytes are blobs
of the same chain. Ids of its parts derive from their content and lists are sorted by content,
so the same evidence gives the same bytes whatever the order of uploading (see
`method.documents`). Private facts about observers have no field here.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Iterator, Sequence
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
    Digest,
    Document,
    Identified,
    Moment,
    Text,
    by_id,
    sorted_by,
)
from method.facts import Positive
from method.submission_parts import (
    Article,
    Attachment,
    By,
    Comparator,
    Condition,
    Conditions,
    Judgement,
    Lot,
    Measured,
    Permission,
    PublicReason,
    Reading,
    Retained,
    Sitting,
    Specimen,
)

__all__ = [
    "BLOB_FIELDS", "PURPOSES", "SCHEMA", "Article", "Attachment", "By", "Comparator",
    "Condition", "Conditions", "Judgement", "Lot", "Measured", "Permission", "PublicReason",
    "Purpose", "Reading", "Retained", "Sitting", "Specimen", "Submission", "SubmissionError",
    "blob_digests", "parse_submission", "readings_of", "submission_bytes",
]  # fmt: skip

SCHEMA = 1
Purpose = Literal["first_article", "lot", "rejection", "referee", "joint_test"]
BLOB_FIELDS = frozenset(
    ("terms", "file", "mapping", "packed", "scan", "report", "certificate", "reading", "document")
)
PURPOSES: tuple[Purpose, ...] = ("first_article", "lot", "rejection", "referee", "joint_test")


class SubmissionError(ValueError):
    """Bytes that are no submission of a version read here; `place` names field and fault."""

    def __init__(self, id: str, place: str) -> None:
        super().__init__(f"{id}: {place}")
        self.id, self.place = id, place


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
    # `parse` has seen to the canonical form; the same text of both values is the same bytes
    if json.dumps(submission.plain(), sort_keys=True) != json.dumps(value, sort_keys=True):
        raise SubmissionError("not_in_order", "lists, ids or decimals are not in their one form")
    return submission


def blob_digests(submission: Submission) -> tuple[str, ...]:
    """Digests of every blob the submission refers to, sorted: terms, files, mappings, packed
    sets, target readings, certificates, scans, permissions. An entry lists all of them."""
    return tuple(sorted(set(_digests(submission.plain()))))


def readings_of(labels: Sequence[str], leave_out: Collection[int] = ()) -> tuple[Reading, ...]:
    """A reading for every row of a packed set by its labels, but for rows that read something
    else (the target, a tile)."""
    return tuple(
        Reading(row=row, specimen=label) for row, label in enumerate(labels) if row not in leave_out
    )


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
