"""The numbered checks in the order of docs/record-format.md, from cheap to dear.

The first finding ends the verification: what comes after a refused check is not reached.
"""

from __future__ import annotations

import mmap
import os
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from ledger.verify import container, entries, signatures
from ledger.verify.report import REFUSED, UNPROVEN, VERIFIED, Check, Finding, Refusal, Report

Result = TypeVar("Result")

# id, title, what it proves, what the reader still has to trust
CHECKS = (
    (
        "manifest",
        "Manifest",
        "The file says which form of record it is, of which chain, with how many entries and blobs",
        "nothing yet: later checks compare each of these with the content",
    ),
    (
        "container",
        "Container",
        "Every byte around the contents is what the writer must have written; no hidden data",
        "nothing: the bytes are made again and compared",
    ),
    (
        "root",
        "Installation root",
        "The root certificate in the record is the one whose fingerprint you gave",
        "that the fingerprint you gave is the installation's, learnt apart from this file",
    ),
    (
        "checkpoint",
        "Checkpoint",
        "The root signed the number and hash of this chain's last entry at a stated time",
        "the root's holder for the time, and for not having signed a second, different chain: "
        "compare with checkpoints that the other side holds",
    ),
    (
        "headers",
        "Headers and links",
        "No entry was altered, removed, added or moved since the checkpoint was signed",
        "the server for the times and for who was logged in; where there is a signature, less",
    ),
    (
        "payloads",
        "Payloads",
        "Every payload is the one that its header committed to when it was written",
        "nothing beyond the headers",
    ),
    (
        "blobs",
        "Blobs",
        "Every document that an entry names is present, complete and unaltered; nothing else is",
        "nothing beyond the headers; whether the documents are true is another question",
    ),
    (
        "keys",
        "Certified keys",
        "The root certified every signatory's key, in the chain, before it signed",
        "the installation for having certified the right person",
    ),
    (
        "signatures",
        "Signatures",
        "Each statement was signed with the key certified for that person, organisation and side, "
        "over a document in this record, having seen an earlier entry of this chain",
        "for a service-held key: the operator, who could have used it; otherwise the signatory's "
        "care for the key",
    ),
)

NO_ROOT = (
    "nothing about who made the record: you named no root, so whoever made this file could have "
    "made a root, keys and signatures to fit",
    "that the root in the record is the installation's: ask for the fingerprint apart from this "
    "file, and run again with --root",
)
# Checks that stand on the root: what they prove is proven under that root alone.
ON_THE_ROOT = {"checkpoint", "headers", "keys", "signatures"}
UNDER_ANY_ROOT = "the root in the record, which nobody has named; and then: "
BEYOND = (
    "that each person understood what they signed, and that what they wrote is true: "
    "no check can prove that"
)


def verify(path: str | os.PathLike[str], root_fingerprint: str | None = None) -> Report:
    """Verify a record; never raises for what is in the file.

    root_fingerprint: SHA-256 of the installation's root certificate, 64 lowercase hex characters,
    learnt apart from the record. Without it the best outcome is "unproven" (exit code 3).
    """
    report = Report(path=os.fspath(path))
    report.checks = [Check(n, *about) for n, about in enumerate(CHECKS, start=1)]
    try:
        with Path(path).open("rb") as file:
            size = os.fstat(file.fileno()).st_size
            if size == 0:
                raise Refusal("file.empty", "the file is empty", offset=0, length=0)
            with mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as data:
                _run(report, data, root_fingerprint)
    except Refusal as refusal:
        _refuse(report, refusal.finding)
    except OSError as error:
        _refuse(report, Finding("file.unreadable", f"cannot be read: {type(error).__name__}"))
    except Exception as error:
        # A hostile record may reach a fault of a library: a refusal too, never a traceback.
        _refuse(report, Finding("record.unreadable", f"cannot be judged: {type(error).__name__}"))
    return report


def _run(report: Report, data: mmap.mmap, expected: str | None) -> None:
    """All checks in order; the first Refusal leaves through."""
    box = _step(report, 1, lambda: container.open_manifest(data))
    report.chain = ascii(box.manifest["chain"])[1:-1][:80]
    report.entries = box.entries
    _step(report, 2, lambda: container.walk(box))
    root = _step(report, 3, lambda: signatures.root(box, expected), asked=expected is not None)
    report.root = root.fingerprint
    signed = _step(report, 4, lambda: signatures.checkpoint(box, root))
    report.checkpoint_time = signed["time"]
    chain = _step(report, 5, lambda: _headers(box, signed))
    report.head = signed["hash"]
    _step(report, 6, lambda: entries.payloads(box, chain))
    _step(report, 7, lambda: entries.blobs(box, chain))
    keys = _step(report, 8, lambda: signatures.certified(box, chain, root))
    report.signatures = _step(report, 9, lambda: signatures.signatures(box, chain, keys))
    _conclude(report, proven=expected is not None)


def _headers(box: container.Container, signed: dict[str, object]) -> entries.Chain:
    chain = entries.headers(box)
    signatures.head(box, chain, signed)
    return chain


def _step(report: Report, number: int, run: Callable[[], Result], *, asked: bool = True) -> Result:
    check = report.checks[number - 1]
    check.status = "refused"  # until it has passed
    result = run()
    check.status = "passed" if asked else "not asked"
    if not asked:
        check.proves, check.trusts = NO_ROOT
    return result


def _conclude(report: Report, *, proven: bool) -> None:
    """Outcome, exit code, and what nothing in the record can tell the reader."""
    report.outcome = "verified" if proven else "unproven"
    report.exit_code = VERIFIED if proven else UNPROVEN
    report.not_asked = [check.id for check in report.checks if check.status == "not asked"]
    report.still_to_trust = [
        check.trusts for check in report.checks if not check.trusts.startswith("nothing")
    ]
    report.still_to_trust.append(BEYOND)
    for check in report.checks:
        if not proven and check.id in ON_THE_ROOT:
            check.trusts = UNDER_ANY_ROOT + check.trusts


def _refuse(report: Report, finding: Finding) -> None:
    report.outcome = "refused"
    report.exit_code = REFUSED
    report.findings.append(finding)
    report.signatures = []
    report.not_asked, report.still_to_trust = [], []
