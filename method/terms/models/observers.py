"""Clause 2, observers: who may judge by eye, and what keeps them qualified."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from method.terms.models.base import MEMORY, PRACTICE, About, Clause, Count, Text
from method.words import gettext_noop

TestsAveraged = Literal["one", "two"]
TESTS_WORDS = {
    "one": gettext_noop("one test"),
    "two": gettext_noop("the average of two tests"),
}


class Observers(Clause):
    """Requirements on the people; the score is a screening, not a diagnosis."""

    TITLE: ClassVar[str] = gettext_noop("Observers")

    panel_size: Annotated[
        Annotated[int, Field(ge=1, le=50)] | None,
        About(
            gettext_noop("Panel size"),
            gettext_noop("How many qualified observers judge each specimen."),
            unit=gettext_noop("observers"),
            suggest="3",
            source=PRACTICE,
            says=gettext_noop("A panel of %(value)s qualified observers judges each specimen."),
            glossary=("panel",),
        ),
    ] = None
    greatest_score_panel: Annotated[
        Count | None,
        About(
            gettext_noop("Greatest total error score, panel"),
            gettext_noop("Of the hue arrangement test with 85 caps. A screening, not a diagnosis."),
            suggest="40",
            source=PRACTICE,
            says=gettext_noop(
                "An observer's total error score in the hue arrangement test is at most %(value)s."
            ),
            glossary=("hue-arrangement-test",),
        ),
    ] = None
    greatest_score_lead: Annotated[
        Count | None,
        About(
            gettext_noop("Greatest total error score, lead"),
            gettext_noop("For the lead who signs a visual verdict."),
            suggest="16",
            source=MEMORY,
            says=gettext_noop("The lead's total error score is at most %(value)s."),
            glossary=("hue-arrangement-test",),
        ),
    ] = None
    tests_averaged: Annotated[
        TestsAveraged | None,
        About(
            gettext_noop("Score taken from"),
            gettext_noop("A single test, or the average of two on different days."),
            suggest="one",
            source=PRACTICE,
            choices=TESTS_WORDS,
            says=gettext_noop("The score is taken from %(value)s."),
        ),
    ] = None
    retest_months: Annotated[
        Count | None,
        About(
            gettext_noop("Retest interval"),
            gettext_noop("A test older than this does not qualify."),
            unit=gettext_noop("months"),
            suggest="24",
            source=PRACTICE,
            says=gettext_noop("The test is repeated within %(value)s months."),
        ),
    ] = None
    grace_days: Annotated[
        Count | None,
        About(
            gettext_noop("Grace after the interval"),
            gettext_noop("Days after the interval during which the old test still counts."),
            unit=gettext_noop("days"),
            suggest="30",
            source=PRACTICE,
            says=gettext_noop("An expired test still counts for %(value)s days."),
        ),
    ] = None
    plate_screening: Annotated[
        bool,
        About(
            gettext_noop("Plate screening"),
            gettext_noop("A screening with plates has been passed as well."),
            says=gettext_noop("Each observer has passed a plate screening."),
            says_not=gettext_noop("A plate screening is not asked."),
            glossary=("plate-screening",),
        ),
    ] = False
    eye_exam_months: Annotated[
        Count | None,
        About(
            gettext_noop("Eye examination interval"),
            gettext_noop("Greatest age of the last eye examination."),
            unit=gettext_noop("months"),
            suggest="24",
            source=PRACTICE,
            says=gettext_noop("An eye examination is at most %(value)s months old."),
        ),
    ] = None
    correction_worn: Annotated[
        bool,
        About(
            gettext_noop("Correction worn"),
            gettext_noop("Prescribed correction is worn while judging; no tinted lenses."),
            says=gettext_noop("Prescribed correction is worn while judging, without tint."),
            says_not=gettext_noop("Nothing is said about wearing correction."),
        ),
    ] = False
    training_required: Annotated[
        bool,
        About(
            gettext_noop("Training required"),
            gettext_noop("Each observer is trained in visual comparison."),
            says=gettext_noop("Each observer is trained in visual comparison."),
            says_not=gettext_noop("Training is not required."),
        ),
    ] = False
    training: Annotated[
        Text,
        About(
            gettext_noop("Training"),
            gettext_noop("What the training covers and how often."),
            says=gettext_noop("Training: %(value)s"),
        ),
    ] = ""
    borrowed: Annotated[
        bool,
        About(
            gettext_noop("Borrowed observers"),
            gettext_noop("Qualified observers of another firm may judge: few people qualify."),
            says=gettext_noop("Qualified observers of another firm may judge."),
            says_not=gettext_noop("Only a side's own observers may judge."),
            glossary=("observer",),
        ),
    ] = False
    staff_entry_counts: Annotated[
        bool,
        About(
            gettext_noop("Entry by staff counts"),
            gettext_noop("Judgements entered by staff from a printed sheet count."),
            says=gettext_noop("Judgements entered by staff from a printed sheet count."),
            says_not=gettext_noop("Only judgements under the observer's own login count."),
        ),
    ] = False
    adaptation_minutes: Annotated[
        Count | None,
        About(
            gettext_noop("Adaptation"),
            gettext_noop("Time in the booth's light before the first judgement."),
            unit=gettext_noop("minutes"),
            suggest="3",
            source=PRACTICE,
            says=gettext_noop("Observers adapt to the light for at least %(value)s minutes."),
        ),
    ] = None
    neutral_clothing: Annotated[
        bool,
        About(
            gettext_noop("Neutral clothing"),
            gettext_noop("Observers wear neutral clothing; no strong colours in view."),
            says=gettext_noop("Observers wear neutral clothing."),
            says_not=gettext_noop("Nothing is said about clothing."),
        ),
    ] = False
