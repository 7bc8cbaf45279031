"""Background work: judging, and the PDF of a verdict in each language."""

from __future__ import annotations

from typing import Any

from jobs.models import Job
from jobs.queue import Failure, Progress, task
from ledger.blobs import StorageDown
from method.judge import JudgeError
from method.words import gettext_noop
from shipments.models import Submission, Verdict
from shipments.paper import make_paper
from shipments.transitions.judging import PAPER, judge_submission
from shipments.transitions.submissions import JUDGE


@task(JUDGE, attempts=5, retry_on=(StorageDown,), wait=30)
def judge(job: Job, progress: Progress) -> dict[str, Any]:
    """Give the verdict on a submission."""
    progress(0, 1)
    submission = Submission.objects.select_related("dossier", "revision", "lot").get(
        pk=job.params["submission"]
    )
    try:
        verdict = judge_submission(submission)
    except JudgeError as error:
        raise Failure(
            gettext_noop("This evidence cannot be judged by this version of the service.")
        ) from error
    progress(1, 1)
    return {"outcome": verdict.outcome}


@task(PAPER, attempts=5, retry_on=(StorageDown,), wait=30)
def paper(job: Job, progress: Progress) -> dict[str, Any]:
    """Set a verdict's PDF in one language."""
    progress(0, 1)
    verdict = Verdict.objects.select_related(
        "dossier", "submission__lot", "submission__article", "submission__revision"
    ).get(pk=job.params["verdict"])
    made = make_paper(verdict, job.params["language"])
    progress(1, 1)
    return {"size": made.size}
