"""What a verdict's figures are drawn from: the same frozen bytes that were judged, read again."""

from __future__ import annotations

import logging

from evidence.figures import MOST_READINGS
from ledger import blobs
from ledger.blobs import BlobError
from method.behind import Behind, behind
from method.judge import JudgeError
from method.submission import parse_submission
from shipments.models import Verdict

log = logging.getLogger(__name__)


def behind_of(verdict: Verdict, *, page: bool) -> Behind | None:
    """Spectra, colours and sample of a verdict; None where the readings are very many, or where
    this engine cannot read what an earlier one judged.

    On a page also None while files cannot be had: the verdict is shown without them. For paper,
    which is made once, the error is raised.
    """
    submission = verdict.submission
    document = parse_submission(bytes(submission.bytes))
    if sum(len(one.readings) for one in document.measured) > MOST_READINGS:
        return None
    packed = {one.packed for one in document.measured}
    packed |= {one.packed for one in document.conditions.targets if one.packed is not None}
    try:
        data = blobs.get_many(submission.dossier.chain, packed)
        return behind(bytes(submission.revision.terms), bytes(submission.bytes), data)
    except JudgeError as error:
        log.warning("no figures of verdict %s: %s", verdict.digest, error)
    except BlobError as error:
        if not page:
            raise
        log.error("no figures of verdict %s: %s", verdict.digest, error)
    return None
