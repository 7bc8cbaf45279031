"""The form of a checkpoint note, and check 11: whether this record's chain extends one.

A note is read here alone: by the verifier, and by the service through `ledger.notes`. Lines may end
in CR LF, as mails have it, and the last need not be ended; nothing else is let through. Taking a
note out of the mail in which it came: `ledger.verify.found`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from ledger.verify import jws
from ledger.verify.container import Container
from ledger.verify.entries import is_given, payload_of
from ledger.verify.headers import hash_of, read_header
from ledger.verify.report import Refusal
from ledger.verify.roots import Root
from ledger.verify.signatures import PROOFS, SIGNATURE
from ledger.verify.strict import canonical, is_time, read_json

VERSION = 1
FIRST = f"countershade checkpoint {VERSION}"
MAX_NOTE = 64 * 1024
MEMBER = "note"
FORM, SEVERAL = "note.form", "note.several"  # wrong use: what was given is not one note
COUNTERSIGNED = "countersigned"

_NUMBER = r"[1-9]\d{0,14}"
_HASH = r"[0-9a-f]{64}"
# The word that begins each line after the first, in order, and the form of what follows it.
FORMS = {
    "chain": r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}",
    "number": _NUMBER,
    "hash": _HASH,
    "time": r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z",
    "root": _HASH,
    "signed": r"[A-Za-z0-9_-]+\.\.[A-Za-z0-9_-]+",
}
_COUNTERSIGNED = rf"([A-Za-z0-9._:-]{{1,64}}) ({_NUMBER}) ({_NUMBER}) ({_HASH}) ({_HASH})"


@dataclass(frozen=True)
class Countersigned:
    """A side's latest signature: its entry, the head its signatory saw, and the key; `at`: in which
    line of a note it was read, 0 if in none."""

    side: str
    entry: int
    number: int
    hash: str
    fingerprint: str
    at: int = field(default=0, compare=False)

    @property
    def line(self) -> str:
        """As it stands in a note."""
        fields = (self.side, self.entry, self.number, self.hash, self.fingerprint)
        return " ".join([COUNTERSIGNED, *map(str, fields)])

    def may_stand(self, head: int) -> bool:
        """Whether it can be in a note of this head: a signature is later than the head it saw, and
        no later than the note."""
        return self.number < self.entry <= head


@dataclass(frozen=True)
class Note:
    """A checkpoint as a note says it: `time` in the record's form, `root` the fingerprint,
    `signed` the detached JWS."""

    chain: str
    number: int
    hash: str
    time: str
    root: str
    signed: str
    countersigned: tuple[Countersigned, ...] = ()

    @property
    def checkpoint(self) -> bytes:
        """The canonical checkpoint that `signed` is over."""
        names = ("chain", "number", "hash", "time", "root")
        value: dict[str, Any] = {name: getattr(self, name) for name in names}
        return canonical(value | {"v": VERSION})


def read(data: bytes) -> Note:
    """The note of these bytes; Refusal `note.form` names the line."""
    if len(data) > MAX_NOTE:
        raise _at(0, FORM, f"a note of more than {MAX_NOTE} bytes")
    lines = data.replace(b"\r\n", b"\n").removesuffix(b"\n").split(b"\n")
    if lines[0] != FIRST.encode():
        raise _at(1, FORM, f"the first line is not {FIRST}")
    facts: dict[str, Any] = {}
    for at, (word, form) in enumerate(FORMS.items(), start=2):
        facts[word] = _value(lines, at, word, form)[0]
    if not is_time(facts["time"]):
        raise _at(5, FORM, "not a moment that exists")
    rest = range(len(FORMS) + 2, len(lines) + 1)
    made = tuple(_countersigned(lines, at) for at in rest)
    for one, other in pairwise(made):
        if one.side >= other.side:
            raise _at(other.at, FORM, "sides ascend, each once")
    return Note(number=int(facts.pop("number")), countersigned=made, **facts)


def _value(lines: list[bytes], at: int, word: str, form: str) -> re.Match[str]:
    text = lines[at - 1].decode("ascii", "replace") if at <= len(lines) else ""
    begin, _, value = text.partition(" ")
    found = re.fullmatch(form, value, re.ASCII)
    if begin != word or found is None:
        raise _at(at, FORM, f"the line is not {word} and what belongs to it")
    return found


def _countersigned(lines: list[bytes], at: int) -> Countersigned:
    fields = _value(lines, at, COUNTERSIGNED, _COUNTERSIGNED).groups()
    side, entry, number, hash, fingerprint = fields
    return Countersigned(side, int(entry), int(number), hash, fingerprint, at)


def extends(box: Container, note: Note, trusted: Root) -> None:
    """Check 11: the root signed the note, and its entry stands in this chain with its hash."""
    if note.chain != box.manifest["chain"]:
        raise _at(2, "note.chain", "the note is of another chain")
    if note.root != trusted.fingerprint:
        raise _at(6, "note.root", "the note names another root than the record's")
    try:
        jws.check(trusted.key, note.checkpoint, note.signed, jws.CHECKPOINT)
    except Refusal as refusal:
        raise _at(7, "note.signature", str(refusal)) from None
    if note.number > box.entries:
        raise _at(
            3, "note.older", f"the record ends at entry {box.entries}, the note knew "
            f"{note.number}: it is older than the note, or its end was cut off",
        )  # fmt: skip
    if hash_of(box, note.number) != note.hash:
        raise _at(
            4, "note.rewritten", f"entry {note.number} is not the one that the note names: "
            "the chain was rewritten",
        )  # fmt: skip
    if note.time < read_header(box, note.number)["time"]:
        raise _at(5, "note.time", "the note is older than the entry that it names")
    for one in note.countersigned:
        _check_countersigned(box, note, one)


def _check_countersigned(box: Container, note: Note, one: Countersigned) -> None:
    """The side's signature stands where the note says, over the head that it says."""
    if not one.may_stand(note.number):
        raise _at(one.at, "note.countersigned", "not an entry up to the note's own")
    header = read_header(box, one.entry)
    if header["kind"] != "signature.made" or header["side"] != one.side:
        raise _at(one.at, "note.countersigned", f"entry {one.entry} is no signature of that side")
    if hash_of(box, one.number) != one.hash:
        raise _at(one.at, "note.rewritten", f"entry {one.number} is not the one signed then")
    if not is_given(box, one.entry):
        return
    payload = payload_of(box, one.entry, SIGNATURE, PROOFS)
    seen = read_json(payload["statement"].encode("utf-8"))["head"]
    if (seen["number"], seen["hash"]) != (one.number, one.hash):
        raise _at(one.at, "note.countersigned", "the signature was over another head")
    if payload["fingerprint"] != one.fingerprint:
        raise _at(one.at, "note.countersigned", "the signature was made with another key")


def _at(line: int, id: str, message: str) -> Refusal:
    """A refusal at a line of the note: it has no place in the record."""
    return Refusal(id, message, member=MEMBER, field=f"line {line}" if line else "")
