"""Days and intervals as agreements count them."""

from __future__ import annotations

import calendar
from datetime import date, timedelta


def months_after(day: date, months: int) -> date:
    """The same day of the month `months` later; a day that month lacks becomes its last one
    (31 January + 1 month = 28 or 29 February). Raises OverflowError beyond year 9999."""
    count = day.year * 12 + day.month - 1 + months
    year, month = divmod(count, 12)
    if not 1 <= year <= 9999:
        raise OverflowError("beyond the calendar")
    last = calendar.monthrange(year, month + 1)[1]
    return date(year, month + 1, min(day.day, last))


def valid_until(day: date, months: int, grace_days: int = 0) -> date:
    """The last day on which something done on `day` is still good."""
    return months_after(day, months) + timedelta(days=grace_days)
