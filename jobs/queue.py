"""Put work into rows, run it, and bring back what a killed worker left behind.

The row is the truth; the message to the worker is only a nudge and may be lost. A job can
therefore start more than once: **handlers must give the same effect when run again** (unique
keys, `ledger.append`, "already there? then nothing").
"""

from __future__ import annotations

import json
import logging
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from functools import partial
from importlib import import_module
from typing import Any, Protocol

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from jobs import transitions
from jobs.models import IdempotencyKey, Job, State

log = logging.getLogger(__name__)

NUDGES_PER_SWEEP = 100
GRACE = timedelta(seconds=5)  # the first nudge is on its way; the sweeper waits so long
KEYS_KEPT = timedelta(days=7)


class Failure(Exception):
    """A failure to be shown: `message` is safe English marked with gettext_noop, ≤ 200 characters.

    Names, numbers and values of people never belong in it.
    """

    def __init__(self, message: str) -> None:
        super().__init__(message)
        self.message = message


class UnknownTask(LookupError):
    """No handler is registered under this name."""


class Progress(Protocol):
    """Called by handlers with counts done and in total; keeps the lease alive."""

    def __call__(self, done: int, total: int) -> None: ...


Handler = Callable[[Job, Progress], dict[str, Any] | None]


@dataclass(frozen=True)
class Task:
    """A registered handler and how it is tried again."""

    handler: Handler
    attempts: int
    retry_on: tuple[type[Exception], ...]
    wait: float  # seconds before the second attempt; four times as long before each further one


_tasks: dict[str, Task] = {}


def task(
    name: str,
    *,
    attempts: int = 3,
    retry_on: tuple[type[Exception], ...] = (),
    wait: float = 15,
) -> Callable[[Handler], Handler]:
    """Register a handler `(job, progress) -> dict | None` under `name` ("app.verb").

    An interrupted job and one that raises `retry_on` is tried `attempts` times in all; any other
    exception fails it at once. Raises ValueError where the name is taken by another function.
    """

    def register(handler: Handler) -> Handler:
        taken = _tasks.get(name)
        if taken is not None and taken.handler.__qualname__ != handler.__qualname__:
            raise ValueError(f"task {name!r} is registered twice")
        _tasks[name] = Task(handler, attempts, retry_on, wait)
        return handler

    return register


def registered() -> list[str]:
    """The names of all tasks, sorted."""
    return sorted(_tasks)


def enqueue(
    name: str,
    *,
    subject: str = "",
    chain: str = "",
    key: str | None = None,
    total: int = 0,
    **params: Any,
) -> Job:
    """Write a job in the caller's transaction and nudge a worker when it commits.

    With a `key` the same call again returns the row of the first. `params` must be JSON and hold
    ids rather than what they stand for. Raises UnknownTask, TypeError.
    """
    if name not in _tasks:
        raise UnknownTask(name)
    json.dumps(params, allow_nan=False)  # refused here, at the caller, not later in the database
    values = {"name": name, "subject": subject, "chain": chain, "total": total, "params": params}
    if key is None:
        job, made = Job.objects.create(**values), True
    else:
        job, made = Job.objects.get_or_create(key=key, defaults=values)
    if made:
        transaction.on_commit(partial(nudge, job.pk), robust=True)
    return job


def latest(name: str, subject: str) -> Job | None:
    """The newest job of this name about this subject."""
    return Job.objects.filter(name=name, subject=subject).order_by("-id").first()


def failed(*subjects: str) -> list[Job]:
    """Jobs about these subjects that failed, the oldest first."""
    return list(Job.objects.filter(subject__in=subjects, state=State.FAILED).order_by("id"))


def try_again(job: Job) -> bool:
    """Queue a failed job once more; False where it has not failed (or no longer)."""
    with transaction.atomic():
        queued = transitions.again(job)
        if queued:
            transaction.on_commit(partial(nudge, job.pk), robust=True)
    return queued


def nudge(pk: int) -> None:
    """Tell a worker about a job. A broker that is down costs time, not the job."""
    try:
        import_module(settings.CELERY_APP).nudge(pk)
    except Exception as error:  # broker libraries raise many kinds, none of them matters here
        log.warning("job %s waits for the sweeper: %s", pk, type(error).__name__)


def run(pk: int) -> bool:
    """Claim and run one job in this process; False where there was nothing to claim."""
    name = Job.objects.filter(pk=pk).values_list("name", flat=True).first()
    if name is None:
        return False
    known = _tasks.get(name)
    job = transitions.claim(pk, known.attempts if known else 1)
    if job is None:
        return False
    try:
        _attempt(job, known)
    except transitions.LeaseLost:
        log.warning("job %s %s: lease lost, result dropped", job.pk, job.name)
    return True


def _attempt(job: Job, known: Task | None) -> None:
    """Run the handler of a claimed job and write how it ended. Raises LeaseLost."""
    try:
        if known is None:
            raise UnknownTask(job.name)
        result = known.handler(job, partial(transitions.beat, job))
        json.dumps(result, allow_nan=False)  # found by the database, it would break a transaction
        transitions.finish(job, result)
    except transitions.LeaseLost:
        raise
    except Failure as failure:
        error_id = transitions.fail(job, failure.message)
        log.warning("job %s %s failed [%s]: %s", job.pk, job.name, error_id, failure.message)
    except Exception as error:
        if known and isinstance(error, known.retry_on) and job.attempts < known.attempts:
            transitions.postpone(job, known.wait * 4 ** (job.attempts - 1))
            log.warning("job %s %s put off: %s", job.pk, job.name, type(error).__name__)
            return
        error_id = transitions.fail(job, transitions.BROKEN)
        log.exception("job %s %s failed [%s]", job.pk, job.name, error_id)


def drain() -> int:
    """Run everything that is due, here and now, until nothing is; returns how many ran."""
    ran = 0
    while True:
        pk = Job.objects.due().order_by("due_at", "id").values_list("id", flat=True).first()
        if pk is None:
            return ran
        ran += run(pk)


def sweep() -> int:
    """Give up what was lost too often, nudge what waits; returns the number of nudges."""
    now = timezone.now()
    nudged = 0
    for job in Job.objects.due(now).order_by("due_at", "id")[:NUDGES_PER_SWEEP]:
        known = _tasks.get(job.name)
        if known and job.attempts >= known.attempts:
            transitions.give_up(job)
        elif job.state == State.RUNNING or job.due_at <= now - GRACE:
            nudge(job.pk)
            nudged += 1
    IdempotencyKey.objects.filter(created_at__lt=now - KEYS_KEPT).delete()
    return nudged
