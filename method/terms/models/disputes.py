"""Clause 9, disputes: windows, calendar, silence, containment, remedies, referee, costs."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from method.terms.models.base import (
    MAX_ITEMS,
    PRACTICE,
    About,
    AsSet,
    Clause,
    Count,
    Days,
    Item,
    Text,
)
from method.words import gettext_noop

WindowEvent = Literal["receipt", "opening", "assembly"]
DayKind = Literal["working_days", "calendar_days"]
Weekday = Literal["fri", "mon", "sat", "sun", "thu", "tue", "wed"]
Silence = Literal["deemed_accepted", "deemed_rejected", "no_effect"]
Remedy = Literal["sort", "rework", "replace", "return", "credit", "concession", "scrap"]
Costs = Literal["by_finding", "each_own", "supplier", "customer"]

EVENT_WORDS = {
    "receipt": gettext_noop("receipt of the lot"),
    "opening": gettext_noop("opening of the package"),
    "assembly": gettext_noop("assembly"),
}
DAY_KIND_WORDS = {
    "working_days": gettext_noop("working days"),
    "calendar_days": gettext_noop("calendar days"),
}
WEEKDAY_WORDS = {
    "mon": gettext_noop("Monday"),
    "tue": gettext_noop("Tuesday"),
    "wed": gettext_noop("Wednesday"),
    "thu": gettext_noop("Thursday"),
    "fri": gettext_noop("Friday"),
    "sat": gettext_noop("Saturday"),
    "sun": gettext_noop("Sunday"),
}
SILENCE_WORDS = {
    "deemed_accepted": gettext_noop("the lot is deemed accepted"),
    "deemed_rejected": gettext_noop("the lot is deemed rejected"),
    "no_effect": gettext_noop("nothing follows"),
}
REMEDY_WORDS = {
    "sort": gettext_noop("sorting"),
    "rework": gettext_noop("rework"),
    "replace": gettext_noop("replacement"),
    "return": gettext_noop("return"),
    "credit": gettext_noop("credit"),
    "concession": gettext_noop("concession"),
    "scrap": gettext_noop("scrapping"),
}
COSTS_WORDS = {
    "by_finding": gettext_noop("whoever the finding goes against"),
    "each_own": gettext_noop("each side its own"),
    "supplier": gettext_noop("the supplier"),
    "customer": gettext_noop("the customer"),
}


class RemedyItem(Item):
    """A remedy that may be offered."""

    PREFIX: ClassVar[str] = "rem"
    NAME: ClassVar[str] = gettext_noop("Remedy")
    SAYS: ClassVar[str] = gettext_noop("Remedy: %(kind)s, within %(days)s days. %(note)s")

    kind: Annotated[Remedy | None, About(gettext_noop("Remedy"), choices=REMEDY_WORDS)] = None
    days: Annotated[Count | None, About(gettext_noop("Within"), unit=gettext_noop("days"))] = None
    note: Annotated[Text, About(gettext_noop("Note"))] = ""


class Disputes(Clause):
    """What happens when the sides differ; not legal advice."""

    TITLE: ClassVar[str] = gettext_noop("Disputes")

    reject_window_days: Annotated[
        Count | None,
        About(
            gettext_noop("Window to reject"),
            gettext_noop("How long the customer may reject, from the event below."),
            unit=gettext_noop("days"),
            suggest="10",
            source=PRACTICE,
            says=gettext_noop("The customer may reject within %(value)s days."),
        ),
    ] = None
    window_event: Annotated[
        WindowEvent | None,
        About(
            gettext_noop("Window runs from"),
            suggest="receipt",
            source=PRACTICE,
            choices=EVENT_WORDS,
            says=gettext_noop("The window runs from %(value)s."),
        ),
    ] = None
    answer_days: Annotated[
        Count | None,
        About(
            gettext_noop("Answer"),
            gettext_noop("How long the supplier has to answer a rejection."),
            unit=gettext_noop("days"),
            suggest="5",
            source=PRACTICE,
            says=gettext_noop("A rejection is answered within %(value)s days."),
        ),
    ] = None
    examination_days: Annotated[
        Count | None,
        About(
            gettext_noop("Examination"),
            gettext_noop("How long both sides examine before a remedy is offered."),
            unit=gettext_noop("days"),
            suggest="10",
            source=PRACTICE,
            says=gettext_noop("The examination takes at most %(value)s days."),
        ),
    ] = None
    day_kind: Annotated[
        DayKind | None,
        About(
            gettext_noop("Days are"),
            suggest="working_days",
            source=PRACTICE,
            choices=DAY_KIND_WORDS,
            says=gettext_noop("Days in this clause are %(value)s."),
        ),
    ] = None
    zone: Annotated[
        Text,
        About(
            gettext_noop("Time zone"),
            gettext_noop("Of the calendar, as in the IANA list, for example Europe/Berlin."),
            says=gettext_noop("Days begin and end in the time zone %(value)s."),
        ),
    ] = ""
    working_days: Annotated[
        tuple[Weekday, ...],
        AsSet,
        About(
            gettext_noop("Working days of the week"),
            suggest=("fri", "mon", "thu", "tue", "wed"),
            source=PRACTICE,
            choices=WEEKDAY_WORDS,
            says=gettext_noop("Working days of the week: %(value)s."),
        ),
    ] = ()
    holidays: Annotated[
        Days,
        About(
            gettext_noop("Holidays"),
            gettext_noop("Days that do not count, one a line, as YYYY-MM-DD."),
            says=gettext_noop("Days that do not count: %(value)s."),
        ),
    ] = ()
    silence: Annotated[
        Silence | None,
        About(
            gettext_noop("Effect of silence"),
            gettext_noop("When the window passes and the customer said nothing."),
            suggest="deemed_accepted",
            source=PRACTICE,
            choices=SILENCE_WORDS,
            says=gettext_noop("When the window passes in silence, %(value)s."),
        ),
    ] = None
    containment: Annotated[
        Text,
        About(
            gettext_noop("Containment"),
            gettext_noop(
                "What each side does at once with pieces in stock, in transit, assembled."
            ),
            says=gettext_noop("Containment: %(value)s"),
            glossary=("containment",),
        ),
    ] = ""
    joint_test: Annotated[
        bool,
        About(
            gettext_noop("Joint test"),
            gettext_noop("Either side may ask for a test in common."),
            says=gettext_noop("Either side may ask for a joint test."),
            says_not=gettext_noop("A joint test is not provided for."),
            glossary=("joint-test",),
        ),
    ] = False
    remedies: Annotated[
        tuple[RemedyItem, ...],
        Field(max_length=MAX_ITEMS),
        About(gettext_noop("Remedies"), gettext_noop("What may be offered and settled.")),
    ] = ()
    referee: Annotated[
        Text,
        About(
            gettext_noop("Referee"),
            gettext_noop("Who examines when the sides cannot agree."),
            says=gettext_noop("Referee: %(value)s"),
            glossary=("referee",),
        ),
    ] = ""
    referee_binds: Annotated[
        bool,
        About(
            gettext_noop("The referee binds"),
            gettext_noop("Both sides accept the referee's finding in advance."),
            says=gettext_noop("The referee's finding binds both sides."),
            says_not=gettext_noop("A referee's finding does not bind by itself."),
        ),
    ] = False
    costs: Annotated[
        Costs | None,
        About(
            gettext_noop("Costs are borne by"),
            suggest="by_finding",
            source=PRACTICE,
            choices=COSTS_WORDS,
            says=gettext_noop("Costs of examination are borne by: %(value)s."),
        ),
    ] = None
