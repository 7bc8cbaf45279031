"""Checkpoint notes: a chain's head, signed by the root, as a short text to keep apart from here.

Pure: no database. A note is written here and read as the verifier reads it (`ledger.verify.note`,
docs/record-format.md); `note_in` takes one out of a mail first, where it was quoted or wrapped. The
root's signature covers the first lines (they rebuild the checkpoint); a `countersigned` line
repeats what a signature entry says.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from cryptography.hazmat.primitives.asymmetric import ec

from ledger.canonical import parse
from ledger.verify import certs, found, jws
from ledger.verify import note as form
from ledger.verify.found import MAX_TEXT
from ledger.verify.note import COUNTERSIGNED, FIRST, FORMS, SEVERAL, Countersigned, Note
from ledger.verify.report import Refusal

__all__ = [
    "FIRST", "MAX_TEXT", "Countersigned", "Note", "NoteError", "check_signed", "note_in",
    "note_text", "read_note",
]  # fmt: skip

LONGEST = 16_384  # characters of a note: some 80 sides could have countersigned it
_WORDS = dict(enumerate([FIRST.split()[0], *FORMS], start=1))  # how each line begins


class NoteError(ValueError):
    """A text that is no checkpoint note, or a note whose signature does not hold.

    line: number of the line from 1, 0 where no single one is to blame; word: how that line begins;
    several: whether a text holds more than one.
    """

    several = False

    def __init__(self, message: str, line: int = 0) -> None:
        self.line, self.word = line, _WORDS.get(line, COUNTERSIGNED) if line else ""
        super().__init__(f"line {line} ({self.word}): {message}" if line else message)


def note_text(checkpoint: bytes, signed: str, countersigned: Sequence[Countersigned] = ()) -> str:
    """The note of a signed checkpoint: its canonical bytes, the root's detached JWS, and each
    side's latest signature (put in order of the sides). Ends with a line feed."""
    facts = parse(checkpoint) | {"signed": signed}
    lines = [FIRST, *(f"{word} {facts[word]}" for word in FORMS)]
    lines += [one.line for one in sorted(countersigned, key=lambda one: one.side)]
    return "\n".join(lines) + "\n"


def read_note(text: str) -> Note:
    """The note that the text is, exactly as it was written here; raises NoteError naming the line
    that is wrong."""
    if not text.endswith("\n"):
        raise NoteError("the last line is not ended", text.count("\n") + 1)
    if "\r" in text:
        raise NoteError("a carriage return", text.partition("\r")[0].count("\n") + 1)
    return _held(form.read, text.encode("utf-8", "replace"))


def note_in(data: str | bytes) -> Note:
    """The one note in a text or file such as a mail; NoteError where there is none or several."""
    if isinstance(data, str):
        data = data.encode("utf-8", "replace")
    return _held(found.note_in, data)


def _held(reader: Callable[[bytes], Note], data: bytes) -> Note:
    """What the verifier's reader makes of it, within our bounds."""
    try:
        read = reader(data)
    except Refusal as refusal:
        line = re.search(r"\d+", refusal.finding.field)
        error = NoteError(str(refusal), int(line[0]) if line else 0)
        error.several = refusal.finding.id == SEVERAL
        raise error from None
    if len(note_text(read.checkpoint, read.signed, read.countersigned)) > LONGEST:
        raise NoteError(f"a note has at most {LONGEST} characters")
    for one in read.countersigned:
        if not one.may_stand(read.number):
            raise NoteError("later than the note, or not later than the head it saw", one.at)
    return read


def check_signed(note: Note, root_der: bytes) -> None:
    """NoteError unless the root of this certificate (DER) signed the note's checkpoint."""
    try:
        public = certs.load(root_der).public_key()
        if not isinstance(public, ec.EllipticCurvePublicKey):
            raise NoteError("the root's key is not on P-256")
        jws.check(public, note.checkpoint, note.signed, jws.CHECKPOINT)
    except Refusal as refusal:
        at = [*FORMS].index("signed") + 2
        raise NoteError(str(refusal), at) from None
