"""Checkpoint notes: a chain's head, signed by the root, as a short text to keep apart from here.

Pure: no database. A note is read strictly, line by line (docs/record-format.md); `find` takes one
out of a mail first, where it was quoted or wrapped. The root's signature covers the first lines
(they rebuild the checkpoint); a `countersigned` line repeats what a signature entry says.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass

from cryptography.hazmat.primitives.asymmetric import ec

from ledger.canonical import canonical_bytes, parse
from ledger.verify import certs, jws
from ledger.verify.report import Refusal
from ledger.verify.strict import is_time

VERSION = 1
FIRST = f"countershade checkpoint {VERSION}"
# The word that begins each line after the first, in order, and how many fields follow it.
WORDS = {"chain": 1, "number": 1, "hash": 1, "time": 1, "root": 1, "signed": 1}
COUNTERSIGNED = "countersigned"
COUNTERSIGNED_FIELDS = 5
LONGEST = 16_384  # characters of a note: some 80 sides could have countersigned it

_CHAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")
_SIDE = re.compile(r"[A-Za-z0-9._:-]{1,64}")
_NUMBER = re.compile(r"[1-9][0-9]{0,14}")
_HEX = re.compile(r"[0-9a-f]{64}")
_JWS = re.compile(r"[A-Za-z0-9_-]{1,120}\.\.[A-Za-z0-9_-]{86}")
_QUOTED = re.compile(r"^[> \t\ufeff]*")


class NoteError(ValueError):
    """A text that is no checkpoint note, or a note whose signature does not hold.

    line: number of the line from 1, 0 where no single one is to blame; word: how that line begins.
    """

    def __init__(self, message: str, line: int = 0, word: str = "") -> None:
        super().__init__(f"line {line} ({word}): {message}" if line else message)
        self.line, self.word = line, word


@dataclass(frozen=True)
class Countersigned:
    """A side's latest signature: its entry, the head its signatory saw, and the key."""

    side: str
    entry: int
    number: int
    hash: str
    fingerprint: str

    @property
    def line(self) -> str:
        """As it stands in a note."""
        fields = (self.side, self.entry, self.number, self.hash, self.fingerprint)
        return " ".join([COUNTERSIGNED, *map(str, fields)])


@dataclass(frozen=True)
class Note:
    """A checkpoint as a note says it: `time` in the record's form, `root` the fingerprint."""

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
        return canonical_bytes(
            {
                "v": VERSION,
                "chain": self.chain,
                "number": self.number,
                "hash": self.hash,
                "time": self.time,
                "root": self.root,
            }
        )


def note_text(checkpoint: bytes, signed: str, countersigned: Sequence[Countersigned] = ()) -> str:
    """The note of a signed checkpoint: its canonical bytes, the root's detached JWS, and each
    side's latest signature (put in order of the sides). Ends with a line feed."""
    facts = parse(checkpoint) | {"signed": signed}
    lines = [FIRST, *(f"{word} {facts[word]}" for word in WORDS)]
    lines += [one.line for one in sorted(countersigned, key=lambda one: one.side)]
    return "\n".join(lines) + "\n"


def read_note(text: str) -> Note:
    """The note that the text is, exactly; raises NoteError naming the line that is wrong."""
    if len(text) > LONGEST:
        raise NoteError(f"a note has at most {LONGEST} characters")
    lines = text.split("\n")
    if lines[0] != FIRST:
        raise NoteError(f"a note begins with {FIRST!r}", 1, FIRST.split()[0])
    values = {word: _value(lines, at, word) for at, word in enumerate(WORDS, start=2)}
    if lines.pop() != "" or len(lines) <= len(WORDS):
        raise NoteError("the last line is not ended", len(lines) + 1, "")
    rest = enumerate(lines[len(WORDS) + 1 :], start=len(WORDS) + 2)
    number = int(values.pop("number"))
    made = tuple(_countersigned(line, at, number) for at, line in rest)
    for at, (one, other) in enumerate(itertools.pairwise(made), start=len(WORDS) + 3):
        if one.side >= other.side:
            raise NoteError("sides ascend, each once", at, COUNTERSIGNED)
    return Note(number=number, countersigned=made, **values)


def find(text: str) -> str:
    """The first note in a text such as a mail: without quotation marks, its broken lines joined.

    What is not found or not whole is given back as it is, for `read_note` to refuse.
    """
    lines = [_QUOTED.sub("", line).rstrip() for line in text.splitlines()]
    if FIRST not in lines:
        return text
    rest = iter(lines[lines.index(FIRST) + 1 :])
    found = [FIRST]
    for line in rest:
        word = line.partition(" ")[0]
        wanted = COUNTERSIGNED_FIELDS if word == COUNTERSIGNED else WORDS.get(word)
        if wanted is None:
            break
        fields = line.split()
        while len(fields) <= wanted and (more := next(rest, "").split()):
            fields += more
        found.append(" ".join(fields))
    return "\n".join(found) + "\n"


def check_signed(note: Note, root_der: bytes) -> None:
    """NoteError unless the root of this certificate (DER) signed the note's checkpoint."""
    try:
        public = certs.load(root_der).public_key()
        if not isinstance(public, ec.EllipticCurvePublicKey):
            raise NoteError("the root's key is not on P-256")
        jws.check(public, note.checkpoint, note.signed, jws.CHECKPOINT)
    except Refusal as refusal:
        at = [*WORDS].index("signed") + 2
        raise NoteError(str(refusal), at, "signed") from None


def _value(lines: Sequence[str], at: int, word: str) -> str:
    """The one field of line `at`, in its form."""
    line = lines[at - 1] if at <= len(lines) else ""
    begins, _space, value = line.partition(" ")
    if begins != word:
        raise NoteError(f"this line begins with {word!r}", at, word)
    form = FORMS.get(word)
    if not (form.fullmatch(value) if form else is_time(value)):
        raise NoteError(f"not in the form of {word}", at, word)
    return value


FORMS = {"chain": _CHAIN, "number": _NUMBER, "hash": _HEX, "root": _HEX, "signed": _JWS}


def _countersigned(line: str, at: int, head: int) -> Countersigned:
    word, *fields = line.split(" ")
    if word != COUNTERSIGNED or len(fields) != COUNTERSIGNED_FIELDS:
        raise NoteError(
            f"{COUNTERSIGNED} with {COUNTERSIGNED_FIELDS} fields, or nothing", at, COUNTERSIGNED
        )
    for form, value in zip((_SIDE, _NUMBER, _NUMBER, _HEX, _HEX), fields, strict=True):
        if not form.fullmatch(value):
            raise NoteError(f"{value[:80]!r} is not in its form", at, COUNTERSIGNED)
    entry, number = int(fields[1]), int(fields[2])
    if not number < entry <= head:
        raise NoteError(
            "a signature is later than the head it saw and no later than the note",
            at,
            COUNTERSIGNED,
        )
    return Countersigned(fields[0], entry, number, fields[3], fields[4])
