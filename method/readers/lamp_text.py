"""The spectrum of a light as two-column text: a wavelength and a value on each line.

Meters write what they please around it: key and value lines, a head with the unit, the same
spectrum again in finer steps, tables of other things. The spectrum is the run of lines that begin
with a wavelength in nm under one spelling (``380``, ``380nm``, ``Spectral Data 380[nm]``).
"""

from __future__ import annotations

import re
from collections import Counter
from typing import NamedTuple

from method.readers import text as limits
from method.readers.errors import ReadError
from method.readers.light import LEAST_POINTS, Spectrum
from method.readers.values import Place, decimal_mark, numbers

_SEPARATORS = {"\t": "\t", ";": ";", ",": ",", " ": None}
_WAVELENGTH = re.compile(
    r"([^\d+\-]*?)\s*(\d{3,4})(?:[.,](\d{1,6}))?\s*[\[(]?\s*(?:nm)?\s*[\])]?", re.IGNORECASE
)
_NUMBER = re.compile(r"[+-]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][+-]?\d+)?", re.ASCII)
_BLANK_UNIT = re.compile(r"(?<=\d)[ \t]+nm\b", re.IGNORECASE)  # "380 nm" between blanks
_HEAD = re.compile(r"nm\b|wave|wellen|lambda|λ|onde", re.IGNORECASE)
_BRACKETS = re.compile(r"\(([^()]*(?:\([^()]*\)[^()]*)*)\)|\[([^\[\]]*)\]")
_WATTS = re.compile(r"(?:[kmunµμ]?W)(?=[\s/·*^(]|$)\S*")
_NO_LIGHT = re.compile(r"refle|transmi|absor|remission|%\s*[RT]\b|\b[RT]\s*%", re.IGNORECASE)
_QUANTITY = re.compile(r"irradiance|radiance|exitance|flux|intensity|relative", re.IGNORECASE)


class _Line(NamedTuple):
    """One line that is not blank: its number from 1, its cells, its wavelength's spelling."""

    number: int
    cells: list[str]
    prefix: str | None  # None: the first cell names no wavelength
    nm: float


def read_text(text: str, name: str) -> Spectrum:
    """Return the spectrum in a text with line feeds, not yet checked for order and range.

    Raises ReadError, naming line and column, where there is none, where several values stand
    beside a wavelength, for faulty numbers, for foreign lines within the spectrum, and for
    reflectance, transmittance and absorptance.
    """
    raw = _raw_lines(text, name)
    separator, prefix = _form(raw, name)
    lines = [_line(number, one, separator) for number, one in raw]
    sections = _sections(lines, prefix, name)
    best = max(sections, key=len)
    spectrum = _spectrum(best, separator, name)
    inside = {line.number for section in sections for line in section}
    others = [line for line in lines if line.number not in inside]
    _describe(spectrum, others, best[0].number, name)
    if len(sections) > 1:
        params = {"count": str(len(sections)), "points": str(len(best))}
        spectrum.notes.append(("lamp-sections", params))
    return spectrum


def _raw_lines(text: str, name: str) -> list[tuple[int, str]]:
    """Return the lines that are neither blank nor remarks, with their numbers."""
    raw = []
    for number, line in enumerate(text.split("\n"), 1):
        stripped = line.strip(" ")
        if not stripped.strip() or stripped.startswith("#"):
            continue
        if len(stripped) > limits.MAX_CELL:
            params = {"size": str(len(stripped)), "limit": str(limits.MAX_CELL)}
            raise ReadError("cell-too-long", name, line=number, params=params)
        raw.append((number, stripped))
        if len(raw) > limits.MAX_ROWS:
            params = {"limit": str(limits.MAX_ROWS)}
            raise ReadError("too-many-rows", name, line=number, params=params)
    return raw


def _line(number: int, line: str, separator: str) -> _Line:
    """Part a line into cells; quotation marks around a cell are taken off."""
    if separator == " ":
        line = _BLANK_UNIT.sub("nm", line)
    cells = [cell.strip().strip('"').strip() for cell in line.split(_SEPARATORS[separator])]
    while cells and not cells[-1]:
        cells.pop()
    found = _WAVELENGTH.fullmatch(cells[0]) if cells and len(cells[0]) <= 60 else None
    if not found:
        return _Line(number, cells, None, 0.0)
    prefix, whole, part = found.groups()
    return _Line(number, cells, prefix.strip().lower(), float(f"{whole}.{part or 0}"))


def _plain(line: _Line) -> bool:
    """Tell whether a line is a wavelength and one number."""
    return line.prefix is not None and len(line.cells) == 2 and _number(line.cells[1])


def _number(cell: str) -> bool:
    return bool(_NUMBER.fullmatch(cell))


def _form(raw: list[tuple[int, str]], name: str) -> tuple[str, str]:
    """Return the separator and the spelling of the wavelengths that show most points."""
    best: tuple[int, str, str] = (0, "", "")
    wide: _Line | None = None
    for separator in _SEPARATORS:
        lines = [_line(number, one, separator) for number, one in raw]
        spellings = Counter(line.prefix for line in lines if _plain(line))
        several = [line for line in lines if line.prefix is not None and len(line.cells) > 2]
        if len(several) >= LEAST_POINTS and all(map(_number, several[-1].cells[1:])):
            wide = wide or several[0]
        for prefix, count in spellings.most_common(1):
            if count > best[0] and prefix is not None:
                best = (count, separator, prefix)
    if best[0] >= LEAST_POINTS:
        return best[1:]
    if wide is not None:
        params = {"found": str(len(wide.cells) - 1)}
        raise ReadError("lamp-columns", name, line=wide.number, column=3, params=params)
    raise ReadError("lamp-no-spectrum", name)


def _sections(lines: list[_Line], prefix: str, name: str) -> list[list[_Line]]:
    """Return the runs of the spectrum: it may be written again, from its first wavelength on.

    Raises ReadError for lines within a run that are no part of it.
    """
    at = [index for index, line in enumerate(lines) if line.prefix == prefix and _plain(line)]
    first, last = at[0], at[-1]
    if last + 1 < len(lines) and lines[last + 1].prefix == prefix:
        last += 1  # begins like a point: cut or faulty, named when its number is read
    sections: list[list[_Line]] = [[]]
    stray: _Line | None = None
    for line in lines[first : last + 1]:
        if line.prefix != prefix:
            stray = stray or line
            continue
        run = sections[-1]
        if len(run) >= LEAST_POINTS and line.nm == run[0].nm:
            sections.append([])
        elif stray is not None and run:
            raise ReadError("line-not-understood", name, line=stray.number)
        sections[-1].append(line)
        stray = None
    return sections


def _spectrum(run: list[_Line], separator: str, name: str) -> Spectrum:
    """Return the numbers of a run, or raise ReadError for the first faulty one."""
    for line in run:
        if len(line.cells) > 2:
            params = {"found": str(len(line.cells) - 1)}
            raise ReadError("lamp-columns", name, line=line.number, column=3, params=params)
    texts = [line.cells[1] if len(line.cells) > 1 else "" for line in run]
    mark = "." if separator == "," else decimal_mark(texts)
    fields = [f"{line.nm:g} nm" for line in run]
    place = Place([line.number for line in run], [2] * len(run), fields)
    values = numbers(texts, mark, name, place)
    return Spectrum([line.nm for line in run], values, [line.number for line in run])


def _describe(spectrum: Spectrum, others: list[_Line], first: int, name: str) -> None:
    """Take quantity, unit and header from the lines around the spectrum."""
    before = [line for line in others if line.number < first]
    head = before[-1] if before and _HEAD.search(before[-1].cells[0]) else None
    said = " ".join(head.cells[1:]) if head else ""
    if head and _NO_LIGHT.search(said):
        params = {"quantity": said[:60]}
        raise ReadError("lamp-not-light", name, line=head.number, column=2, params=params)
    spectrum.header = [_pair(line) for line in others if line is not head]
    keyed = {key.lower(): value for key, value in reversed(spectrum.header)}
    quantity = _QUANTITY.search(said) or _QUANTITY.search(keyed.get("quantity", ""))
    spectrum.quantity = quantity.group().lower() if quantity else None
    spectrum.unit = _unit(said) or keyed.get("unit") or keyed.get("units") or None


def _pair(line: _Line) -> tuple[str, str]:
    """Return key and value of a line beside the spectrum; a line without value keeps its text."""
    if len(line.cells) == 1:
        key, colon, value = line.cells[0].partition(":")
        return (key.strip(), value.strip()) if colon else (line.cells[0], "")
    return line.cells[0].rstrip(": "), " ".join(cell for cell in line.cells[1:] if cell)


def _unit(said: str) -> str | None:
    """Return the unit in a column's head: what stands in brackets, or a power."""
    brackets = _BRACKETS.search(said)
    if brackets:
        return (brackets.group(1) or brackets.group(2) or "").strip() or None
    watts = _WATTS.search(said)
    return watts.group() if watts else None
