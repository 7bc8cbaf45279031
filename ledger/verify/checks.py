"""The numbered checks in the order of docs/record-format.md, from cheap to dear.

The first finding ends the verification: what comes after a refused check is not reached.
"""

from __future__ import annotations

import mmap
import os
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from ledger.verify import container, entries, found, keys, roots, seals, signatures
from ledger.verify import note as notes
from ledger.verify.container import Container
from ledger.verify.headers import Chain, headers
from ledger.verify.report import (
    NOT_EXTENDING,
    REFUSED,
    UNPROVEN,
    USAGE,
    VERIFIED,
    Check,
    Finding,
    Refusal,
    Report,
)
from ledger.verify.strict import shown
from ledger.verify.words import (
    BEYOND,
    CHECKS,
    NO_NOTE,
    NO_ROOT,
    ON_THE_ROOT,
    PART_TRUSTS,
    UNDER_ANY_ROOT,
    erased_words,
)

Result = TypeVar("Result")
ROOT, PAYLOADS, NOTE = 3, 6, 11  # numbers of checks that depend on what was asked or given


def verify(
    path: str | os.PathLike[str],
    root_fingerprint: str | None = None,
    *,
    note: bytes | None = None,
) -> Report:
    """Verify a record; never raises for what is in the file or the note.

    root_fingerprint: SHA-256 of the installation's root certificate, 64 lowercase hex characters,
    learnt apart from the record. Without it the best outcome is "unproven" (exit code 3).
    note: a checkpoint note that the reader holds; a record that does not extend it is refused
    (exit code 4). A mail or another text that holds it will do; one that holds none, or several,
    is wrong use (exit code 2).
    """
    report = Report(path=os.fspath(path))
    report.checks = [Check(n, *about) for n, about in enumerate(CHECKS, start=1)]
    try:
        held = None if note is None else _held(report, note)
        with Path(path).open("rb") as file:
            size = os.fstat(file.fileno()).st_size
            if size == 0:
                raise Refusal("file.empty", "the file is empty", offset=0, length=0)
            with mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as data:
                _run(report, data, root_fingerprint, held)
    except Refusal as refusal:
        _refuse(report, refusal.finding)
    except OSError as error:
        _refuse(report, Finding("file.unreadable", f"cannot be read: {type(error).__name__}"))
    except Exception as error:
        # A hostile record may reach a fault of a library: a refusal too, never a traceback.
        _refuse(report, Finding("record.unreadable", f"cannot be judged: {type(error).__name__}"))
    return report


def _held(report: Report, note: bytes) -> notes.Note:
    """The note, read before anything else: one that cannot be read costs nothing."""
    check = report.checks[NOTE - 1]
    check.status = "refused"
    held = found.note_in(note)
    check.status = "not reached"
    return held


def _run(report: Report, data: mmap.mmap, expected: str | None, held: notes.Note | None) -> None:
    """All checks in order; the first Refusal leaves through."""
    box = _step(report, 1, lambda: container.open_manifest(data))
    report.form, report.about = box.manifest["form"], box.manifest.get("about", "")
    report.chain, report.entries = shown(box.manifest["chain"]), box.entries
    _step(report, 2, lambda: container.walk(box))
    root = _step(report, ROOT, lambda: roots.root(box, expected))
    report.root = root.fingerprint
    if expected is None:
        _not_asked(report, ROOT, NO_ROOT)
    signed = _step(report, 4, lambda: roots.checkpoint(box, root))
    report.checkpoint_time = signed["time"]
    chain = _step(report, 5, lambda: _headers(box, signed))
    report.head = signed["hash"]
    _step(report, PAYLOADS, lambda: entries.payloads(box, chain))
    report.withheld, report.erased = chain.missing.withheld, chain.missing.erased
    _step(report, 7, lambda: entries.blobs(box, chain))
    known = _step(report, 8, lambda: keys.certified(box, chain, root))
    made = _step(report, 9, lambda: signatures.signatures(box, chain, known))
    report.signatures, report.signatures_withheld = made.made, made.withheld
    _step(report, 10, lambda: seals.seals(box, chain, root))
    if held is None:
        _not_asked(report, NOTE, NO_NOTE)
    else:
        _step(report, NOTE, lambda: notes.extends(box, held, root))
    _conclude(report, proven=expected is not None)


def _headers(box: Container, signed: dict[str, object]) -> Chain:
    chain = headers(box)
    roots.head(box, chain, signed)
    return chain


def _step(report: Report, number: int, run: Callable[[], Result]) -> Result:
    check = report.checks[number - 1]
    check.status = "refused"  # until it has passed
    result = run()
    check.status = "passed"
    return result


def _not_asked(report: Report, number: int, words: tuple[str, str]) -> None:
    """The reader gave nothing to check against: what follows from that."""
    check = report.checks[number - 1]
    check.status = "not asked"
    check.proves, check.trusts = words


def _conclude(report: Report, *, proven: bool) -> None:
    """Outcome, exit code, and what nothing in the record can tell the reader."""
    report.outcome = "verified" if proven else "unproven"
    report.exit_code = VERIFIED if proven else UNPROVEN
    payloads = report.checks[PAYLOADS - 1]
    more = [PART_TRUSTS] if report.form == container.PART else []
    more += [erased_words(report.erased)] if report.erased else []
    if more:
        payloads.trusts = "; ".join(more)
    report.not_asked = [check.id for check in report.checks if check.status == "not asked"]
    report.still_to_trust = [
        check.trusts for check in report.checks if not check.trusts.startswith("nothing")
    ]
    report.still_to_trust.append(BEYOND)
    for check in report.checks:
        if not proven and check.id in ON_THE_ROOT and check.status == "passed":
            check.trusts = UNDER_ANY_ROOT + check.trusts


def _refuse(report: Report, finding: Finding) -> None:
    report.outcome = "refused"
    report.exit_code = REFUSED
    if finding.member == notes.MEMBER:
        # The record holds in itself and contradicts the note; or the note is none at all.
        report.exit_code = USAGE if finding.id in (notes.FORM, notes.SEVERAL) else NOT_EXTENDING
    report.findings.append(finding)
    report.signatures = []
    report.not_asked, report.still_to_trust = [], []
