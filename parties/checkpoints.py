"""Checkpoints of a dossier's chain as notes that people keep, and comparing one with the chain.

A note that a side keeps in its own mailbox binds the operator: a chain that was rewritten does not
extend it, however consistently it was rewritten.
"""

from __future__ import annotations

from dataclasses import dataclass

from ledger import chain
from ledger.canonical import parse
from ledger.chain import Head
from ledger.kinds import Kind
from ledger.models import Entry
from ledger.notes import Countersigned, Note, NoteError, check_signed, note_text, read_note
from parties.access import TWO_SIDES
from parties.keys import installation
from parties.models import Dossier, Installation
from parties.signing import root_checkpoint

EXTENDED, REWRITTEN, AHEAD = "extended", "rewritten", "ahead"
OTHER_CHAIN, OTHER_ROOT, UNSIGNED = "other-chain", "other-root", "unsigned"
NOT_EXTENDED, NOT_OURS = "not-extended", "not-ours"  # what is told to everybody
# Outcomes about a genuine checkpoint of this very chain: anything else compares nothing.
GENUINE = frozenset({EXTENDED, REWRITTEN, AHEAD})


@dataclass(frozen=True)
class Compared:
    """What came of comparing a note: `head` is today's; `unborne` are lines of countersignatures
    that no entry of today's chain bears out (the root's signature does not cover them)."""

    outcome: str
    note: Note
    head: Head
    unborne: tuple[Countersigned, ...] = ()


def has_chain(dossier: Dossier) -> bool:
    """Whether anything was shared yet."""
    return chain.exists(dossier.chain) and chain.head(dossier.chain).number > 0


def current_note(dossier: Dossier) -> str:
    """The note of the chain's head at this moment; the chain must have an entry.

    Writes nothing. Inside a transaction it names the entries that the transaction has written.
    """
    return note_for(dossier, *root_checkpoint(dossier.chain))


def note_for(dossier: Dossier, checkpoint: bytes, signed: str) -> str:
    """The note of a checkpoint of this dossier's chain, as it was signed."""
    number = parse(checkpoint)["number"]
    return note_text(checkpoint, signed, countersigned(dossier.chain, number))


def head_of(note: str) -> Head:
    """The head that a note of ours names."""
    read = read_note(note)
    return Head(read.number, read.hash)


def countersigned(name: str, number: int) -> list[Countersigned]:
    """The latest signature of each of the two sides up to entry `number` (nobody else signs)."""
    made = chain.entries(name).filter(kind=Kind.SIGNATURE_MADE.value, number__lte=number)
    latest = [made.filter(side=side).order_by("-number").first() for side in sorted(TWO_SIDES)]
    return [_line(entry) for entry in latest if entry is not None]


def _line(entry: Entry) -> Countersigned:
    seen = parse(entry.payload["statement"].encode())["head"]
    fingerprint = entry.payload["fingerprint"]
    return Countersigned(entry.side, entry.number, seen["number"], seen["hash"], fingerprint)


def extends(dossier: Dossier, note: Note) -> Compared:
    """Whether today's chain of the dossier extends the checkpoint that the note names.

    Outcomes: other-root (signed elsewhere, or an installation whose root was replaced), unsigned
    (our root did not sign this), other-chain, ahead (it names an entry that the chain does not
    have), rewritten (that entry has another hash today), extended.
    """
    head, why = chain.head(dossier.chain), _foreign(note, installation())
    if why:
        return Compared(why, note, head)
    if note.chain != dossier.chain:
        return Compared(OTHER_CHAIN, note, head)
    outcome = _against_its_chain(note)
    unborne = () if outcome == AHEAD else _unborne(dossier.chain, note)
    return Compared(outcome, note, head, unborne)


def held(note: Note) -> str:
    """Of a note that anybody may hold: extended, not-extended or not-ours, and nothing else.

    Nothing of any chain is looked at before our root's signature holds; which chain it is, how far
    it goes and in which way it fails are for those who sit there (`extends`). The countersigned
    lines are left aside: the root did not sign them, so they could be made up to ask questions.
    """
    root = Installation.objects.first()
    if root is None or _foreign(note, root):
        return NOT_OURS
    return EXTENDED if _against_its_chain(note) == EXTENDED else NOT_EXTENDED


def _foreign(note: Note, root: Installation) -> str:
    """Why our root does not stand for the note; empty where it does."""
    if note.root != root.fingerprint:
        return OTHER_ROOT
    try:
        check_signed(note, bytes(root.certificate))
    except NoteError:
        return UNSIGNED
    return ""


def _against_its_chain(note: Note) -> str:
    """A note that our root signed, held against today's chain of the name that it gives."""
    entry = chain.entries(note.chain).filter(number=note.number).first()
    if entry is None:
        return AHEAD
    return EXTENDED if entry.hash == note.hash else REWRITTEN


def _unborne(name: str, note: Note) -> tuple[Countersigned, ...]:
    """The countersignatures of the note that do not stand in today's chain."""
    numbers = [one.entry for one in note.countersigned]
    found = chain.entries(name).filter(kind=Kind.SIGNATURE_MADE.value, number__in=[0, *numbers])
    stands = {_line(entry) for entry in found}
    return tuple(one for one in note.countersigned if one not in stands)
