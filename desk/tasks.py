"""Background work of the desk."""

from __future__ import annotations

from typing import Any

from desk.models import RecordCopy
from desk.records import EXPORT, write_copy
from jobs.models import Job
from jobs.queue import Progress, task


@task(EXPORT)
def export_record(job: Job, progress: Progress) -> dict[str, Any]:
    """Write a copy of the signed record."""
    progress(0, 1)
    copy = write_copy(RecordCopy.objects.select_related("dossier").get(pk=job.params["copy"]))
    progress(1, 1)
    return {"size": copy.size}
