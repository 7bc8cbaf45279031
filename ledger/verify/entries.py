"""Checks 5, 6 and 7: headers and their links, payload commitments, blobs."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from hashlib import sha256
from itertools import pairwise
from typing import Any

from ledger.verify.container import Container, blob_name, entry_name
from ledger.verify.report import Refusal
from ledger.verify.strict import HEX, hex_digest, in_field, is_time, read_json, read_object, shown

START = "0" * 64
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
CODES = ("actor", "organisation", "side", "role", "act")
KEPT = ("key.certified", "signature.made")

_CODE = re.compile(r"[A-Za-z0-9._:-]{1,64}")
_SUBJECT = re.compile(r"[!-~]([ -~]{0,118}[!-~])?")
_KIND = re.compile(r"(?=.{3,64}$)[a-z]+(-[a-z]+)*\.[a-z]+(-[a-z]+)*", re.ASCII)


@dataclass
class Chain:
    """What later checks need of the entries."""

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
    time = ""
    for number in range(1, box.entries + 1):
        content, start = box.entry(number)
        name = entry_name(number)
        try:
            header = split(content)[0]
        except Refusal as refusal:
            raise refusal.at(name, start, len(content)) from None
        try:
            value = read_object(header, HEADER)
            _check_links(header, value, box, chain, number, time)
            _check_form(header, value)
            _check_blobs(header, value)
        except Refusal as refusal:
            raise refusal.at(name, start, len(header), "header") from None
        time = value["time"]
        _remember(chain, number, header, value)
    return chain


def _check_links(
    header: bytes, value: dict[str, Any], box: Container, chain: Chain, number: int, time: str
) -> None:
    if value["v"] != 1:
        raise in_field(header, "v", "header.version", "a version this verifier does not know")
    if value["chain"] != box.manifest["chain"]:
        raise in_field(header, "chain", "header.chain", "entry belongs to another chain")
    if value["number"] != number:
        raise in_field(header, "number", "header.number", f"entry is not number {number}")
    if value["previous"] != chain.hash_of(number - 1):
        raise in_field(
            header, "previous", "header.previous", "previous hash is not that of the entry before"
        )
    if not is_time(value["time"]):
        raise in_field(header, "time", "header.time", "not a time in UTC with microseconds")
    if value["time"] < time:
        raise in_field(header, "time", "header.time", "time lies before the entry before")


def _check_form(header: bytes, value: dict[str, Any]) -> None:
    for name in CODES:
        if not _CODE.fullmatch(value[name]):
            raise in_field(header, name, "header.code", "not a code")
    if not _KIND.fullmatch(value["kind"]):
        raise in_field(header, "kind", "header.kind", "kind is not noun.past-participle")
    if not _SUBJECT.fullmatch(value["subject"]):
        raise in_field(header, "subject", "header.subject", "not a subject")
    hex_digest(header, value, "payload")


def _check_blobs(header: bytes, value: dict[str, Any]) -> None:
    blobs = value["blobs"]
    if not blobs:
        return
    if not all(type(one) is str and HEX.fullmatch(one) for one in blobs):
        raise in_field(header, "blobs", "header.blobs", "blobs are not digests")
    if any(one >= other for one, other in pairwise(blobs)):
        raise in_field(header, "blobs", "header.blobs", "blobs are not in ascending order")


def _remember(chain: Chain, number: int, header: bytes, value: dict[str, Any]) -> None:
    chain.hashes += sha256(header).digest()
    chain.commitments += bytes.fromhex(value["payload"])
    for one in value["blobs"]:
        chain.named.setdefault(one, number)
        chain.under.setdefault((value["subject"], one), number)
    if value["kind"] in KEPT:
        chain.kept[number] = value


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
