"""How a trick is written down: a function that gives a record, and the finding it must meet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from tests.ledger.plain import Plain


@dataclass(frozen=True)
class Made:
    """What a trick gives: the record, the root that the reader names, the note they hold."""

    record: bytes
    root: str
    note: bytes | None = None


@dataclass(frozen=True)
class Trick:
    """A named way to deceive, and the id of the finding that refuses it."""

    name: str
    expected: str
    play: Callable[[], Made]


TRICKS: list[Trick] = []

Play = Callable[[], Made]


def refused_by(expected: str) -> Callable[[Play], Play]:
    """Mark a function as a trick that this finding must refuse; its name names the file."""

    def mark(play: Play) -> Play:
        name = play.__name__.replace("_", "-")
        if any(trick.name == name for trick in TRICKS):
            raise ValueError(f"two tricks are called {name}")
        TRICKS.append(Trick(name, expected, play))
        return play

    return mark


def made(plain: Plain, record: bytes | None = None, note: bytes | None = None) -> Made:
    """The record of a chain as it stands, or other bytes, under the chain's own root."""
    return Made(plain.record() if record is None else record, plain.fingerprint, note)
