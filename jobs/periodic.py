"""Work that comes again by itself: once in each stretch of time, and after a start.

The worker's sweep asks for it. The key of the job is the name and the number of the stretch, so
that many workers, restarts and clocks a little apart make one job of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from django.utils import timezone

from jobs.queue import enqueue

AT_START = 600  # a service that starts again and again asks once in so many seconds


@dataclass(frozen=True)
class Periodic:
    """A task that is asked for once in every so many seconds."""

    name: str
    seconds: int
    at_start: bool


_periodic: dict[str, Periodic] = {}


def every(name: str, seconds: int, *, at_start: bool = False) -> None:
    """Ask for the task `name`, without parameters, once in so many seconds."""
    if seconds <= 0:
        raise ValueError(f"{name}: every {seconds} seconds")
    _periodic[name] = Periodic(name, seconds, at_start)


def ask(*, started: bool = False) -> None:
    """Put into the queue what was not asked for in this stretch; `started`: a worker began."""
    moment = timezone.now()
    now = int(moment.timestamp())
    for one in _periodic.values():
        job = enqueue(one.name, key=f"every:{one.name}:{now // one.seconds}")
        fresh = job.created_at > moment - timedelta(seconds=AT_START)
        if started and one.at_start and not fresh:
            enqueue(one.name, key=f"start:{one.name}:{now // AT_START}")
