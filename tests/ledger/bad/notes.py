"""Tricks that a checkpoint note held by somebody brings to light, and notes that are none."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from ledger.canonical import canonical_bytes
from ledger.verify import jws
from tests.ledger import plain as make
from tests.ledger.bad.trick import Made, made, refused_by
from tests.ledger.forge import opened
from tests.ledger.plain import Plain


def with_note(plain: Plain) -> bytes:
    """The note of today, with each side's latest signature."""
    found = [n for n, one in enumerate(plain.entries, 1) if one.header["kind"] == "signature.made"]
    return plain.note(*sorted(plain.countersigned(number) for number in found)).encode()


def rewritten(change: Callable[[Plain], Any]) -> Made:
    """The owner of root and database writes the chain anew; somebody holds the note of before."""
    plain, _, _ = make.signed()
    note = with_note(plain)
    change(plain)
    again = opened(plain.forgery().build(plain.root_key))
    return made(plain, again.build(plain.root_key), note)


@refused_by("note.rewritten")
def a_chain_rewritten_consistently() -> Made:
    def change(plain: Plain) -> None:
        plain.entries[10].say(lambda lot: lot.update(quantity=1000))

    return rewritten(change)


@refused_by("note.older")
def a_record_older_than_the_note() -> Made:
    plain, _, _ = make.signed()
    older = plain.record()
    plain.add(make.ADA, "post.made", "post/1", {"text": "I reject this lot."})
    return made(plain, older, with_note(plain))


@refused_by("note.older")
def the_end_of_the_chain_cut_off() -> Made:
    def change(plain: Plain) -> None:
        del plain.entries[-1]

    return rewritten(change)


def noted(change: Callable[[bytes], bytes]) -> Made:
    """A good record with another note beside it."""
    plain, _, _ = make.signed()
    return made(plain, note=change(with_note(plain)))


@refused_by("note.chain")
def a_note_of_another_chain() -> Made:
    return noted(lambda note: note.replace(b"chain plain-chain", b"chain other"))


@refused_by("note.root")
def a_note_of_another_root() -> Made:
    plain, _, _ = make.signed()
    other, _, _ = make.signed()
    return made(plain, note=with_note(other))


@refused_by("note.signature")
def a_note_with_another_time() -> Made:
    return noted(lambda note: note.replace(b"time 2026-03-03", b"time 2026-03-04"))


@refused_by("note.signature")
def a_note_signed_by_a_signatory() -> Made:
    plain, _, bo = make.signed()
    forgery = plain.forgery()
    signed = jws.sign(bo.private, canonical_bytes(forgery.checkpoint), jws.CHECKPOINT)
    note = plain.note().replace(forgery.signature, signed)
    lines = [f"signed {signed}" if x.startswith("signed ") else x for x in note.split("\n")]
    return made(plain, note="\n".join(lines).encode())


@refused_by("note.signature")
def a_note_with_an_earlier_number() -> Made:
    return noted(lambda note: note.replace(b"number 15", b"number 14"))


@refused_by("note.countersigned")
def a_note_with_the_sides_exchanged() -> Made:
    def change(note: bytes) -> bytes:
        lines = note.decode().split("\n")
        sides = [x.split(" ", 2) for x in lines if x.startswith("countersigned ")]
        one, two = sides
        swap = [f"countersigned {one[1]} {two[2]}", f"countersigned {two[1]} {one[2]}"]
        return "\n".join([*lines[:7], *swap, ""]).encode()

    return noted(change)


@refused_by("note.countersigned")
def a_note_with_another_key() -> Made:
    def change(note: bytes) -> bytes:
        return note[:-5] + (b"0000\n" if note[-5:-1] != b"0000" else b"1111\n")

    return noted(change)


@refused_by("note.rewritten")
def a_note_whose_countersigned_head_never_was() -> Made:
    def change(note: bytes) -> bytes:
        lines = note.split(b"\n")
        words = lines[7].split(b" ")
        words[4] = b"0" * 64
        return b"\n".join([*lines[:7], b" ".join(words), *lines[8:]])

    return noted(change)


@refused_by("note.form")
def a_note_with_a_line_missing() -> Made:
    return noted(lambda note: note.replace(b"\ntime ", b"\n> time\n\n"))


@refused_by("note.form")
def a_letter_without_a_note() -> Made:
    return noted(lambda note: b"Dear all,\n\nsee the note.\n")


@refused_by("note.several")
def a_letter_with_two_notes() -> Made:
    return noted(lambda note: b"Dear all,\n\n" + note + note.replace(b"number 15", b"number 14"))


@refused_by("note.signature")
def a_saved_mail_with_a_false_note() -> Made:
    head = b"From: a@example.org\r\nSubject: Lot\r\n\r\nSee below.\r\n\r\n"
    return noted(lambda note: head + note.replace(b"number 15", b"number 14"))


@refused_by("note.form")
def a_note_with_one_side_twice() -> Made:
    return noted(lambda note: note + note.split(b"\n")[7] + b"\n")


@refused_by("note.form")
def a_note_with_giant_digits() -> Made:
    return noted(lambda note: note.replace(b"number 15", b"number " + b"9" * 60_000))


@refused_by("note.form")
def an_endless_note() -> Made:
    return noted(lambda note: note + b"x" * 2**20)
