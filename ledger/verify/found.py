"""Taking the one checkpoint note out of what somebody kept: the note, a letter around it, a mail.

A mail as it was saved is taken apart by the standard library's reader. Lines may stand behind
quotation marks, and long ones may be broken: common practice of mail programs, no published source.
"""

from __future__ import annotations

import email
import re
from collections.abc import Iterator
from email.message import Message

from ledger.verify.note import COUNTERSIGNED, FIRST, FORM, FORMS, MEMBER, SEVERAL, Note, read
from ledger.verify.report import Refusal

MAX_TEXT = 1024 * 1024  # bytes: a mail with a long thread below it
MOST_PARTS = 100  # of a mail, with those of the mails that it forwards

# How many fields follow the word of each line after the first.
_FIELDS = {**dict.fromkeys(FORMS, 1), COUNTERSIGNED: 5}
_SPACES = re.compile(r"[ \t]+")
_QUOTED = re.compile(r"^[> \t\ufeff]*")
# What a saved mail has at least one of (RFC 5322, RFC 2045).
_HEADERS = ("From", "Subject", "Received", "MIME-Version", "Content-Type")


def note_in(data: bytes) -> Note:
    """The note that these bytes are, or the one note that they hold; Refusal `note.form` where
    nothing begins as a note or a line of it is wrong (its number counts from the note's first),
    `note.several` where there are several that differ."""
    if len(data) > MAX_TEXT:
        raise _refusal(FORM, f"more than {MAX_TEXT} bytes: give the note alone")
    try:
        return read(data)
    except Refusal as refusal:
        why = refusal
    begun = list(dict.fromkeys(one for text in _texts(data) for one in _begun(text)))
    whole: list[Note] = []
    for one in begun:
        try:
            whole.append(read(one.encode("utf-8")))
        except Refusal as refusal:
            why = refusal if not whole else why
    if not begun:
        raise _refusal(FORM, f'there is no checkpoint note in it: no line is "{FIRST}"', line=1)
    if len(whole) > 1:
        raise _refusal(
            SEVERAL,
            f"there are {len(whole)} different checkpoint notes in it: give one of them alone, "
            f'from its line "{FIRST}" to its last',
        )
    if not whole:
        raise why
    return whole[0]


def _refusal(id: str, message: str, line: int = 0) -> Refusal:
    return Refusal(id, message, member=MEMBER, field=f"line {line}" if line else "")


def _texts(data: bytes) -> Iterator[str]:
    """The texts in which a note may stand: those of the mail, and the bytes as they are where they
    are no mail or its texts hold no note."""
    texts = [part.decode("utf-8", "replace") for part in _mail_parts(data)]
    if not any(_begun(text) for text in texts):
        texts.append(data.decode("utf-8", "replace"))
    yield from texts


def _mail_parts(data: bytes) -> list[bytes]:
    """The plain texts of a mail, also of one that it forwards, without their transfer encoding."""
    if data.lower().count(b"content-type:") > MOST_PARTS:
        return []  # the reader takes long over parts within parts
    try:
        message: Message = email.message_from_bytes(data)
        if not any(name in message for name in _HEADERS):
            return []
        plain = [part for part in message.walk() if part.get_content_type() == "text/plain"]
        found = [part.get_payload(decode=True) for part in plain]
    except Exception:
        # Whatever the reader stumbles over: the bytes are then looked at as they are.
        return []
    return [part for part in found if isinstance(part, bytes)]


def _begun(text: str) -> list[str]:
    """All that begins as a note: without quotation marks, its broken lines joined."""
    # At line feeds alone: a character that is damaged into another kind of break stays damage.
    lines = [_QUOTED.sub("", line).rstrip(" \t\r") for line in text.split("\n")]
    return [_unbroken(lines, at) for at, line in enumerate(lines) if line == FIRST]


def _unbroken(lines: list[str], start: int) -> str:
    found, at = [FIRST], start + 1
    # A note ends at an empty line, so that a line whose word is damaged is still one of its lines.
    while at < len(lines) and lines[at] not in ("", FIRST):
        fields = _SPACES.split(lines[at])
        wanted = _FIELDS.get(fields[0], 0)
        at += 1
        # Where another note begins this one ends: so each line is read for one note alone.
        while len(fields) <= wanted and at < len(lines) and lines[at] not in ("", FIRST):
            fields += _SPACES.split(lines[at])
            at += 1
        found.append(" ".join(fields))
    return "\n".join(found) + "\n"
