"""Due days under clause 9: working or calendar days, the agreement's holidays."""

from __future__ import annotations

from datetime import date, timedelta

from method.terms.models import Disputes

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
FURTHEST = 4000  # steps; a calendar without any working day must end


class NoDueDay(ValueError):
    """The calendar of the terms never reaches the day: no weekday counts."""


def counts(day: date, clause: Disputes) -> bool:
    """Whether a day counts: every day, or only working days that are no holiday."""
    if clause.day_kind != "working_days":
        return True
    return WEEKDAYS[day.weekday()] in clause.working_days and day not in clause.holidays


def due_day(start: date, days: int, clause: Disputes) -> date:
    """The last day of a period of `days` that begins on the day after `start`.

    A period of 0 days ends on `start`. Days are the agreement's (zone of clause 9). Raises
    NoDueDay where the clause lets no day count.
    """
    day, left = start, days
    for _step in range(FURTHEST):
        if left == 0:
            return day
        day += timedelta(days=1)
        left -= counts(day, clause)
    raise NoDueDay(f"{days} days from {start} are not reached")
