"""Making the signed record: asked for on a page, written by a job."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

from django.conf import settings
from django.db import transaction
from django.utils.translation import gettext_lazy as _

from desk.models import RecordCopy
from jobs import queue
from ledger import chain
from ledger.canonical import parse
from parties.capacity import Capacity
from parties.models import Dossier
from parties.refusal import Refusal
from parties.signing import write_record

EXPORT = "desk.export"


def ask_for_record(dossier: Dossier, *, by: Capacity) -> RecordCopy:
    """Queue a copy of the record for one's own side; the chain does not grow."""
    if not chain.exists(dossier.chain) or not chain.head(dossier.chain).number:
        raise Refusal("no_chain", _("Nothing was shared in this dossier yet: there is no record."))
    head = chain.head(dossier.chain)
    with transaction.atomic():
        copy = RecordCopy.objects.create(
            dossier=dossier,
            side_only=by.side,
            made_by=by.sitter.code,
            number=head.number,
            hash=head.hash,
        )
        queue.enqueue(
            EXPORT, subject=copy.subject, chain=dossier.chain, key=copy.subject, copy=str(copy.pk)
        )
    return copy


def try_again(copy: RecordCopy, *, by: Capacity) -> RecordCopy:
    """Queue a copy whose writing failed once more."""
    with transaction.atomic():
        if not [job for job in queue.failed(copy.subject) if queue.try_again(job)]:
            raise Refusal("nothing_failed", _("Nothing failed here, or it is at work again."))
    return copy


def path_of(copy: RecordCopy) -> Path:
    """Where the file lies."""
    return Path(settings.VAR_DIR) / "records" / f"{copy.pk}.zip"


def write_copy(copy: RecordCopy) -> RecordCopy:
    """Write the file, whole or not at all; again gives the record of the head at that time."""
    target = path_of(copy)
    target.parent.mkdir(parents=True, exist_ok=True)
    part = target.with_suffix(f".{os.getpid()}.part")
    with part.open("wb") as out:
        checkpoint = write_record(copy.dossier.chain, out)
        out.flush()
        os.fsync(out.fileno())
    with part.open("rb") as written:
        digest = hashlib.file_digest(written, "sha256").hexdigest()
    part.replace(target)
    # The chain may have grown since: what the file holds is what its checkpoint says.
    signed = parse(checkpoint)
    RecordCopy.objects.filter(pk=copy.pk).update(
        size=target.stat().st_size, digest=digest, number=signed["number"], hash=signed["hash"]
    )
    copy.refresh_from_db()
    return copy
