"""Background work of this app: the self-check, once a day and after a start."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.db import OperationalError, transaction

from jobs.models import Job
from jobs.periodic import every
from jobs.queue import Progress, enqueue, task
from ledger.models import SelfCheck
from ledger.watching import Cursor, begin, finish, part
from parties.alarms import tell

SELF_CHECK = "parties.selfcheck"
DAY = 24 * 60 * 60


@task(SELF_CHECK, attempts=5, retry_on=(OperationalError,), wait=60)
def self_check(job: Job, progress: Progress) -> dict[str, Any]:
    """Look at everything that should never change; go on in a further job when it takes long."""
    number, cursor = job.params.get("check"), Cursor(**job.params.get("cursor", {}))
    check = SelfCheck.objects.get(pk=number) if number else begin()
    # A worker has JOBS_TIME_LIMIT for one job; a page or a blob may be begun just before the end.
    rest = part(check, cursor, settings.JOBS_TIME_LIMIT / 4, lambda: progress(0, 1))
    if rest is not None:
        key = f"{SELF_CHECK}:{check.pk}:{rest.stage}:{rest.chain}:{rest.number}:{rest.blob}"
        enqueue(SELF_CHECK, key=key, check=check.pk, cursor=rest.as_json())
        return {"check": check.pk, "through": False}
    with transaction.atomic():
        alarms = finish(check)
        tell(check, alarms)
    progress(1, 1)
    return {"check": check.pk, "through": True, "alarms": len(alarms)}


every(SELF_CHECK, DAY, at_start=True)
