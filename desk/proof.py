"""How a reader proves one entry with a shell alone; which signatures cover it; where its files are.

Every command is POSIX (`printf`, `sha256sum`) and needs nothing of ours.
"""

from __future__ import annotations

import shlex
from dataclasses import dataclass
from typing import Any

from agreements.models import Revision
from desk.about import NOBODY, SUBJECT
from desk.models import RecordCopy
from disputes.models import Post
from ledger import chain
from ledger.canonical import parse
from ledger.chain import START
from ledger.erasure import Erased, clear
from ledger.kinds import Kind
from ledger.models import Entry
from method.submission import blob_digests, parse_submission
from parties.access import TWO_SIDES, way_to
from parties.models import Sitter
from shipments.models import Submission, SubmissionList, Verdict, VerdictPaper

SHOWN = 4000  # bytes of a payload on a page; longer ones are proved from the signed record
NOT_ONE = "-"  # no digest: a page asks as often for an entry without files


@dataclass(frozen=True)
class Proof:
    """`header`: the bytes as text; `hash_command` and `payload_command` print the entry's hash and
    its commitment (empty where the payload was erased or is long); `covers`: each side's first
    later signature that saw this entry; `copy`: the newest verified copy that holds it."""

    header: str
    hash_command: str
    commitment: str
    payload_command: str
    erased: bool
    long: bool
    first: bool
    last: bool
    covers: list[Entry]
    copy: RecordCopy | None


def proof_of(entry: Entry, sitter: Sitter) -> Proof:
    """The proof of one entry, in a constant number of queries."""
    header = bytes(entry.header_bytes).decode()
    payload, salt, erased = _clear(entry)
    long = len(payload) > SHOWN
    copies = RecordCopy.objects.visible_to(sitter).filter(
        about="", verdict=RecordCopy.Verdict.VERIFIED, number__gte=entry.number
    )
    return Proof(
        header=header,
        hash_command=f"printf %s {shlex.quote(header)} | sha256sum",
        commitment=entry.header["payload"],
        payload_command="" if erased or long else payload_command(salt, payload),
        erased=erased,
        long=long,
        first=entry.previous == START,
        last=chain.head(entry.chain).number == entry.number,
        covers=covering(entry),
        copy=copies.order_by("-verified_at").first(),
    )


def payload_command(salt: bytes, payload: bytes) -> str:
    """Prints the commitment: SHA-256 of the salt's bytes (as octal escapes) and the payload."""
    octal = "".join(f"\\{byte:03o}" for byte in salt)
    said = shlex.quote(payload.decode())
    return f"{{ printf '{octal}'; printf %s {said}; }} | sha256sum"


def covering(entry: Entry) -> list[Entry]:
    """The first later signature of each side whose signatory saw this entry or a later one."""
    later = chain.entries(entry.chain).filter(
        kind=Kind.SIGNATURE_MADE.value, number__gt=entry.number
    )
    found = []
    for side in sorted(TWO_SIDES):
        # One query each; nearly always the first row fits (a statement names the last entry seen).
        for made in later.filter(side=side).order_by("number").iterator(chunk_size=10):
            if parse(made.payload["statement"].encode())["head"]["number"] >= entry.number:
                found.append(made)
                break
    return sorted(found, key=lambda made: made.number)


def _clear(entry: Entry) -> tuple[bytes, bytes, bool]:
    try:
        return *clear(entry), False
    except Erased:
        return b"", b"", True


@dataclass(frozen=True)
class BlobLink:
    """A file that an entry names, and where the reader may download it (or nothing)."""

    digest: str
    url: str = ""


def blob_links(entry: Entry, sitter: Sitter) -> list[BlobLink]:
    """The entry's files with the addresses at which pages offer them already; no other way is
    opened. A constant number of queries."""
    digests = entry.blobs or [NOT_ONE]
    places: dict[str, str] = {}
    for model, name in (
        (VerdictPaper, "shipments:paper"),
        (Verdict, "shipments:verdict-document"),
        (Revision, "agreements:terms-json"),
        (Submission, "shipments:submission-document"),
        (SubmissionList, "shipments:list-document"),
    ):
        rows: Any = model.objects.visible_to(sitter).filter(digest__in=digests)  # type: ignore[attr-defined]
        places |= {row.digest: _way(sitter, name, pk=row.pk) for row in rows}
    places |= _handed_in(entry, sitter) | _posted(entry, sitter)
    return [BlobLink(digest, places.get(digest, "")) for digest in entry.blobs]


def _way(sitter: Sitter, name: str, **kwargs: Any) -> str:
    return way_to(sitter, name, dossier=sitter.dossier_id, **kwargs)


def _handed_in(entry: Entry, sitter: Sitter) -> dict[str, str]:
    """Files of a submission, where the entry is about one."""
    return {
        digest: _way(sitter, "shipments:evidence-file", pk=row.pk, digest=digest)
        for row in Submission.objects.visible_to(sitter).filter(pk=_key(entry, "submission"))
        for digest in blob_digests(parse_submission(bytes(row.bytes)))
    }


def _posted(entry: Entry, sitter: Sitter) -> dict[str, str]:
    """Files of a statement in a dispute's thread, where the entry is one."""
    return {
        file["digest"]: _way(sitter, "disputes:post-file", pk=row.pk, number=number)
        for row in Post.objects.visible_to(sitter).filter(pk=_key(entry, "post"))
        for number, file in enumerate(row.files)
    }


def _key(entry: Entry, noun: str) -> str:
    """The key of the thing that an entry with files is about; nobody's where it is no `noun`."""
    found = SUBJECT.fullmatch(entry.subject)
    return found[2] if found and found[1] == noun and entry.blobs else str(NOBODY)
