"""Checks 6 and 7: payload commitments, what is not given, blobs."""

from __future__ import annotations

from hashlib import sha256
from typing import Any

from ledger.verify.container import Container, blob_name, entry_name
from ledger.verify.headers import (
    ABSENT,
    ERASED,
    WITHHELD,
    Chain,
    never_erased,
    never_missing,
    read_header,
    split,
)
from ledger.verify.report import Refusal
from ledger.verify.strict import HEX, Fields, in_field, read_json, read_object, shown

PERSON = "person:"  # begins the subject of what is about a person's name
_COMMITTED = b'"payload":"'  # stands once in a header: no other text there can hold a quote


def payloads(box: Container, chain: Chain) -> None:
    """Check 6: every payload, with its salt, is the one its header committed to.

    What is not given is allowed to be missing, and said to be.
    """
    _check_missing(box, chain)
    for number, content, start in box.each_entry():
        first = content.find(b"\n")
        if len(content) - first < 11 and content[first + 1 :] in ABSENT:
            continue
        _, payload, salt, offset = split(content)
        name = entry_name(number)
        text = salt.decode("ascii", "replace")
        if not HEX.fullmatch(text):
            raise Refusal("entry.salt", "the salt is not 32 bytes in lowercase hex").at(
                name, start + offset + len(payload) + 1, max(1, len(salt)), "salt"
            )
        found = sha256(bytes.fromhex(text) + payload).hexdigest().encode("ascii")
        at = content.find(_COMMITTED) + len(_COMMITTED)
        if found != content[at : at + 64]:
            raise Refusal("payload.commitment", "payload and salt are not what was committed").at(
                name, start + offset, len(payload) + 65, "payload and salt"
            )
        try:
            if type(read_json(payload)) is not dict:
                raise Refusal("payload.form", "payload is not a JSON object")
        except Refusal as refusal:
            raise refusal.at(name, start + offset, len(payload), "payload") from None


def _check_missing(box: Container, chain: Chain) -> None:
    """Payloads that are not given: kinds that may be, counts that were said, subjects whole."""
    missing = chain.missing
    for (kind, word), number in missing.kinds.items():
        name = kind.decode("ascii")
        if word == WITHHELD and not box.is_part:
            raise _at_line(box, number, "entry.withheld", "a whole record withholds nothing")
        if word == WITHHELD and never_missing(name):
            raise _at_line(box, number, "entry.withheld", f"{name} is never withheld")
        if word == ERASED and never_erased(name):
            raise _at_line(box, number, "entry.erased", f"{name} is never erased")
    if missing.erased and not box.is_part and "erased" not in box.manifest:
        number = min(at for (_, word), at in missing.kinds.items() if word == ERASED)
        raise _at_line(box, number, "entry.erased", "the manifest does not say that any is erased")
    if not box.is_part and missing.erased != box.manifest.get("erased", 0):
        raise _in_manifest(
            box, "erased", "manifest.erased", f"{missing.erased} entries are erased, not as many"
        )
    if missing.erased:
        _check_told(box, chain)
    if box.is_part:
        _check_subjects(box, chain)


def _check_told(box: Container, chain: Chain) -> None:
    """Only what is about a person is erased, and a later entry about them says so: whatever else
    happened cannot be passed off as erased."""
    told: dict[str, int] = {}
    for number in chain.of("person.erased"):
        told[read_header(box, number)["subject"]] = number
    for about, number in chain.missing.erased_of.items():
        subject = about.decode("ascii")
        if not subject.startswith(PERSON):
            raise _at_line(box, number, "entry.erased", "what is about no person is never erased")
        if told.get(subject, 0) < number:
            message = "no later entry says that this person's payloads were erased"
            raise _at_line(box, number, "entry.erased", message)


def _check_subjects(box: Container, chain: Chain) -> None:
    """A part is about something, and gives each subject that it gives as a whole."""
    about = box.manifest["about"].encode("ascii")
    withheld, given = chain.missing.subjects, chain.missing.given
    if about in withheld:
        message = "an entry of what the part is about is withheld"
        raise _at_line(box, withheld[about], "part.withheld", message)
    if about not in given:
        raise _in_manifest(box, "about", "part.about", "no entry is about this")
    for subject, number in withheld.items():
        if subject in given:
            message = f"entry {given[subject]} of the same subject is given, this one withheld"
            raise _at_line(box, number, "part.split", message)


def _at_line(box: Container, number: int, id: str, message: str) -> Refusal:
    """A refusal at the word that stands in the place of a payload."""
    content, start = box.entry(number)
    first = content.find(b"\n") + 1
    return Refusal(id, message).at(
        entry_name(number), start + first, len(content) - first, "payload"
    )


def _in_manifest(box: Container, name: str, id: str, message: str) -> Refusal:
    content, start = box.named("manifest.json")
    return in_field(content, name, id, message).at("manifest.json", start, len(content))


def blobs(box: Container, chain: Chain) -> None:
    """Check 7: exactly the blobs that entries name are there, and each has its digest.

    In a part: those that entries name whose payload is given.
    """
    named = _named_where_given(box) if box.is_part else chain.named
    present = {bytes.fromhex(digest) for digest, _, _ in box.each_blob(content=False)}
    for one, number in named.items():
        if one not in present:
            raise Refusal("blob.missing", f"blob {one.hex()} is missing").at(
                entry_name(number), box.entry(number)[1], 1, "header: blobs"
            )
    for digest, content, start in box.each_blob():
        name, length = blob_name(digest), max(1, len(content))
        if bytes.fromhex(digest) not in named:
            raise Refusal("blob.unnamed", "no entry names this blob").at(
                name, start, length, "content"
            )
        if sha256(content).hexdigest() != digest:
            raise Refusal("blob.digest", "content does not have the digest it is named by").at(
                name, start, length, "content"
            )


def _named_where_given(box: Container) -> dict[bytes, int]:
    """Digests that entries name which are given in full, and the first such entry of each."""
    named: dict[bytes, int] = {}
    for number, content, _ in box.each_entry():
        first = content.find(b"\n")
        if content[first + 1 :] not in ABSENT:
            for digest in read_json(content[:first])["blobs"]:
                named.setdefault(bytes.fromhex(digest), number)
    return named


def is_given(box: Container, number: int) -> bool:
    """Whether the payload of an entry is there."""
    content, _ = box.entry(number)
    return content[content.find(b"\n") + 1 :] not in ABSENT


def payload_of(box: Container, number: int, fields: Fields, optional: Fields) -> dict[str, Any]:
    """The payload of an entry as an object with these fields and no others, or a Refusal."""
    content, start = box.entry(number)
    _, payload, _, offset = split(content)
    try:
        return read_object(payload, fields, optional)
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
