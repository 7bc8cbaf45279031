"""Checks 5, 6 and 7: headers and their links, payload commitments, blobs."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from hashlib import sha256
from itertools import pairwise
from typing import Any

from ledger.verify.container import Container, blob_name, entry_name
from ledger.verify.report import Refusal
from ledger.verify.strict import HEX, in_field, is_time, read_json, read_object, shown

START = b"0" * 64
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
KEPT = (b"key.certified", b"signature.made")

_CODE = r"[A-Za-z0-9._:-]{1,64}"
_SUBJECT = r"[!#-\[\]-~](?:[ !#-\[\]-~]{0,118}[!#-\[\]-~])?"
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
    "subject": _SUBJECT,
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
    """What later checks need of the entries."""

    last: bytes = START
    hashes: bytearray = field(default_factory=lambda: bytearray(32))  # entry 0: before the first
    commitments: bytearray = field(default_factory=bytearray)
    kept: dict[int, dict[str, Any]] = field(default_factory=dict)  # headers of KEPT kinds
    # First entry that names a digest, and first that names it under a subject.
    named: dict[str, int] = field(default_factory=dict)
    under: dict[tuple[str, str], int] = field(default_factory=dict)

    def hash_of(self, number: int) -> str:
        """The hash of an entry."""
        return self.hashes[32 * number : 32 * number + 32].hex()


def split(content: bytes) -> tuple[bytes, bytes, bytes, int]:
    """An entry's three lines: header, payload, salt in hex; and where the payload starts."""
    first = content.find(b"\n")
    second = content.find(b"\n", first + 1)
    if first < 0 or second < 0 or content.find(b"\n", second + 1) != len(content) - 1:
        raise Refusal("entry.lines", "an entry has three lines: header, payload, salt")
    return content[:first], content[first + 1 : second], content[second + 1 : -1], first + 1


def headers(box: Container) -> Chain:
    """Check 5: every header is well formed and names the hash of the one before."""
    chain = Chain()
    own = box.manifest["chain"].encode("utf-8")
    time = b""
    for number in range(1, box.entries + 1):
        content, start = box.entry(number)
        header = content[: content.find(b"\n")]
        try:
            split(content)
            found = _LINE.fullmatch(header)
            if found is None:
                raise _fault(header)
            _check_links(header, found, own, chain, number, time)
            _remember(chain, number, header, found)
        except Refusal as refusal:
            raise refusal.at(entry_name(number), start, len(header), "header") from None
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
    if not is_time(now.decode("ascii")):
        raise in_field(header, "time", "header.time", "not a moment that exists")


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


def _remember(chain: Chain, number: int, header: bytes, found: re.Match[bytes]) -> None:
    hashed = sha256(header)
    chain.last = hashed.hexdigest().encode("ascii")
    chain.hashes += hashed.digest()
    chain.commitments += bytes.fromhex(found["payload"].decode("ascii"))
    if found["blobs"]:
        blobs = found["blobs"].decode("ascii").replace('"', "").split(",")
        if any(one >= other for one, other in pairwise(blobs)):
            raise in_field(header, "blobs", "header.blobs", "blobs are not in ascending order")
        subject = found["subject"].decode("ascii")
        for one in blobs:
            chain.named.setdefault(one, number)
            chain.under.setdefault((subject, one), number)
    if found["kind"] in KEPT:
        chain.kept[number] = read_json(header)


def payloads(box: Container, chain: Chain) -> None:
    """Check 6: every payload, with its salt, is the one its header committed to."""
    for number in range(1, box.entries + 1):
        content, start = box.entry(number)
        _, payload, salt, offset = split(content)
        name = entry_name(number)
        if not HEX.fullmatch(salt.decode("ascii", "replace")):
            raise Refusal("entry.salt", "the salt is not 32 bytes in lowercase hex").at(
                name, start + offset + len(payload) + 1, len(salt), "salt"
            )
        found = sha256(bytes.fromhex(salt.decode("ascii")) + payload).digest()
        if found != chain.commitments[32 * (number - 1) : 32 * number]:
            raise Refusal("payload.commitment", "payload and salt are not what was committed").at(
                name, start + offset, len(payload) + 65, "payload and salt"
            )
        try:
            if type(read_json(payload)) is not dict:
                raise Refusal("payload.form", "payload is not a JSON object")
        except Refusal as refusal:
            raise refusal.at(name, start + offset, len(payload), "payload") from None


def blobs(box: Container, chain: Chain) -> None:
    """Check 7: exactly the blobs that entries name are there, and each has its digest."""
    present = set(box.blobs)
    for digest, number in chain.named.items():
        if digest not in present:
            raise Refusal("blob.missing", f"blob {digest} is missing").at(
                entry_name(number), box.entry(number)[1], 1, "header: blobs"
            )
    for position, digest in enumerate(box.blobs):
        content, start = box.blob(position)
        if digest not in chain.named:
            raise Refusal("blob.unnamed", "no entry names this blob").at(
                blob_name(digest), start, max(1, len(content)), "content"
            )
        if sha256(content).hexdigest() != digest:
            raise Refusal("blob.digest", "content does not have the digest it is named by").at(
                blob_name(digest), start, max(1, len(content)), "content"
            )


def payload_of(box: Container, number: int, fields: dict[str, type | tuple[type, ...]]) -> Any:
    """The payload of an entry as an object with exactly these fields, or a Refusal."""
    content, start = box.entry(number)
    _, payload, _, offset = split(content)
    try:
        return read_object(payload, fields)
    except Refusal as refusal:
        raise refusal.at(entry_name(number), start + offset, len(payload), "payload") from None


def in_payload(box: Container, number: int, name: str, refusal: Refusal) -> Refusal:
    """The refusal placed at a field of an entry's payload."""
    content, start = box.entry(number)
    _, payload, _, offset = split(content)
    found = in_field(payload, name, refusal.finding.id, refusal.finding.message)
    inner = refusal.finding.field
    place = f"payload: {name}" + (f": {shown(inner)}" if inner else "")
    placed = found.at(entry_name(number), start + offset, len(payload))
    finding = placed.finding
    return Refusal(
        finding.id,
        finding.message,
        member=finding.member,
        field=place,
        offset=finding.offset,
        length=finding.length,
    )
