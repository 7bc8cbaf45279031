"""Submission v1: one form whatever the order, ids from content, bad bytes refused by name."""

from __future__ import annotations

import json
import random
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from ledger.canonical import canonical_bytes, digest
from method.facts import (
    BoothFacts,
    GridFacts,
    InstrumentFacts,
    Light,
    ReferenceFacts,
    TargetFacts,
)
from method.submission import (
    Comparator,
    Conditions,
    Judgement,
    Lot,
    Measured,
    PublicReason,
    Reading,
    Sitting,
    Specimen,
    Submission,
    SubmissionError,
    blob_digests,
    parse_submission,
    submission_bytes,
)

FILE, MAPPING, PACKED, TERMS, TARGET = (digest(x.encode()) for x in "fmpty")
OTHER = digest(b"other")
BOOTH = BoothFacts(
    code="B-1",
    lights=(Light(illuminant="D65", lamp_hours=410), Light(illuminant="A", lamp_hours=35)),
    checked_on=date(2026, 3, 2),
)
INSTRUMENT = InstrumentFacts(
    code="SP-1",
    geometries=("45:0",),
    grid=GridFacts(start=400, stop=700, step=10),
    calibration_due=date(2026, 9, 1),
)
REFERENCE = ReferenceFacts(
    code="M-7", role="master", kind="approved_part", expires_on=date(2026, 12, 1)
)
GOOD = Judgement(observer="O-1", specimen="1", outcome="accept", qualified=True)
NOT_COUNTED = Judgement(
    observer="O-2",
    specimen="1",
    outcome="reject",
    directions=("yellower", "darker"),
    qualified=False,
    reasons=(PublicReason(id="observer_not_qualified", params={"day": "2026-03-03"}),),
)


def measured(file: str = FILE, packed: str = PACKED, rows: tuple[int, ...] = (0, 1)) -> Measured:
    return Measured(
        file=file,
        name="lot.csv",
        mapping=MAPPING,
        packed=packed,
        instrument=INSTRUMENT.id,
        measured_on=date(2026, 3, 3),
        zone="Europe/Rome",
        readings=tuple(Reading(row=row, specimen=str(row % 2 + 1)) for row in rows),
    )


def sitting(*judgements: Judgement, day: date = date(2026, 3, 3)) -> Sitting:
    return Sitting(
        day=day,
        zone="Europe/Rome",
        booth=BOOTH.id,
        comparator=Comparator(role="master", reference=REFERENCE.id),
        illuminants=("D65", "A"),
        entered_by="observer",
        judgements=judgements or (GOOD, NOT_COUNTED),
    )


def submission(**changes: Any) -> Submission:
    fields: dict[str, Any] = {
        "engine": "1.0.0",
        "purpose": "lot",
        "nth": 1,
        "dossier": "d-1",
        "terms": TERMS,
        "revision": 3,
        "part": "p-1",
        "lot": Lot(number="L-9", order="O-5", accepted_on=date(2026, 1, 9), quantity=500),
        "submitted_at": datetime(2026, 3, 4, 9, 30, tzinfo=UTC),
        "by": {"code": "S-2", "organisation": "ORG-2", "side": "supplier", "role": "quality_staff"},
        "specimens": (Specimen(label="2"), Specimen(label="1")),
        "conditions": Conditions(
            booths=(BOOTH,),
            instruments=(INSTRUMENT,),
            references=(REFERENCE,),
            targets=(
                TargetFacts(
                    source="stored_reading", reference=REFERENCE.id, packed=TARGET, rows=(0,)
                ),
            ),
        ),
        "measured": (measured(), measured(OTHER, OTHER)),
        "sittings": (sitting(), sitting(GOOD, day=date(2026, 3, 4))),
    }
    return Submission(**{**fields, **changes})


def test_bytes_parse_to_the_same_submission_and_back() -> None:
    data = submission_bytes(submission())
    again = parse_submission(data)
    assert again == submission()
    assert submission_bytes(again) == data
    assert json.loads(data)["schema"] == 1
    assert b"null" not in data


@given(st.randoms(use_true_random=False))
def test_the_order_of_files_sittings_and_their_parts_does_not_change_the_digest(
    rng: random.Random,
) -> None:
    def shuffled(items: Any) -> tuple[Any, ...]:
        return tuple(rng.sample(list(items), len(items)))

    files = [(FILE, PACKED), (OTHER, OTHER), (TERMS, TERMS)]
    made = tuple(measured(*file, rows=shuffled((0, 1, 2, 3))) for file in files)
    plain = submission(measured=tuple(measured(*file, rows=(0, 1, 2, 3)) for file in files))
    judgements = shuffled((GOOD, NOT_COUNTED))
    sat = (sitting(*judgements), sitting(GOOD, day=date(2026, 3, 4)))
    other = submission(
        measured=shuffled(made),
        sittings=shuffled(sat),
        specimens=shuffled((Specimen(label="1"), Specimen(label="2"))),
    )
    assert submission_bytes(other) == submission_bytes(plain)


def test_ids_derive_from_content_alone() -> None:
    assert sitting().id == sitting(NOT_COUNTED, GOOD).id
    assert sitting().id != sitting(day=date(2026, 3, 5)).id
    assert measured().id != measured(rows=(0,)).id
    assert len(measured().id) == 32


def test_a_forged_id_is_refused() -> None:
    value = submission().plain()
    value["sittings"][0]["id"] = "0" * 32
    with pytest.raises(SubmissionError, match="does not derive from the content"):
        parse_submission(canonical_bytes(value))


def test_the_same_file_handed_in_twice_counts_once() -> None:
    once = submission(measured=(measured(),))
    assert submission_bytes(submission(measured=(measured(), measured()))) == submission_bytes(once)


def test_a_reading_used_in_two_sets_is_refused() -> None:
    with pytest.raises(ValidationError, match="appears twice"):
        submission(measured=(measured(rows=(0, 1)), measured(rows=(1, 2))))


def test_times_are_utc_to_the_second_in_one_spelling() -> None:
    rome = timezone(timedelta(hours=1))
    local = submission(submitted_at=datetime(2026, 3, 4, 10, 30, 0, 999, tzinfo=rome))
    assert submission_bytes(local) == submission_bytes(submission())
    with pytest.raises(ValidationError, match="aware"):
        submission(submitted_at=datetime(2026, 3, 4, 9, 30))  # noqa: DTZ001 - the fault


def test_decimals_keep_their_resolution_and_floats_are_refused() -> None:
    light = Light(illuminant="D65", illuminance_lux=Decimal("1200.0"))
    assert light.plain()["illuminance_lux"] == "1200.0"
    for bad in (1.5, "1e3", "01", "NaN", "+1", ""):
        with pytest.raises(ValidationError):
            Light(illuminant="D65", illuminance_lux=bad)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"part": "p\0"}, "NUL"),
        ({"part": "p\ud800"}, "unicode"),
        ({"lot": None}, "without its lot"),
        ({"purpose": "first_article"}, "without its lot or article"),
        ({"nth": 0}, "nth"),
        ({"terms": "ABC"}, "terms"),
        ({"specimens": ()}, "specimen 1 is not among"),
        ({"conditions": Conditions()}, "is not among those of the submission"),
        ({"score": 14}, "score"),
    ],
)
def test_what_does_not_hold_together_is_refused(change: dict[str, Any], message: str) -> None:
    with pytest.raises(ValidationError, match=message):
        submission(**change)


def test_a_judgement_says_why_it_does_not_count() -> None:
    with pytest.raises(ValidationError, match="not qualified"):
        Judgement(observer="O-1", specimen="1", outcome="accept", qualified=False)


def test_a_judgement_under_a_light_not_used_is_refused() -> None:
    odd = Judgement(
        observer="O-1", specimen="1", illuminant="F11", outcome="accept", qualified=True
    )
    with pytest.raises(ValidationError, match="not a light used here"):
        sitting(odd)


def _unsorted(value: dict[str, Any]) -> dict[str, Any]:
    value["specimens"] = value["specimens"][::-1]
    return value


@pytest.mark.parametrize(
    ("data", "id", "place"),
    [
        (b"{", "not_canonical", "byte 1"),
        (b'{"schema": 1}', "not_canonical", "byte"),
        (canonical_bytes({"schema": 2}), "unknown_version", "schema"),
        (canonical_bytes([1]), "unknown_version", "schema"),
        (canonical_bytes({**submission().plain(), "nth": "1"}), "bad_field", "nth"),
        (canonical_bytes({**submission().plain(), "x": 1}), "bad_field", "x"),
        (canonical_bytes(_unsorted(submission().plain())), "not_in_order", "lists"),
        (canonical_bytes({**submission().plain(), "answers": None}), "not_in_order", "lists"),
        (canonical_bytes({**submission().plain(), "schema": True}), "not_in_order", "lists"),
    ],
)
def test_bad_bytes_are_refused_with_id_and_place(data: bytes, id: str, place: str) -> None:
    with pytest.raises(SubmissionError) as caught:
        parse_submission(data)
    assert caught.value.id == id
    assert place in caught.value.place


def test_blob_digests_list_terms_files_mappings_packed_sets_and_target() -> None:
    assert set(blob_digests(submission())) == {TERMS, FILE, MAPPING, PACKED, OTHER, TARGET}
    assert list(blob_digests(submission())) == sorted(blob_digests(submission()))
