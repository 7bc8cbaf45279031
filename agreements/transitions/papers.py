"""Asking for the PDFs of signed terms; a job makes and seals them (`agreements/paper.py`)."""

from __future__ import annotations

from django.conf import settings
from django.db import transaction
from django.utils.translation import gettext_lazy as _

from agreements.models import Revision
from jobs import queue
from jobs.models import Job
from parties.capacity import Capacity
from parties.refusal import Refusal

PAPER = "agreements.paper"
SIGNED = {Revision.Status.SIGNED_BY_ONE: 1, Revision.Status.SIGNED: 2}


def subject_of(revision: Revision, language: str) -> str:
    """What the jobs of one language are about."""
    return f"revision/{revision.pk}/{language}"


def order_papers(revision: Revision) -> None:
    """Queue the PDFs that the signatures so far ask for; ordering again changes nothing."""
    for language, _name in settings.LANGUAGES:
        queue.enqueue(
            PAPER,
            subject=subject_of(revision, language),
            chain=revision.dossier.chain,
            key=f"terms-paper/{revision.pk}/{language}/{SIGNED[revision.status]}",
            revision=str(revision.pk),
            language=language,
        )


def jobs_of(revision: Revision) -> dict[str, Job | None]:
    """The newest job of each language."""
    return {
        language: queue.latest(PAPER, subject_of(revision, language))
        for language, _name in settings.LANGUAGES
    }


def failed_jobs(revision: Revision) -> list[Job]:
    """Jobs about this revision's PDFs that failed."""
    return queue.failed(*(subject_of(revision, language) for language, _n in settings.LANGUAGES))


def papers_wanting(revision: Revision) -> bool:
    """Whether PDFs should be there and nothing works on them: failed, or signed before there were
    any."""
    return revision.status in SIGNED and (
        bool(failed_jobs(revision)) or not any(jobs_of(revision).values())
    )


def make_papers(revision: Revision, *, by: Capacity) -> None:
    """Put failed PDFs up for work once more, or order those that were never made."""
    with transaction.atomic():
        tried = [job for job in failed_jobs(revision) if queue.try_again(job)]
        if tried:
            return
        if not papers_wanting(revision):
            raise Refusal("nothing_failed", _("Nothing failed here, or it is at work again."))
        order_papers(revision)
