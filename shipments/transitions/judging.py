"""Judging what was handed in: a pure function of frozen bytes, written once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from django.conf import settings
from django.db import transaction
from django.utils.translation import gettext_lazy as _

from jobs import queue
from jobs.models import Job
from ledger import blobs, chain
from ledger.canonical import parse
from ledger.chain import SYSTEM
from ledger.kinds import Kind
from method.judge import judge
from method.submission import blob_digests, parse_submission
from parties.capacity import Capacity
from parties.refusal import Refusal
from shipments.models import Lot, Submission, Verdict

PAPER = "shipments.paper"


class ChainBlobs(Mapping[str, bytes]):
    """The blobs that a submission refers to, read from its chain when asked for."""

    def __init__(self, place: str, digests: tuple[str, ...]):
        self.place, self.digests = place, digests

    def __getitem__(self, digest: str) -> bytes:
        if digest not in self.digests:
            raise KeyError(digest)
        return blobs.get(self.place, digest)

    def __iter__(self) -> Iterator[str]:
        return iter(self.digests)

    def __len__(self) -> int:
        return len(self.digests)


def judge_submission(submission: Submission) -> Verdict:
    """The verdict on a submission, given once; a second call returns the first verdict.

    Raises method.judge.JudgeError where the submission is of an engine not carried here.
    """
    found = Verdict.objects.filter(submission=submission).first()
    if found is not None:
        return found
    data, place = bytes(submission.bytes), submission.dossier.chain
    available = ChainBlobs(place, blob_digests(parse_submission(data)))
    verdict = judge(bytes(submission.revision.terms), data, available)
    return _write(submission, verdict, parse(verdict)["outcome"])


def failed_jobs(submission: Submission) -> list[Job]:
    """Judging, or setting a PDF in some language, that failed."""
    papers = [f"{submission.subject}/{language}" for language, _name in settings.LANGUAGES]
    return queue.failed(submission.subject, *papers)


def try_again(submission: Submission, *, by: Capacity) -> Submission:
    """Put what failed about this evidence up for work once more; nothing else is touched."""
    with transaction.atomic():
        if not [job for job in failed_jobs(submission) if queue.try_again(job)]:
            raise Refusal("nothing_failed", _("Nothing failed here, or it is at work again."))
    return submission


def _write(submission: Submission, data: bytes, outcome: str) -> Verdict:
    place = submission.dossier.chain
    digest = blobs.put(place, data, "application/json")
    with transaction.atomic():
        row = Verdict.objects.create(
            dossier=submission.dossier,
            submission=submission,
            bytes=data,
            digest=digest,
            outcome=outcome,
        )
        chain.append(
            place,
            by=SYSTEM,
            kind=Kind.VERDICT_GIVEN,
            subject=submission.subject,
            act=f"judge-{submission.pk.hex}",
            payload={"submission": submission.digest, "digest": digest, "outcome": outcome},
            blobs=[digest],
        )
        if submission.purpose == Submission.Purpose.LOT:
            Lot.objects.filter(pk=submission.lot_id, status=Lot.Status.SUBMITTED).update(
                status=Lot.Status.JUDGED
            )
        for language, _name in settings.LANGUAGES:
            queue.enqueue(
                PAPER,
                subject=f"{submission.subject}/{language}",
                chain=place,
                key=f"paper/{row.pk}/{language}",
                verdict=str(row.pk),
                language=language,
            )
    return row
