"""What the lines around a table say of how it was measured, piece by piece, with their places.

Only what is written is taken, wherever it stands: as a keyword's value, inside a quoted string, in
a column's name. What is not written stays unknown. Names of specimens are never looked at: the
caller passes no rows of readings.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import lru_cache

from method.readers.found import Piece
from method.readers.text import Row
from method.readers.values import Note

LONGEST_LINE = 2_000  # of a line above a table; what is longer says no condition
LONGEST_WORDS = 120
_LONG = r"(?:D50|D55|D65|D75|FL?1?\d(?:\.\d{1,2})?|LED-?[A-Z]{1,3}\d?)"
_BEFORE, _AFTER = r"(?<![A-Za-z0-9.])", r"(?![A-Za-z0-9]|\.\d)"
_DEGREES = r"\s*-?(?:°|deg\w*)"
_AND = r"\s*(?:,|;|/|&|\+|and|or)\s*"
# what may follow a figure or letter that is a value by itself: "Observer 2", not "2 people"
_ENDS = (
    r"(?=\s*(?:$|[,;/|)\]\"'°]|-?deg)|\s+\w+\s*[=:]|\s+(?:and |CIE )?(?:illum|observ|2|10|D\d\d))"
)
_AFTER_KEYWORD = rf"(?:{_LONG}{_AFTER}|(?-i:[ACE]){_AFTER}{_ENDS})"
_ILLUMINANT = re.compile(
    rf"illumin(?:ants?|ation)(?:[_ ]?(?:name|type))?[\s=:,\"']{{1,6}}"
    rf"((?:CIE )?{_AFTER_KEYWORD}(?:{_AND}{_AFTER_KEYWORD}){{0,5}})",
    re.IGNORECASE,
)
_ONE_LIGHT = re.compile(rf"{_BEFORE}(?:{_LONG}|[ACE]){_AFTER}", re.IGNORECASE)
# a light without the word stands beside a colorimetric observer, or is all there is
_NAMED = re.compile(
    rf"{_BEFORE}(D50|D55|D65|D75)[\s_-]{{1,3}}illuminant|CIE (D50|D55|D65|D75){_AFTER}"
    rf"|{_BEFORE}(?:2|10){_DEGREES}[\s_-]*(?:\w+\s+)?obs\w*[\s,;/|-]{{1,4}}(D50|D55|D65|D75){_AFTER}"
)
# the figure of an observer carries its degrees, or follows a slash
_PAIR = re.compile(
    rf"{_BEFORE}(?:({_LONG})\s*/\s*(2|10)(?:{_DEGREES})?|({_LONG})[\s_,|-]{{1,3}}(2|10){_DEGREES}"
    rf"|([ACE])\s*/\s*(2|10){_DEGREES}){_AFTER}"
)
_PAIR_TURNED = re.compile(
    rf"{_BEFORE}(2|10){_DEGREES}(?:\s*[/_,| -]\s*({_LONG})|\s*/\s*([ACE])){_AFTER}"
)
_ALONE = re.compile(
    rf"({_LONG})(?:\s*[/_,|-]\s*(2|10)(?:{_DEGREES})?)?|([ACE])\s*/\s*(2|10)|(2|10){_DEGREES}"
)
_SOME = rf"((?:2|10)(?![\d.])(?:{_AND}(?:2|10)(?![\d.])){{0,5}})"
_OBSERVERS = (
    re.compile(rf"(?<![a-z])observer(?:[\s_-]*\w{{4,8}})?[^\w°]{{1,8}}{_SOME}{_ENDS}", re.I),
    re.compile(r"observer(?:[\s_-]*angle\W{1,8}|\s*=\W{0,2})(2|10)(?![\d.])", re.IGNORECASE),
    re.compile(r"(?<![\d./:])(2|10)[\s_-]*(?:°|degrees?|deg)[\s_-]*(?:\w+[\s_-]+){0,2}obs", re.I),
    re.compile(rf"view(?:ing)?[\s_-]*angle\W{{0,8}}(2|10){_ENDS}", re.IGNORECASE),
)
_YEARS = re.compile(r"CIE\s*-?(1931|1964)(?!\d)", re.IGNORECASE)
_GEOMETRY = re.compile(
    r"(?<![\w./:])(45|0|di|de|d|8)\s*°?\s*([:/])\s*(45|0|8|d|di|de)(?:\s*°)?([ac]?)(?![\w./:])",
    re.IGNORECASE,
)
_GEOMETRIES = {"45:0", "0:45", "d:8", "di:8", "de:8", "d:0", "8:d", "8:di", "8:de", "0:d"}
_GEOMETRY_WORD = re.compile(r"geometr|angle|optic|annular|circumferential", re.IGNORECASE)
_DATE = re.compile(
    r"\bcreated|\bdate|\btime\b|\d[./-]\d{1,2}[./-]\d|\d{4}-\d\d|\b(?:19|20)\d\d\b", re.IGNORECASE
)
_IN_OR_OUT = rf"((?:incl|excl)\w*\.?(?:{_AND}(?:incl|excl)\w*){{0,5}})"
_SPECULAR = re.compile(rf"specular[\s_-]*(?:component)?\W{{0,4}}{_IN_OR_OUT}", re.IGNORECASE)
_SCI, _SCE = re.compile(r"\b(?:SCI|SPIN)\b", re.I), re.compile(r"\b(?:SCE|SPEX)\b", re.I)
_APERTURE = re.compile(
    r"aperture\D{0,20}?(\d{1,3}(?:[.,]\d{1,2})?)\s*mm\b"
    r"(?!\s*(?:[x×*/+&]|by\b|and\b|or\b|to\b|[,;]\s*\d|[-–]\s*\d))",
    re.IGNORECASE,
)
_SOME_M = rf"((?-i:M[0-3])(?![\w.])(?:{_AND}(?-i:M[0-3])(?![\w.])){{0,5}})"
_M = re.compile(
    r"(?:conditions?|modes?|filters?|illumination|13655(?:[-:]\d{4})?)[\s_=:,\"'(]{1,4}"
    rf"{_SOME_M}|(?<![\w.]){_SOME_M}[\s_-](?:measure?ment[\s_-]+)?(?:condition|mode|filter)"
    r"|\A\s*(M[0-3])\s*\Z",
    re.IGNORECASE,
)
_ONE_M = re.compile(r"M[0-3]")
_NONE_OF = r"(?<!no )(?<!not )(?<!without )"
_UV_CUT = re.compile(
    rf"{_NONE_OF}\bUV[\s_-]*(?:light)?\W{{0,4}}"
    r"(?:cut|out\b|filter(?!\w*\W*(?:off|none|no|not|open|out|without)\b))|uv-?cut",
    re.IGNORECASE,
)
_UV = re.compile(rf"{_NONE_OF}\bUV[\s_-]*(?:light)?\W{{0,4}}{_IN_OR_OUT}", re.IGNORECASE)
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


@lru_cache(maxsize=16_384)  # keywords hold on from block to block
def said(text: str) -> tuple[tuple[str, str], ...]:
    """Return key and value (as found.Piece has them) of everything that one text states."""
    return tuple(_said(" ".join(text.split())))  # runs of blanks make patterns slow


def _said(text: str) -> Iterator[tuple[str, str]]:
    yield from light(text)
    yield from _geometries(text)
    yield from _in_or_out("specular", _SPECULAR, text)
    if _SCI.search(text):
        yield "specular", "included"
    if _SCE.search(text):
        yield "specular", "excluded"
    for one in _APERTURE.finditer(text):
        yield "aperture", f"{float(one.group(1).replace(',', '.')):g}"
    for one in _M.finditer(text):
        for value in _ONE_M.findall(one.group()):
            yield "uv", value
    if _UV_CUT.search(text):
        yield "uv", "excluded"
    yield from _in_or_out("uv", _UV, text)
    backing = _BACKING.search(text) or _WHITE_BLACK.search(text)
    if backing:
        yield "backing", backing.group(1).strip().lower()


def _geometries(text: str) -> Iterator[tuple[str, str]]:
    """Yield geometries; what may be a time of the day needs a word that says otherwise."""
    named = _GEOMETRY_WORD.search(text) and not _DATE.search(text)
    for one in _GEOMETRY.finditer(text):
        geometry = f"{one.group(1)}:{one.group(3)}".lower()
        timely = geometry == "0:45" and one.group(2) == ":"
        plain = "°" in one.group() or one.group() == text.strip()
        if geometry in _GEOMETRIES and (not timely or plain or named):
            yield "geometry", geometry


def _in_or_out(key: str, pattern: re.Pattern[str], text: str) -> Iterator[tuple[str, str]]:
    """Yield included, excluded, or both: that is a contradiction, and none is taken."""
    for one in pattern.finditer(text):
        words = one.group(1).lower()
        for start, value in (("incl", "included"), ("excl", "excluded")):
            if start in words:
                yield key, value


def light(text: str) -> Iterator[tuple[str, str]]:
    """Yield illuminants and colorimetric observers that a text names.

    Only in forms of the trade: "illuminant D65", "D65/10", "D65, 10°", "observer 2". A light or a
    figure that stands elsewhere may be a batch or a count.
    """
    alone = _ALONE.fullmatch(text.strip())
    if alone:
        name, observer = alone.group(1) or alone.group(3), alone.group(alone.lastindex or 0)
        if name:
            yield "illuminant", _illuminant(name)
        if observer != name:
            yield "observer", observer
    for one in _ILLUMINANT.finditer(text):
        for name in _ONE_LIGHT.findall(one.group(1)):
            yield "illuminant", _illuminant(name)
    for one in _NAMED.finditer(text):
        yield "illuminant", next(filter(None, one.groups()))
    for one in _PAIR.finditer(text):
        name, observer = filter(None, one.groups())
        yield "illuminant", _illuminant(name)
        yield "observer", observer
    for one in _PAIR_TURNED.finditer(text):
        yield "observer", one.group(1)
        yield "illuminant", _illuminant(one.group(2) or one.group(3))
    for pattern in _OBSERVERS:
        for one in pattern.finditer(text):
            for observer in re.findall(r"10|2", one.group(1)):
                yield "observer", observer
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
