"""Who is qualified under clause 2 on a day: computed, never stored.

Two forms of every answer. The private one names score, limit and examination and is for the
observer and the own lead. The public one says only that the person was not qualified on the
day: one id stands for all personal grounds, so that the other side cannot tell them apart. The
hue arrangement test is a screening, not a diagnosis; nothing here says more of anybody's eyes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Literal

from colorimetry.observers.norms import ScoreClass, score_classes
from ledger.canonical import decimal_text
from method.days import months_after, valid_until
from method.reasons import PRIVATE, Reason, because
from method.submission import PublicReason
from method.terms.models import Observers


@dataclass(frozen=True)
class HueTest:
    """One hue arrangement test (85 caps): day, total error score, and what it was taken from."""

    on: date
    score: int
    kind: Literal["bare_score", "tray_orders"] = "tray_orders"


@dataclass(frozen=True)
class ObserverFacts:
    """A person's register rows, as recorded up to the submission; code, never a name.

    `grants` are the periods (first day, last day or None) for which a borrowed observer is lent.
    """

    code: str
    tests: tuple[HueTest, ...] = ()
    plates_passed_on: date | None = None
    eye_exam_on: date | None = None
    correction_prescribed: bool | None = None
    correction_worn: bool | None = None
    trained_on: date | None = None
    borrowed: bool = False
    grants: tuple[tuple[date, date | None], ...] = ()


@dataclass(frozen=True)
class PrivateReason:
    """A ground that only the observer and the own lead may read (id and params of PRIVATE)."""

    id: str
    params: dict[str, str] = field(default_factory=dict)

    def english(self) -> str:
        """The words in the source language; pages translate the template of the id."""
        return PRIVATE[self.id] % self.params


@dataclass(frozen=True)
class Qualified:
    """The answer for one person and day. True in a condition exactly when qualified."""

    day: date
    public: tuple[Reason, ...]
    private: tuple[PrivateReason, ...]

    def __bool__(self) -> bool:
        """Whether the person is qualified."""
        return not self.public

    @property
    def for_judgement(self) -> tuple[PublicReason, ...]:
        """The public reasons as `submission.Judgement.reasons` carries them."""
        return tuple(PublicReason(id=one.id, params=dict(one.params)) for one in self.public)


def score_class(score: Decimal | int) -> ScoreClass:
    """The class of a total error score (`colorimetry.observers.norms` has the rule and its source).

    Raises ValueError below zero.
    """
    return score_classes([float(score)])[0]


def qualified(
    clause: Observers, facts: ObserverFacts, day: date, *, as_lead: bool = False
) -> Qualified:
    """Whether a person was qualified under clause 2 on a local date at the booth.

    Facts dated after `day` are not considered. `as_lead` asks for the lead's greatest score too.
    """
    private = tuple(
        ground
        for grounds in (_test, _plates, _eyes, _training, _grant)
        for ground in grounds(clause, facts, day)
    ) + tuple(_lead_score(clause, facts, day) if as_lead else ())
    return Qualified(day, tuple(_public(private, day)), private)


def _public(private: tuple[PrivateReason, ...], day: date) -> Iterator[Reason]:
    """Grounds that are about the contract keep their own form; all personal ones share one."""
    contract = {
        "borrowed_not_admitted": "observer_not_borrowable",
        "grant_missing": "observer_grant_missing",
    }
    ids = {contract.get(ground.id, "observer_not_qualified") for ground in private}
    for id in sorted(ids):
        yield because(id, day=day)


def _score(clause: Observers, facts: ObserverFacts, day: date) -> Decimal | None:
    """The score that counts: of the last test, or the mean of the last on two different days.

    Always the last tests, never the best: nobody picks among their results.
    """
    last: dict[date, HueTest] = {}
    for test in sorted(facts.tests, key=lambda one: (one.on, one.score)):
        if test.on <= day:
            last[test.on] = test  # of two tests on one day the higher score counts
    taken = [last[on] for on in sorted(last)]
    needed = 2 if clause.tests_averaged == "two" else 1
    if len(taken) < needed:
        return None
    return Decimal(sum(test.score for test in taken[-needed:])) / needed


def _test(clause: Observers, facts: ObserverFacts, day: date) -> Iterator[PrivateReason]:
    if clause.greatest_score_panel is None and clause.retest_months is None:
        return
    known = sorted({test.on for test in facts.tests if test.on <= day})
    score = _score(clause, facts, day)
    if not known:
        yield _private("score_missing", day=day)
    elif score is None:
        yield _private("tests_too_few", tests=len(known), needed=2)
    else:
        yield from _exceeds(score, clause.greatest_score_panel)
    months, grace = clause.retest_months, clause.grace_days or 0
    if known and months is not None and day > valid_until(known[-1], months, grace):
        yield _private("test_out_of_date", tested=known[-1], due=months_after(known[-1], months))


def _lead_score(clause: Observers, facts: ObserverFacts, day: date) -> Iterator[PrivateReason]:
    score = _score(clause, facts, day)
    if clause.greatest_score_lead is not None:
        if score is None:
            yield _private("score_missing", day=day)
        else:
            yield from _exceeds(score, clause.greatest_score_lead)


def _exceeds(score: Decimal, limit: int | None) -> Iterator[PrivateReason]:
    if limit is not None and score > limit:
        yield _private("score_exceeds", score=decimal_text(score.normalize() + 0), limit=limit)


def _plates(clause: Observers, facts: ObserverFacts, day: date) -> Iterator[PrivateReason]:
    passed = facts.plates_passed_on
    if clause.plate_screening and (passed is None or passed > day):
        yield _private("plates_missing", day=day)


def _eyes(clause: Observers, facts: ObserverFacts, day: date) -> Iterator[PrivateReason]:
    months, examined = clause.eye_exam_months, facts.eye_exam_on
    if months is not None and (examined is None or examined > day):
        yield _private("eye_exam_missing", day=day)
    elif months is not None and examined is not None and day > valid_until(examined, months):
        yield _private(
            "eye_exam_out_of_date", examined=examined, due=months_after(examined, months)
        )
    if clause.correction_worn and facts.correction_prescribed is None:
        yield _private("correction_unknown")
    elif clause.correction_worn and facts.correction_prescribed and not facts.correction_worn:
        yield _private("correction_not_worn")


def _training(clause: Observers, facts: ObserverFacts, day: date) -> Iterator[PrivateReason]:
    trained = facts.trained_on
    if clause.training_required and (trained is None or trained > day):
        yield _private("training_missing", day=day)


def _grant(clause: Observers, facts: ObserverFacts, day: date) -> Iterator[PrivateReason]:
    if not facts.borrowed:
        return
    if not clause.borrowed:
        yield _private("borrowed_not_admitted")
    elif not any(first <= day and (last is None or day <= last) for first, last in facts.grants):
        yield _private("grant_missing", day=day)


def _private(id: str, **params: object) -> PrivateReason:
    texts = {name: str(value) for name, value in params.items()}
    PRIVATE[id] % texts  # a missing parameter shows here, not to a reader
    return PrivateReason(id, texts)
