"""Making the signed record: asked for on a page, written and verified by a job."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction
from django.utils.translation import gettext_lazy as _

from desk.models import RecordCopy
from desk.parts_of_record import numbers_in_full
from jobs import queue
from ledger import chain, clock
from ledger.canonical import parse
from ledger.kinds import Kind
from ledger.verify import verify
from parties.capacity import Capacity
from parties.checkpoints import has_chain, note_for
from parties.keys import installation
from parties.models import Dossier, Sitter
from parties.refusal import Refusal
from parties.signing import write_record

EXPORT = "desk.export"
DROP_COPIES = "desk.drop-copies"  # asked for by parties.transitions.personal


def ask_for_record(dossier: Dossier, *, by: Capacity, about: str = "") -> RecordCopy:
    """Queue a copy of the record for one's own side; the chain does not grow.

    `about`: the subject of a part ("lot/<id>", "dispute/<id>"); without it the whole record.
    """
    if not has_chain(dossier):
        raise Refusal("no_chain", _("Nothing was shared in this dossier yet: there is no record."))
    head = chain.head(dossier.chain)
    with transaction.atomic():
        copy = RecordCopy.objects.create(
            dossier=dossier,
            side_only=by.side,
            made_by=by.sitter.code,
            number=head.number,
            hash=head.hash,
            about=about,
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
    """Write the file, whole or not at all, and verify it; again gives the record of that time."""
    target = path_of(copy)
    target.parent.mkdir(parents=True, exist_ok=True)
    part = target.with_suffix(f".{os.getpid()}.part")
    with part.open("wb") as out:
        checkpoint, signed = write_record(copy.dossier.chain, out, **part_of(copy))
        out.flush()
        os.fsync(out.fileno())
    with part.open("rb") as written:
        digest = hashlib.file_digest(written, "sha256").hexdigest()
    found = verified(part)
    size = part.stat().st_size
    part.replace(target)
    # The chain may have grown since: what the file holds is what its checkpoint says.
    said = parse(checkpoint)
    RecordCopy.objects.filter(pk=copy.pk).update(
        size=size,
        digest=digest,
        number=said["number"],
        hash=said["hash"],
        note=note_for(copy.dossier, checkpoint, signed),
        **found,
    )
    copy.refresh_from_db()
    if outdated(copy):
        target.unlink(missing_ok=True)
    return copy


def outdated(copy: RecordCopy) -> bool:
    """Whether a person's payloads were erased since: the file may hold what nobody is to read."""
    later = chain.entries(copy.dossier.chain).filter(number__gt=copy.number)
    return later.filter(kind=Kind.PERSON_ERASED.value).exists()


def drop_outdated(dossier: Dossier) -> int:
    """Remove the files of copies that were made before the last erasure; how many there were."""
    last = chain.entries(dossier.chain).filter(kind=Kind.PERSON_ERASED.value).last()
    if last is None:
        return 0
    found = 0
    for copy in RecordCopy.objects.filter(dossier=dossier, number__lt=last.number):
        found += path_of(copy).exists()
        path_of(copy).unlink(missing_ok=True)
    return found


def part_of(copy: RecordCopy) -> dict[str, Any]:
    """What a part is about and which entries it gives in full; nothing for the whole record."""
    if not copy.about:
        return {}
    asked = Sitter.objects.select_related("seat", "dossier")
    by = asked.get(dossier=copy.dossier, code=copy.made_by)
    return {"about": copy.about, "full": numbers_in_full(by, copy.about)}


def verified(path: Path) -> dict[str, object]:
    """What the verifier says of a file under this installation's root, as columns of a copy.

    It is the verifier that anybody can run apart from here; that it ran here shows that the file
    was whole when it was written, not that this service can be trusted.
    """
    report = verify(path, installation().fingerprint)
    finding = str(report.findings[0]) if report.findings else ""
    return {
        "verdict": report.outcome,
        "verified_at": clock.now(),
        "verified_head": report.head or "",
        "finding": finding[:400],
    }
