"""The one source of the time that enters documents and entries; tests and the demo can fix it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, datetime

_fixed: ContextVar[datetime | None] = ContextVar("ledger_clock_fixed", default=None)


def now() -> datetime:
    """The present moment in UTC, aware. Call it as `clock.now()`."""
    return _fixed.get() or datetime.now(UTC)


@contextmanager
def fixed(moment: datetime) -> Iterator[datetime]:
    """Within the block, in this thread or task, `now()` is `moment` (aware)."""
    if moment.tzinfo is None:
        raise ValueError("the clock is set to an aware datetime")
    token = _fixed.set(moment.astimezone(UTC))
    try:
        yield moment
    finally:
        _fixed.reset(token)


def text(moment: datetime) -> str:
    """A moment as documents carry it: UTC with microseconds, `2026-03-03T09:30:00.000000Z`."""
    if moment.tzinfo is None:
        raise ValueError("documents carry aware datetimes only")
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")
