"""Background work of the desk."""

from __future__ import annotations

from typing import Any

from desk.models import RecordCopy
from desk.records import DROP_COPIES, EXPORT, drop_outdated, write_copy
from jobs.models import Job
from jobs.queue import Progress, task
from ledger.blobs import StorageDown
from parties.models import Dossier


@task(EXPORT, attempts=5, retry_on=(StorageDown,), wait=30)
def export_record(job: Job, progress: Progress) -> dict[str, Any]:
    """Write a copy of the signed record."""
    progress(0, 1)
    copy = write_copy(RecordCopy.objects.select_related("dossier").get(pk=job.params["copy"]))
    progress(1, 1)
    return {"size": copy.size}


@task(DROP_COPIES)
def drop_copies(job: Job, progress: Progress) -> dict[str, Any]:
    """Remove the copies kept here that may hold what was erased."""
    dropped = drop_outdated(Dossier.objects.get(pk=job.params["dossier"]))
    progress(1, 1)
    return {"dropped": dropped}
