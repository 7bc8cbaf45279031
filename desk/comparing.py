"""Comparing a checkpoint that somebody kept with the chain of today, and saying what it proves."""

from __future__ import annotations

from dataclasses import dataclass

from django.db import transaction
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from desk.models import Comparison
from ledger.chain import Head
from ledger.notes import Note, note_text
from parties import checkpoints, reading
from parties.capacity import Capacity
from parties.models import Dossier
from parties.refusal import Refusal

Words = str | Promise


@dataclass(frozen=True)
class Answer:
    """An outcome in words: its state ("met", "failed", "warning"), what it proves, what to do."""

    state: str
    title: Words
    proves: Words
    alarm: bool = False  # the chain itself is at fault: the page says what to do


ANSWERS: dict[str, Answer] = {
    checkpoints.EXTENDED: Answer(
        "met",
        _("Today's chain extends this checkpoint"),
        _(
            "The entry that the checkpoint names still has the hash that the root signed then. "
            "Each entry carries the hash of the one before: so no entry up to that one was "
            "altered, removed or added since. Of what came after it this proves nothing: keep "
            "the newest checkpoint too."
        ),
    ),
    checkpoints.REWRITTEN: Answer(
        "failed",
        _("Today's chain does not extend this checkpoint: it was rewritten"),
        _(
            "The root signed one hash for this entry then, and the chain shows another today. "
            "Entries up to this one were changed since, or two chains were kept. Your note and "
            "this installation's root prove it to anybody."
        ),
        alarm=True,
    ),
    checkpoints.AHEAD: Answer(
        "failed",
        _("Today's chain ends before this checkpoint: entries are missing"),
        _(
            "The root signed a chain that reached this entry, and today's chain does not reach "
            "it. Entries were cut off its end, or an old state of the database was put back. "
            "Your note and this installation's root prove it to anybody."
        ),
        alarm=True,
    ),
    checkpoints.OTHER_CHAIN: Answer(
        "warning",
        _("This is a checkpoint of another dossier"),
        _(
            "It is genuine, but of another chain, so it says nothing about this one. Open the "
            "agreement to which the mail belongs and compare it there."
        ),
    ),
    checkpoints.OTHER_ROOT: Answer(
        "warning",
        _("This checkpoint was signed under another root"),
        _(
            "It comes from another installation, or the root of this one was replaced since. "
            "Compare the fingerprint in the note and this installation's with the one that you "
            "were given on paper or by telephone. If the note has yours and this page does not, "
            "treat it as a rewritten chain."
        ),
    ),
    checkpoints.UNSIGNED: Answer(
        "warning",
        _("The root did not sign this"),
        _(
            "One of its lines was altered or mistyped, or somebody made it up. Copy it once more "
            "from the mail or file in which it came. As it stands it proves nothing."
        ),
    ),
}

# What is said to whoever holds a note and sits nowhere.
HELD: dict[str, Answer] = {
    checkpoints.EXTENDED: ANSWERS[checkpoints.EXTENDED],
    checkpoints.NOT_EXTENDED: Answer(
        "failed",
        _("Today's chain does not extend this checkpoint"),
        _(
            "This installation's root signed it, and what is here today is not what was signed "
            "then. Keep the mail or file from which it came as it is: it is the proof. Tell both "
            "sides of the agreement, by a number you had before; they can compare it in the "
            "agreement and see more."
        ),
    ),
    checkpoints.NOT_OURS: Answer(
        "warning",
        _("This is no checkpoint of this installation"),
        _(
            "Its root did not sign these lines. They come from another installation, or one of "
            "them was altered or mistyped: copy them once more from the mail or file in which "
            "they came. Nothing was compared."
        ),
    ),
}


def compare(dossier: Dossier, *, by: Capacity, note: Note) -> Comparison:
    """Compare, keep the answer for one's own side, and log it in the reading chain.

    A note that is not this chain's, or that the root did not sign, compares nothing and is not
    logged: whoever types one up should not be able to fill the log with alarms.
    """
    if not checkpoints.has_chain(dossier):
        raise Refusal("no_chain", _("Nothing was shared in this dossier yet: there is no record."))
    compared = checkpoints.extends(dossier, note)
    with transaction.atomic():
        made = Comparison.objects.create(
            dossier=dossier,
            side_only=by.side,
            made_by=by.sitter.code,
            outcome=compared.outcome,
            note=note_text(note.checkpoint, note.signed, note.countersigned),
            head_number=compared.head.number,
            head_hash=compared.head.hash,
            unborne="\n".join(one.line for one in compared.unborne),
        )
        if compared.outcome in checkpoints.GENUINE:
            held = compared.outcome == checkpoints.EXTENDED
            outcome = "extended" if held else "not-extended"
            reading.checkpoint_compared(by, Head(note.number, note.hash), outcome)
    return made
