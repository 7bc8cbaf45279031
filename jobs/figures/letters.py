"""How wide a text is in the shipped font, and how it is cut to the room it has.

The widths come from the plotting library's own copy of the Latin font; wide (Chinese) signs, which
it lacks, are as wide as they are high.
"""

from __future__ import annotations

import functools
import threading
import unicodedata
from typing import Any

from jobs.figures import library

SIZE = 12  # units; the size of all text but that of ticks
SMALL = 11
_OTHER = 0.64  # em: a sign that the font lacks and that is not wide; digits have this width
_face = threading.Lock()


def width(text: str, size: float = SIZE) -> float:
    """The width of a text in units of the viewBox."""
    return size * sum(map(_advance, text))


def fitted(text: str, room: float, size: float = SIZE) -> str:
    """A text that would run over its neighbour, cut and marked with …"""
    if width(text, size) <= room:
        return text
    used, kept = width("…", size), ""
    for sign in text:
        used += width(sign, size)
        if used > room:
            break
        kept += sign
    return kept.rstrip() + "…"


def wrapped(text: str, room: float, size: float = SIZE) -> list[str]:
    """A text in lines no wider than `room`; Chinese may be broken between any two signs."""
    lines = [""]
    for word in _words(text):
        if lines[-1] and width(lines[-1] + word.rstrip(), size) > room:
            lines[-1] = lines[-1].rstrip()
            lines.append("")
        lines[-1] += word
    return [fitted(line.rstrip(), room, size) for line in lines]


def _words(text: str) -> list[str]:
    """Pieces that stay together: a word with the space after it, or one wide sign."""
    pieces: list[str] = []
    for sign in text:
        wide = unicodedata.east_asian_width(sign) in "WF"
        if not pieces or wide or pieces[-1][-1] == " " or _wide_end(pieces[-1], sign):
            pieces.append(sign)
        else:
            pieces[-1] += sign
    return pieces


def _wide_end(piece: str, sign: str) -> bool:
    """Whether a break is allowed before `sign` because a wide sign stands there (no full stop)."""
    return sign != " " and unicodedata.east_asian_width(piece[-1]) in "WF"


@functools.lru_cache(maxsize=4096)
def _advance(sign: str) -> float:
    """The advance of a sign in em."""
    with _face:  # the face holds one glyph at a time
        face: Any = _font()
        index = face.get_char_index(ord(sign))
        if index:
            return face.load_char(ord(sign)).linearHoriAdvance / 65536 / SIZE
    return 1.0 if unicodedata.east_asian_width(sign) in "WF" else _OTHER


@functools.cache
def _font() -> Any:
    face = library.load().FT2Font(library.load().latin_font)
    face.set_size(SIZE, 72)
    return face
