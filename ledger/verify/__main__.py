"""Verify a signed record: FILE [--root FINGERPRINT] [--extends NOTE] [--json] [--unpack DIR].

Exit status: 0 verified under the root you named, 3 consistent but signers unproven (no root
named), 1 refused, 4 holds in itself but does not extend the checkpoint note you gave, 2 wrong use.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from ledger.verify.checks import verify
from ledger.verify.container import PART
from ledger.verify.found import MAX_TEXT
from ledger.verify.report import NOT_EXTENDING, USAGE, Report
from ledger.verify.strict import HEX
from ledger.verify.unpack import unpack

OUTCOMES = {
    "verified": "VERIFIED: consistent, and signed under the root you named",
    "unproven": "CONSISTENT, SIGNERS UNPROVEN: name the root with --root to prove them",
    "refused": "REFUSED",
}
NOTE = (
    "a checkpoint note that you kept: the note alone, or the text or saved mail (.eml) in which it "
    "stands, with no other note beside it"
)
REASONS = {
    NOT_EXTENDING: ": it does not extend the checkpoint that you hold",
    USAGE: ": what you gave is not one checkpoint note",
}


def main(argv: Sequence[str] | None = None) -> int:
    """Verify one file and print the report; returns the exit status."""
    options = _parser().parse_args(argv)
    root = _fingerprint(options.root)
    if options.root is not None and root is None:
        return _wrong_use("--root takes 64 hexadecimal characters")
    if not Path(options.file).is_file():
        return _wrong_use(f"no such file: {_name(options.file)}")
    note = None
    if options.extends is not None:
        try:
            with Path(options.extends).open("rb") as file:
                note = file.read(MAX_TEXT + 1)
        except OSError as error:
            return _wrong_use(f"no note {_name(options.extends)}: {error.strerror or error}")
    report = verify(options.file, root, note=note)
    shown = json.dumps(report.as_dict(), indent=1) if options.json else text(report)
    # Names may need more than the terminal's encoding has: they are escaped, not fatal.
    sys.stdout.reconfigure(errors="backslashreplace")  # type: ignore[union-attr]
    _print(shown)
    if options.unpack and report.outcome != "refused":
        try:
            unpack(options.file, options.unpack)
        except OSError as error:
            return _wrong_use(f"cannot unpack: {error.strerror or error}")
    return report.exit_code


def _parser() -> argparse.ArgumentParser:
    # As a zipapp it goes by the name of its file.
    begun = Path(sys.argv[0]).name
    prog = begun if begun.endswith(".pyz") else "python -m ledger.verify"
    parser = argparse.ArgumentParser(
        prog=prog, description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("file", help="the signed record (.zip)")
    parser.add_argument("--root", help="fingerprint of the installation's root, from elsewhere")
    parser.add_argument("--extends", metavar="NOTE", help=NOTE)
    parser.add_argument("--json", action="store_true", help="print the report as JSON")
    parser.add_argument("--unpack", metavar="DIR", help="write the members to a new folder")
    return parser


def _print(text: str) -> None:
    """To the end, or until whoever reads along has seen enough; the exit status still tells."""
    try:
        print(text, flush=True)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _wrong_use(message: str) -> int:
    print(message, file=sys.stderr)
    return USAGE


def _name(given: str) -> str:
    return ascii(given)[1:-1]


def text(report: Report) -> str:
    """The report for people; ASCII wherever the record's own words are shown."""
    lines = [f"{OUTCOMES[report.outcome]}{REASONS.get(report.exit_code, '')}"]
    if report.chain:
        lines.append(f"chain {report.chain}, {report.entries} entries, head {report.head or '?'}")
    lines += _extent(report)
    if report.root:
        lines.append(f"root {report.root}")
    for check in report.checks:
        lines.append(f"{check.number}. {check.title}: {check.status}")
        if check.status in ("passed", "not asked"):
            lines += [f"     proves: {check.proves}.", f"     trust:  {check.trusts}."]
    lines += [f"finding {one.id}: {one}" for one in report.findings]
    proven = "" if report.outcome == "verified" else " (signer unproven)"
    lines += [_signature(made) + proven for made in report.signatures]
    return "\n".join(lines + _ending(report))


def _extent(report: Report) -> list[str]:
    """How much of the chain is given, where it is not all."""
    lines = []
    if report.form == PART:
        given = report.entries - report.withheld - report.erased
        lines.append(
            f"a part, about {report.about}: {given} entries given, {report.withheld} withheld"
            f" ({report.signatures_withheld} signatures among them)"
        )
    if report.erased:
        payloads = "1 payload was" if report.erased == 1 else f"{report.erased} payloads were"
        lines.append(f"{payloads} erased: their entries stand, unreadable")
    return lines


def _signature(made: dict[str, object]) -> str:
    """One line about a signature; a document under no revision is named without one."""
    shown = _ascii(made)
    what = shown["what"]
    if made["revision"] is not None:
        under = " " if what == "revision" else " under revision "
        what += under + shown["revision"]
    return (
        "signature in entry {entry}: {document} by {name} for {organisation_name} "
        "({side}, {role}), {assurance}, {time}{since}".format(
            document=what,
            since=""
            if made["revoked_by_entry"] is None
            else f", key revoked later in entry {shown['revoked_by_entry']}",
            **shown,
        )
    )


def _ending(report: Report) -> list[str]:
    """Which checks were not asked for, and what is left to trust."""
    if report.outcome == "refused":
        return []
    asked = [f"{one.number} ({one.title})" for one in report.checks if one.id in report.not_asked]
    return [
        f"not asked: {', '.join(f'check {one}' for one in asked) or 'no check, all were run'}",
        "still to trust:",
        *(f"  - {sentence}" for sentence in report.still_to_trust),
    ]


def _ascii(made: dict[str, object]) -> dict[str, str]:
    # Names come from the record: no control characters reach the terminal.
    return {
        name: "".join(c if c.isprintable() else "?" for c in str(value))[:120]
        for name, value in made.items()
    }


def _fingerprint(given: str | None) -> str | None:
    """Hex as people copy it (colons, spaces, capitals) in the record's form."""
    if given is None:
        return None
    plain = given.replace(":", "").replace(" ", "").lower()
    return plain if HEX.fullmatch(plain) else None


if __name__ == "__main__":
    sys.exit(main())
