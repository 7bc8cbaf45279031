"""Check 5: headers and their links; and what later checks need of them, kept as small as can be."""

from __future__ import annotations

import re
from array import array
from dataclasses import dataclass, field
from datetime import datetime
from hashlib import blake2b, sha256
from itertools import pairwise
from typing import Any

from ledger.verify.container import SUBJECT, Container, entry_name
from ledger.verify.report import Refusal
from ledger.verify.strict import HEX, in_field, read_json, read_object

START = b"0" * 64
WITHHELD, ERASED = b"withheld", b"erased"  # what stands in the place of payload and salt
ABSENT = {WITHHELD + b"\n": WITHHELD, ERASED + b"\n": ERASED}
HEADER: dict[str, type | tuple[type, ...]] = {
    "v": int,
    "chain": str,
    "number": int,
    "time": str,
    "actor": str,
    "organisation": str,
    "side": str,
    "role": str,
    "kind": str,
    "subject": str,
    "act": str,
    "payload": str,
    "blobs": list,
    "previous": str,
}
# Kinds whose payloads later checks read.
KEPT = frozenset(
    b"key.certified key.revoked sitter.seated signature.made "
    b"seal.certified document.sealed person.erased "
    b"article.approved article.approved-with-limits revision.signed settlement.agreed".split()
)

_CODE = r"[A-Za-z0-9._:-]{1,64}"
_KIND = r"[a-z]+(?:-[a-z]+)*\.[a-z]+(?:-[a-z]+)*"
_HASH = r"[0-9a-f]{64}"
_PATTERNS = {
    "act": _CODE,
    "actor": _CODE,
    "blobs": None,
    "chain": r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}",
    "kind": _KIND,
    "number": None,
    "organisation": _CODE,
    "payload": _HASH,
    "previous": _HASH,
    "role": _CODE,
    "side": _CODE,
    "subject": SUBJECT,
    "time": r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z",
    "v": None,
}


def _line() -> re.Pattern[bytes]:
    """A whole header: canonical form leaves exactly one way to write it."""
    special = {
        "blobs": rf'\[(?P<blobs>(?:"{_HASH}"(?:,"{_HASH}")*)?)\]',
        "number": r"(?P<number>[1-9]\d{0,15})",
        "v": "1",
    }
    fields = (
        f'"{name}":' + (special[name] if pattern is None else f'"(?P<{name}>{pattern})"')
        for name, pattern in _PATTERNS.items()
    )
    return re.compile(("{" + ",".join(fields) + "}").encode("ascii"))


_LINE = _line()


@dataclass
class Chain:
    """What later checks need of the headers: nothing that grows with plain entries.

    named: digest → first entry that names it; under: the same per subject and digest (a hash of
    both); kept: numbers of entries by kind; signed: (person, organisation, side) → first signature.
    """

    last: bytes = START
    named: dict[bytes, int] = field(default_factory=dict)
    under: dict[bytes, int] = field(default_factory=dict)
    kept: dict[bytes, array[int]] = field(default_factory=dict)
    signed: dict[tuple[bytes, bytes, bytes], int] = field(default_factory=dict)
    missing: Missing = field(default_factory=lambda: Missing())

    def of(self, *kinds: str) -> list[int]:
        """Numbers of the entries of these kinds, ascending."""
        found = [number for kind in kinds for number in self.kept.get(kind.encode(), ())]
        return sorted(found) if len(kinds) > 1 else found

    def first_under(self, subject: str, digest: str) -> int | None:
        """The first entry that names a digest under a subject."""
        return self.under.get(_under(subject.encode("utf-8", "replace"), digest.encode("utf-8")))


@dataclass
class Missing:
    """Entries without their payload, and the subjects they belong to (in a part only)."""

    withheld: int = 0
    erased: int = 0
    erased_of: dict[bytes, int] = field(default_factory=dict)  # last erased entry of each subject
    subjects: dict[bytes, int] = field(default_factory=dict)  # first withheld entry of each
    given: dict[bytes, int] = field(default_factory=dict)  # first entry given or erased of each
    kinds: dict[tuple[bytes, bytes], int] = field(default_factory=dict)  # (kind, word) → first


def never_missing(kind: str) -> bool:
    """Whether a payload of this kind is neither withheld nor erased: who sits, who holds keys."""
    return kind.split(".")[0] in {"seat", "sitter", "key"} or kind in {
        "dossier.opened",
        "person.erased",
    }


def never_erased(kind: str) -> bool:
    """Whether a payload of this kind is never erased: also signatures and seals."""
    return never_missing(kind) or kind in {"signature.made", "seal.certified", "document.sealed"}


def split(content: bytes) -> tuple[bytes, bytes, bytes, int]:
    """An entry's three lines: header, payload, salt in hex; and where the payload starts."""
    first = content.find(b"\n")
    second = content.find(b"\n", first + 1)
    if first < 0 or second < 0 or content.find(b"\n", second + 1) != len(content) - 1:
        raise Refusal("entry.lines", "an entry has three lines: header, payload, salt")
    return content[:first], content[first + 1 : second], content[second + 1 : -1], first + 1


def header_of(content: bytes) -> bytes:
    """An entry's first line."""
    return content[: content.find(b"\n")]


def read_header(box: Container, number: int) -> dict[str, Any]:
    """The header of an entry whose headers were checked."""
    value: dict[str, Any] = read_json(header_of(box.entry(number)[0]))
    return value


def hash_of(box: Container, number: int) -> str:
    """The hash of an entry."""
    return sha256(header_of(box.entry(number)[0])).hexdigest()


def headers(box: Container) -> Chain:
    """Check 5: every header is well formed and names the hash of the one before."""
    chain = Chain()
    own = box.manifest["chain"].encode("utf-8")
    time, is_part = b"", box.is_part
    for number, content, start in box.each_entry():
        end = content.find(b"\n")
        header = content[:end]
        try:
            word = ABSENT.get(content[end + 1 :]) if len(content) - end < 11 else None
            if word is None:
                split(content)
            found = _LINE.fullmatch(header)
            if found is None:
                raise _fault(header)
            _check_links(header, found, own, chain, number, time)
            chain.last = sha256(header).hexdigest().encode("ascii")
            if found["blobs"]:
                _name(chain, number, header, found)
            if found["kind"] in KEPT:
                _keep(chain, number, found)
            if word is not None or is_part:
                _miss(chain.missing, number, found, word, is_part)
        except Refusal as refusal:
            raise refusal.at(entry_name(number), start, max(1, len(header)), "header") from None
        time = found["time"]
    return chain


def _check_links(
    header: bytes, found: re.Match[bytes], own: bytes, chain: Chain, number: int, time: bytes
) -> None:
    if found["chain"] != own:
        raise in_field(header, "chain", "header.chain", "entry belongs to another chain")
    if int(found["number"]) != number:
        raise in_field(header, "number", "header.number", f"entry is not number {number}")
    if found["previous"] != chain.last:
        raise in_field(
            header, "previous", "header.previous", "previous hash is not that of the entry before"
        )
    now = found["time"]
    if now < time:
        raise in_field(header, "time", "header.time", "time lies before the entry before")
    try:
        datetime.fromisoformat(now.decode("ascii"))
    except ValueError:
        raise in_field(header, "time", "header.time", "not a moment that exists") from None


def _fault(header: bytes) -> Refusal:
    """Why a header is not in its form: the field, where one can be named."""
    try:
        value = read_object(header, HEADER)
    except Refusal as refusal:
        return refusal
    if value["v"] != 1:
        return in_field(header, "v", "header.version", "a version this verifier does not know")
    for name, pattern in _PATTERNS.items():
        if pattern is not None and not re.fullmatch(pattern, value[name], re.ASCII):
            return in_field(header, name, f"header.{name}", "field is not in its form")
    if not all(type(one) is str and HEX.fullmatch(one) for one in value["blobs"]):
        return in_field(header, "blobs", "header.blobs", "blobs are not digests")
    return in_field(header, "number", "header.number", "not the number of an entry")


def _name(chain: Chain, number: int, header: bytes, found: re.Match[bytes]) -> None:
    """Remember the documents that an entry names."""
    blobs = found["blobs"].replace(b'"', b"").split(b",")
    if any(one >= other for one, other in pairwise(blobs)):
        raise in_field(header, "blobs", "header.blobs", "blobs are not in ascending order")
    for one in blobs:
        chain.named.setdefault(bytes.fromhex(one.decode("ascii")), number)
        chain.under.setdefault(_under(found["subject"], one), number)


def _under(subject: bytes, digest: bytes) -> bytes:
    return blake2b(subject + b"\n" + digest, digest_size=32).digest()


def _keep(chain: Chain, number: int, found: re.Match[bytes]) -> None:
    kind = found["kind"]
    if kind not in chain.kept:
        chain.kept[kind] = array("Q")
    chain.kept[kind].append(number)
    if kind == b"signature.made":
        chain.signed.setdefault((found["actor"], found["organisation"], found["side"]), number)


def _miss(
    missing: Missing, number: int, found: re.Match[bytes], word: bytes | None, is_part: bool
) -> None:
    """Count what is not given; in a part also which subjects are given and which withheld."""
    kind, subject = found["kind"], found["subject"]
    if word is not None:
        missing.kinds.setdefault((kind, word), number)
    if word == WITHHELD:
        missing.withheld += 1
        missing.subjects.setdefault(subject, number)
    elif word == ERASED:
        missing.erased += 1
        missing.erased_of[subject] = number
    if is_part and word != WITHHELD and not never_missing(kind.decode("ascii")):
        missing.given.setdefault(subject, number)
