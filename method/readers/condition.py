"""What the lines around a table say of how it was measured, piece by piece, with their places.

Only what is written is taken, wherever it stands: as a keyword's value, inside a quoted string, in
a column's name. What is not written stays unknown. Names of specimens are never looked at: the
caller passes no rows of readings.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from method.readers.found import Piece
from method.readers.text import Row
from method.readers.values import Note

LONGEST_LINE = 2_000  # of a line above a table; what is longer says no condition
LONGEST_WORDS = 120
_LONG = r"(?:D50|D55|D65|D75|FL?1?\d(?:\.\d{1,2})?|LED-?[A-Z]{1,3}\d?)"
_LIGHT = rf"{_LONG}|A|C|E"
_BEFORE, _AFTER = r"(?<![A-Za-z0-9.])", r"(?![A-Za-z0-9]|\.\d)"
_DAYLIGHT = re.compile(rf"{_BEFORE}(D50|D55|D65|D75){_AFTER}")
_ILLUMINANT = re.compile(
    rf"illumin(?:ant|ation)(?:[_ ]?(?:name|type))?[\s=:,\"']{{1,6}}(?:CIE )?({_LIGHT}){_AFTER}",
    re.IGNORECASE,
)
# a letter alone is an illuminant only before a slash: "A/2", not "series A-2"
_PAIR = re.compile(
    rf"{_BEFORE}({_LONG}(?=\s*[/_,|-])|[AC](?=\s*/))\s*[/_,|-]\s*(2|10)(?:\s*°|\s*deg\w*)?{_AFTER}"
)
_PAIR_TURNED = re.compile(rf"{_BEFORE}(2|10)\s*(?:°|deg\w*)\s*[/_,| -]\s*({_LIGHT}){_AFTER}")
_OBSERVERS = (
    re.compile(r"observer\w*[^\w°]{0,8}(?:angle\W{0,4})?(2|10)(?![\d.])", re.IGNORECASE),
    re.compile(r"(?<![\d./:])(2|10)[\s_-]*(?:°|degrees?|deg)[\s_-]*(?:\w+[\s_-]+){0,2}obs", re.I),
    re.compile(r"view(?:ing)?[\s_-]*angle\W{0,8}(2|10)(?![\d.])", re.IGNORECASE),
)
_YEARS = re.compile(r"CIE\s*-?(1931|1964)(?!\d)", re.IGNORECASE)
_GEOMETRY = re.compile(
    r"(?<![\w./:])(45|0|di|de|d|8)\s*°?\s*[:/]\s*(45|0|8|d|di|de)(?:\s*°)?([ac]?)(?![\w./:])",
    re.IGNORECASE,
)
_GEOMETRIES = {"45:0", "0:45", "d:8", "di:8", "de:8", "d:0", "8:d", "8:di", "8:de", "0:d"}
_INCLUDED = re.compile(r"\b(?:SCI|SPIN)\b|specular[\s_-]*(?:component)?\W{0,4}incl", re.I)
_EXCLUDED = re.compile(r"\b(?:SCE|SPEX)\b|specular[\s_-]*(?:component)?\W{0,4}excl", re.I)
_APERTURE = re.compile(r"aperture\D{0,20}?(\d{1,3}(?:[.,]\d{1,2})?)\s*mm\b", re.IGNORECASE)
_M = re.compile(r"(?<![\w.])M([0-3])(?![\w.])")
_M_CONTEXT = re.compile(r"condition|mode|filter|illumin|13655|measure", re.IGNORECASE)
_UV_CUT = re.compile(r"\bUV[\s_-]*(?:light)?\W{0,4}(?:cut|excl|filter|out)|uv-?cut", re.IGNORECASE)
_UV_IN = re.compile(r"\bUV[\s_-]*(?:light)?\W{0,4}incl", re.IGNORECASE)
_BACKING = re.compile(r"back(?:ing|er)\w*[\s=:,\"']{1,6}([A-Za-z][A-Za-z -]{2,40})", re.IGNORECASE)
_WHITE_BLACK = re.compile(r"(?<![\w])(white|black)[\s_-]*back(?:ing|er)", re.IGNORECASE)


def pieces(rows: Sequence[Row]) -> list[Piece]:
    """Return the pieces of the condition that rows above a table state, each said once."""
    found: dict[tuple[str, str], Piece] = {}
    for row in rows:
        text = " ".join(row.cells)
        if len(text) > LONGEST_LINE:
            continue
        for key, value in said(text):
            found.setdefault((key, value), Piece(key, value, text[:LONGEST_WORDS], row.line))
    return list(found.values())


def said(text: str) -> Iterator[tuple[str, str]]:
    """Yield key and value (as found.Piece has them) of everything that one text states."""
    yield from light(text)
    for one in _GEOMETRY.finditer(text):
        geometry = f"{one.group(1)}:{one.group(2)}".lower()
        if geometry in _GEOMETRIES:
            yield "geometry", geometry
    if _INCLUDED.search(text):
        yield "specular", "included"
    if _EXCLUDED.search(text):
        yield "specular", "excluded"
    aperture = _APERTURE.search(text)
    if aperture:
        yield "aperture", f"{float(aperture.group(1).replace(',', '.')):g}"
    if _M_CONTEXT.search(text):
        for one in _M.finditer(text):
            yield "uv", f"M{one.group(1)}"
    if _UV_CUT.search(text):
        yield "uv", "excluded"
    if _UV_IN.search(text):
        yield "uv", "included"
    backing = _BACKING.search(text) or _WHITE_BLACK.search(text)
    if backing:
        yield "backing", backing.group(1).strip().lower()


def light(text: str) -> Iterator[tuple[str, str]]:
    """Yield illuminants and colorimetric observers that a text names."""
    for one in _DAYLIGHT.finditer(text):
        yield "illuminant", one.group(1)
    for one in _ILLUMINANT.finditer(text):
        yield "illuminant", _illuminant(one.group(1))
    for one in _PAIR.finditer(text):
        yield "illuminant", _illuminant(one.group(1))
        yield "observer", one.group(2)
    for one in _PAIR_TURNED.finditer(text):
        yield "observer", one.group(1)
        yield "illuminant", _illuminant(one.group(2))
    for pattern in _OBSERVERS:
        for one in pattern.finditer(text):
            yield "observer", one.group(1)
    for one in _YEARS.finditer(text):
        yield "observer", {"1931": "2", "1964": "10"}[one.group(1)]


def _illuminant(text: str) -> str:
    """Return an illuminant's name as the weights have it: FL11 is F11."""
    name = text.upper()
    return f"F{name[2:]}" if name.startswith("FL") and "." not in name else name


def contradictions(found: Sequence[Piece]) -> list[Note]:
    """Return the oddity of pieces that say different things: none of them is taken."""
    values: dict[str, list[str]] = {}
    for piece in found:
        values.setdefault(piece.key, []).append(piece.value)
    return [
        ("condition-contradicts", {"key": key, "values": ", ".join(said)[:80]})
        for key, said in values.items()
        if len(said) > 1
    ]
