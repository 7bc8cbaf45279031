"""The self-check that runs by itself: in parts, kept in rows, raising and ending alarms.

A check looks at everything once a week and whenever an alarm stands, otherwise at the triggers, the
heads, and what came since the last check. `part` may stop after a while and go on later from where
it says, so that no piece of work outlasts the time that a worker has for one. Nothing is mended.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Max

from ledger import clock
from ledger.chain import entries
from ledger.models import Alarm, Blob, Finding, SeenHead, SelfCheck
from ledger.selfcheck import (
    Fault,
    Place,
    blob_fault,
    head_faults,
    heads,
    last_seen,
    lost_faults,
    moved_faults,
    page,
    trigger_faults,
)

WHOLE_EVERY = timedelta(days=7)
LISTED = 100  # faults kept per chain and check; one more line says that there are more
BLOBS = 50

Beat = Callable[[], None]


@dataclass(frozen=True)
class Cursor:
    """Where a check goes on: all rules, then chain by chain (`chain`, as far as `number`), then
    blobs. `chain` is the one being read, or the last one that was."""

    stage: str = "rules"
    chain: str = ""
    number: int = 0
    hash: str = ""
    until: int = 0
    blob: int = 0

    def as_json(self) -> dict[str, Any]:
        """As a job carries it; `Cursor(**value)` reads it."""
        return dict(vars(self))


def begin() -> SelfCheck:
    """Start a check: a whole one where an alarm stands or the last whole one is a week ago."""
    now = clock.now()
    recent = SelfCheck.objects.filter(
        whole=True, finished_at__isnull=False, started_at__gt=now - WHOLE_EVERY
    )
    whole = Alarm.objects.filter(ended_at=None).exists() or not recent.exists()
    newest = Blob.objects.aggregate(newest=Max("pk"))["newest"] or 0
    return SelfCheck.objects.create(started_at=now, whole=whole, last_blob=newest)


def part(check: SelfCheck, cursor: Cursor, seconds: float, beat: Beat) -> Cursor | None:
    """Go on with a check for about so many seconds; None when it is through.

    `beat` is called between pages. Running the same part again finds the same.
    """
    ends = time.monotonic() + seconds
    for reached in _steps(check, cursor):
        beat()
        if time.monotonic() > ends:
            return reached
    return None


def finish(check: SelfCheck) -> list[Alarm]:
    """Close a check: raise an alarm for each new fault, end those whose cause is gone.

    Gives the alarms that were raised; again, it gives none.
    """
    now = clock.now()
    with transaction.atomic():
        rows = SelfCheck.objects.filter(pk=check.pk, finished_at=None).update(finished_at=now)
        if rows == 0:
            return []
        found = {one.key: one for one in check.findings.order_by("pk")}
        if check.whole:
            _end(check, now, list(found.values()))
        return [alarm for one in found.values() if (alarm := _raise(check, now, one)) is not None]


def _steps(check: SelfCheck, cursor: Cursor) -> Iterator[Cursor]:
    """Look, page by page; after each the cursor from which to go on."""
    if cursor.stage == "rules":
        _keep(check, [*trigger_faults(), *lost_faults()])
        cursor = Cursor("chains")
        yield cursor
    while cursor.stage == "chains":
        cursor = _chain_page(check, cursor)
        yield cursor
    while True:
        blob = _blob_page(check, cursor.blob)
        if blob is None:
            return
        cursor = Cursor("blobs", blob=blob)
        yield cursor


def _chain_page(check: SelfCheck, cursor: Cursor) -> Cursor:
    """One page of the chain at hand, or the beginning of the next one."""
    if cursor.number == cursor.until:
        row = heads().filter(chain__gt=cursor.chain).first()
        if row is None:
            return Cursor("blobs", blob=_first_blob(check))
        _keep(check, head_faults(row))
        seen = Place() if check.whole else last_seen(row.chain)
        _keep(check, moved_faults(row.chain, seen))
        until = row.last_number or 0
        seen = seen if seen.number <= until else Place(until, seen.hash)
        cursor = Cursor("chains", row.chain, seen.number, seen.hash, until)
    if cursor.number < cursor.until:
        after = Place(cursor.number, cursor.hash)
        found, after = page(cursor.chain, after, cursor.until)
        _keep(check, found)
        cursor = Cursor("chains", cursor.chain, after.number, after.hash, cursor.until)
    if cursor.number == cursor.until > 0:
        _see(check, cursor)
    return cursor


def _see(check: SelfCheck, cursor: Cursor) -> None:
    """Remember the head of a chain that was read to its end without a fault."""
    if not check.findings.filter(chain=cursor.chain).exists():
        SeenHead.objects.get_or_create(
            chain=cursor.chain,
            number=cursor.number,
            defaults={"hash": cursor.hash, "seen_at": clock.now()},
        )


def _first_blob(check: SelfCheck) -> int:
    """After which row of a blob this check begins."""
    before = SelfCheck.objects.filter(finished_at__isnull=False, pk__lt=check.pk)
    return 0 if check.whole else before.aggregate(last=Max("last_blob"))["last"] or 0


def _blob_page(check: SelfCheck, after: int) -> int | None:
    """Look at some blobs; the last row looked at, None when there was none left."""
    rows = Blob.objects.filter(pk__gt=after, pk__lte=check.last_blob).order_by("pk")[:BLOBS]
    for blob in rows:
        fault = blob_fault(blob)
        if fault is not None:
            _keep(check, [fault])
            if fault.id == "storage":
                return None  # it would not answer for the others either
        after = blob.pk
    return after if rows else None


def _keep(check: SelfCheck, faults: Iterable[Fault]) -> None:
    """Write faults down, each once, no more than LISTED of a chain."""
    kept: dict[str, int] = {}
    for fault in faults:
        if fault.chain not in kept:
            kept[fault.chain] = check.findings.filter(chain=fault.chain).count()
        if kept[fault.chain] == LISTED:
            fault = Fault("more", fault.chain)
        elif kept[fault.chain] > LISTED:
            continue
        _, made = Finding.objects.get_or_create(
            check_of=check,
            key=fault.key,
            defaults={"fault": fault.id, "chain": fault.chain, "facts": dict(fault.facts)},
        )
        kept[fault.chain] += made


def _raise(check: SelfCheck, now: datetime, found: Finding) -> Alarm | None:
    facts = found.facts
    if "digest" in facts:
        facts = facts | {"entry": _naming(found.chain, facts["digest"])}
    alarm, made = Alarm.objects.get_or_create(
        key=found.key,
        ended_at=None,
        defaults={
            "fault": found.fault,
            "chain": found.chain,
            "facts": facts,
            "raised_by": check,
            "raised_at": now,
        },
    )
    return alarm if made else None


def _naming(chain: str, digest: str) -> int:
    """The first entry that names a blob, 0 where none does."""
    mark = digest.encode("ascii")
    rows = entries(chain).values_list("number", "header_bytes").iterator(chunk_size=1000)
    return next((number for number, header in rows if mark in bytes(header)), 0)


def _end(check: SelfCheck, now: datetime, found: list[Finding]) -> None:
    """End the alarms that a whole check did not confirm; not those it could not look at."""
    keys = {one.key for one in found}
    unread = any(one.fault == "storage" for one in found)
    cut = {one.chain for one in found if one.fault == "more"}
    for alarm in Alarm.objects.filter(ended_at=None).exclude(key__in=keys):
        if (unread and alarm.fault.startswith("blob-")) or alarm.chain in cut:
            continue
        Alarm.objects.filter(pk=alarm.pk, ended_at=None).update(ended_at=now, ended_by=check)
