"""Background work: the PDFs of signed terms."""

from __future__ import annotations

from typing import Any

from agreements.models import Revision
from agreements.paper import seal_papers
from agreements.transitions.papers import PAPER
from jobs.models import Job
from jobs.queue import Progress, task
from ledger.blobs import StorageDown
from parties.seals import stamps_on


@task(PAPER, attempts=5, retry_on=(StorageDown,), wait=30)
def paper(job: Job, progress: Progress) -> dict[str, Any]:
    """Set and seal the terms of a revision in one language, as far as it is signed."""
    progress(0, 1)
    revision = Revision.objects.select_related("dossier").get(pk=job.params["revision"])
    made = seal_papers(revision, job.params["language"])
    progress(1, 1)
    last = made[-1]
    return {"place": last.place, "size": last.size, "stamps": stamps_on(last)}
