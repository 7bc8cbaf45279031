"""Qualification on a day: every ground, both forms, and what the public form never says."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from method.days import months_after, valid_until
from method.qualification import HueTest, ObserverFacts, Qualified, qualified, score_class
from method.reasons import PRIVATE, REASONS, SCORE_CLASSES, words
from method.terms.models import Observers

DAY = date(2026, 3, 3)
CLAUSE = Observers(
    panel_size=3,
    greatest_score_panel=12,
    greatest_score_lead=8,
    tests_averaged="one",
    retest_months=24,
    grace_days=30,
    plate_screening=True,
    eye_exam_months=24,
    correction_worn=True,
    training_required=True,
    borrowed=True,
)
FIT = ObserverFacts(
    code="O-1",
    tests=(HueTest(date(2025, 5, 5), 12),),
    plates_passed_on=date(2025, 5, 5),
    eye_exam_on=date(2025, 6, 1),
    correction_prescribed=False,
    trained_on=date(2025, 2, 1),
)


def answer(day: date = DAY, clause: Observers = CLAUSE, **changes: Any) -> Qualified:
    return qualified(clause, replace(FIT, **changes), day)


def ids(given: Qualified) -> list[str]:
    return [ground.id for ground in given.private]


def test_a_person_who_meets_every_ground_is_qualified() -> None:
    assert answer()
    assert answer().public == () and answer().private == ()


def test_a_clause_that_asks_nothing_qualifies_anybody() -> None:
    assert qualified(Observers(), ObserverFacts(code="O-9"), DAY)


def test_score_14_against_12_reads_in_private_but_not_in_public() -> None:
    given = answer(tests=(HueTest(date(2025, 5, 5), 14),))
    assert not given
    assert [ground.english() for ground in given.private] == ["score 14 exceeds 12"]
    assert [words(reason) for reason in given.public] == [
        "not qualified under the agreement on 2026-03-03"
    ]


PRIVATE_GROUNDS: dict[str, dict[str, Any]] = {
    "score_exceeds": {"tests": (HueTest(date(2025, 5, 5), 13),)},
    "score_missing": {"tests": ()},
    "test_out_of_date": {"tests": (HueTest(date(2024, 1, 31), 4),)},
    "plates_missing": {"plates_passed_on": None},
    "eye_exam_missing": {"eye_exam_on": None},
    "eye_exam_out_of_date": {"eye_exam_on": date(2024, 3, 2)},
    "correction_unknown": {"correction_prescribed": None},
    "correction_not_worn": {"correction_prescribed": True, "correction_worn": False},
    "training_missing": {"trained_on": None},
}


@pytest.mark.parametrize("id", sorted(PRIVATE_GROUNDS))
def test_every_personal_ground_has_the_same_public_form(id: str) -> None:
    given = answer(**PRIVATE_GROUNDS[id])
    assert ids(given) == [id]
    assert [(one.id, dict(one.params)) for one in given.public] == [
        ("observer_not_qualified", {"day": "2026-03-03"})
    ]
    assert [one.id for one in given.for_judgement] == ["observer_not_qualified"]


def test_borrowed_observers_need_terms_that_admit_them_and_a_grant_for_the_day() -> None:
    barred = answer(clause=CLAUSE.model_copy(update={"borrowed": False}), borrowed=True)
    assert ids(barred) == ["borrowed_not_admitted"]
    assert [one.id for one in barred.public] == ["observer_not_borrowable"]
    lapsed = answer(borrowed=True, grants=((date(2026, 1, 1), DAY - timedelta(days=1)),))
    assert ids(lapsed) == ["grant_missing"]
    assert [one.id for one in lapsed.public] == ["observer_grant_missing"]
    assert answer(borrowed=True, grants=((date(2026, 1, 1), DAY),))
    assert answer(borrowed=True, grants=((date(2026, 1, 1), None),))


def test_the_mean_of_the_last_two_tests_counts_where_the_terms_ask_two() -> None:
    two = CLAUSE.model_copy(update={"tests_averaged": "two"})
    tests = (
        HueTest(date(2024, 1, 1), 0),
        HueTest(date(2025, 4, 1), 11),
        HueTest(date(2025, 5, 1), 14),
    )
    given = answer(clause=two, tests=tests)
    assert [ground.english() for ground in given.private] == ["score 12.5 exceeds 12"]
    assert ids(answer(clause=two)) == ["tests_too_few"]
    same_day = (HueTest(date(2025, 5, 5), 4), HueTest(date(2025, 5, 5), 4))
    assert ids(answer(clause=two, tests=same_day)) == ["tests_too_few"]


def test_the_last_test_counts_not_the_best_and_of_one_day_the_higher() -> None:
    worse = (HueTest(date(2025, 5, 5), 4), HueTest(date(2025, 6, 5), 40))
    assert ids(answer(tests=worse)) == ["score_exceeds"]
    one_day = (HueTest(date(2025, 5, 5), 40), HueTest(date(2025, 5, 5), 4))
    assert ids(answer(tests=one_day)) == ["score_exceeds"]


def test_what_happened_after_the_day_does_not_count() -> None:
    later = DAY + timedelta(days=1)
    given = answer(
        tests=(HueTest(later, 4),), eye_exam_on=later, trained_on=later, plates_passed_on=later
    )
    assert ids(given) == ["score_missing", "plates_missing", "eye_exam_missing", "training_missing"]


def test_retest_grace_holds_to_its_last_day() -> None:
    tested = HueTest(date(2024, 1, 31), 4)
    last = valid_until(tested.on, 24, 30)
    assert last == date(2026, 3, 2)
    assert answer(last, tests=(tested,))
    assert ids(answer(last + timedelta(days=1), tests=(tested,))) == ["test_out_of_date"]


def test_a_lead_needs_the_leads_score_as_well() -> None:
    assert not qualified(CLAUSE, FIT, DAY, as_lead=True)
    better = replace(FIT, tests=(HueTest(date(2025, 5, 5), 8),))
    assert qualified(CLAUSE, better, DAY, as_lead=True)


@pytest.mark.parametrize(
    ("score", "name"),
    [
        (0, "superior"), (16, "superior"), (17, "between"), (19, "between"),
        (20, "average"), (100, "average"), (101, "low"), (1000, "low"),
    ],
)  # fmt: skip
def test_classes_of_the_manual_with_its_gap(score: int, name: str) -> None:
    assert score_class(score) == name
    assert name in SCORE_CLASSES


def test_a_negative_score_is_refused() -> None:
    with pytest.raises(ValueError, match="not between 0"):
        score_class(-1)


def test_no_word_of_deficiency_stands_in_any_template() -> None:
    texts = [t.text for t in REASONS.values()] + [*PRIVATE.values(), *SCORE_CLASSES.values()]
    assert not [text for text in texts if "deficien" in text.lower() or "blind" in text.lower()]


def test_every_private_ground_is_reached_by_a_test() -> None:
    elsewhere = {"tests_too_few", "borrowed_not_admitted", "grant_missing"}
    assert set(PRIVATE_GROUNDS) | elsewhere == set(PRIVATE)


@given(score=st.integers(13, 2000), days=st.integers(0, 600))
def test_the_public_form_never_carries_score_or_limit(score: int, days: int) -> None:
    day = date(2025, 5, 6) + timedelta(days=days)
    given = answer(day, tests=(HueTest(date(2025, 5, 5), score),))
    assert "score_exceeds" in ids(given)
    assert {name for one in given.public for name in one.params} == {"day"}
    assert {value for one in given.public for value in one.params.values()} == {day.isoformat()}


@given(st.dates(date(2000, 1, 1), date(2100, 1, 1)), st.integers(0, 240))
def test_months_keep_the_day_or_take_the_last_of_the_month(day: date, months: int) -> None:
    later = months_after(day, months)
    assert (later.year * 12 + later.month) - (day.year * 12 + day.month) == months
    assert later.day == day.day or (later + timedelta(days=1)).day == 1


def test_months_beyond_the_calendar_are_refused() -> None:
    with pytest.raises(OverflowError):
        months_after(date(9999, 12, 1), 1)
