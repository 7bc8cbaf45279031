"""The only place where a job's state changes: one conditional UPDATE each."""

from __future__ import annotations

import secrets
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.db.models import QuerySet
from django.utils import timezone
from django.utils.translation import gettext_noop

from jobs.models import Job, State

# Stored as they are and translated when shown.
LOST = gettext_noop("The work was interrupted several times and was given up.")
BROKEN = gettext_noop("The work stopped at an unexpected error. It was logged under this number.")


class LeaseLost(Exception):
    """Another worker has taken the job over: stop, and write nothing more about it."""


def _lease() -> timedelta:
    return timedelta(seconds=settings.JOBS_LEASE_SECONDS)


def _held(job: Job) -> QuerySet[Job]:
    """The row, if this very claim still holds it (each claim raises `attempts`)."""
    return Job.objects.filter(pk=job.pk, state=State.RUNNING, attempts=job.attempts)


def _must(rows: int, job: Job) -> None:
    if rows != 1:
        raise LeaseLost(f"job {job.pk} attempt {job.attempts}")


def claim(pk: int, attempts_allowed: int) -> Job | None:
    """Take a due job for one lease; None where it is not due or somebody else was faster.

    A job that was interrupted `attempts_allowed` times is given up instead.
    """
    now = timezone.now()
    job = Job.objects.due(now).filter(pk=pk).first()
    if job is None:
        return None
    if job.attempts >= attempts_allowed:
        give_up(job)
        return None
    # The attempts read above are part of the condition: of two claimers one gets no row.
    taken = (
        Job.objects.due(now)
        .filter(pk=pk, attempts=job.attempts)
        .update(state=State.RUNNING, attempts=job.attempts + 1, lease_until=now + _lease(), done=0)
    )
    if taken != 1:
        return None
    job.state, job.attempts, job.lease_until, job.done = (
        State.RUNNING,
        job.attempts + 1,
        now + _lease(),
        0,
    )
    return job


def beat(job: Job, done: int, total: int) -> None:
    """Write progress and move the lease. Raises LeaseLost."""
    until = timezone.now() + _lease()
    _must(_held(job).update(done=done, total=total, lease_until=until), job)
    job.done, job.total, job.lease_until = done, total, until


def finish(job: Job, result: dict[str, Any] | None) -> None:
    """running → done with a JSON result. Raises LeaseLost."""
    rows = _held(job).update(
        state=State.DONE, result=result, lease_until=None, finished_at=timezone.now(), error=""
    )
    _must(rows, job)


def fail(job: Job, message: str) -> str:
    """running → failed with a safe message; returns the id under which details are logged."""
    error_id = secrets.token_hex(4)
    rows = _held(job).update(
        state=State.FAILED,
        error=message,
        error_id=error_id,
        lease_until=None,
        finished_at=timezone.now(),
    )
    _must(rows, job)
    return error_id


def postpone(job: Job, seconds: float) -> None:
    """running → queued, to be tried again after a while. Raises LeaseLost."""
    due_at = timezone.now() + timedelta(seconds=seconds)
    _must(_held(job).update(state=State.QUEUED, due_at=due_at, lease_until=None), job)


def give_up(job: Job) -> bool:
    """Lost too often → failed, unless it is no longer due; tells whether it was this call."""
    rows = (
        Job.objects.due()
        .filter(pk=job.pk, attempts=job.attempts)
        .update(
            state=State.FAILED,
            error=LOST,
            error_id=secrets.token_hex(4),
            lease_until=None,
            finished_at=timezone.now(),
        )
    )
    return rows == 1


def again(job: Job) -> bool:
    """failed → queued with a fresh count; tells whether it was this call (then nudge it)."""
    rows = Job.objects.filter(pk=job.pk, state=State.FAILED).update(
        state=State.QUEUED,
        attempts=0,
        done=0,
        error="",
        error_id="",
        due_at=timezone.now(),
        finished_at=None,
    )
    return rows == 1
