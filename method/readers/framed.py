"""CGATS.17 / ISO 28178 text: keywords, a format of field names, a block of data, perhaps again.

Counts in keywords are often wrong: the block of data is trusted, and what disagrees is said. A
block without a format of its own takes the last one.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from method.readers.errors import ReadError
from method.readers.found import MAX_TABLES
from method.readers.layout import LEAST_BANDS
from method.readers.text import MAX_CELLS, MAX_COLUMNS, Row, rows
from method.readers.values import Note, like_number

_FRAMED = re.compile(r'^[ \t]*"?BEGIN_DATA_FORMAT\b', re.MULTILINE | re.IGNORECASE)
_MARK = re.compile(r'[ \t]*"?((?:BEGIN|END)_DATA(?:_FORMAT)?)\b', re.IGNORECASE)
MAX_KEYWORDS = 6_000
MAX_KEYWORD_TEXT = 400_000  # characters of all of them
_LONGEST_HEAD = 1_000_000  # characters in which the first format begins
_SEVERAL = {"KEYWORD", "WEIGHTING_FUNCTION", "COMPUTATIONAL_PARAMETER", "DESCRIPTOR"}
# how data may be separated; the one that fits the names best is taken
_SEPARATORS = {"tab": "\t", "semicolon": ";", "spaces": " ", "comma": ","}


@dataclass(frozen=True)
class Keyword:
    """One keyword of the file, in capitals, with its values joined, and the line it stands on."""

    key: str
    value: str
    line: int


@dataclass(frozen=True)
class Frame:
    """One block of data.

    own: keywords since the block before; keywords: all that hold: those, and earlier ones that
    were not stated anew. header: names of the fields, with the line of the first. lines: the data
    as written; first: the line number of the first of them. closed: whether END_DATA was found.
    """

    keywords: tuple[Keyword, ...]
    own: tuple[Keyword, ...]
    header: Row
    lines: list[str]
    first: int
    closed: bool


def is_framed(text: str) -> bool:
    """Tell whether a text has a format of field names in it."""
    # the first test is quick; a pattern over many lines is not
    return "DATA_FORMAT" in text[:_LONGEST_HEAD].upper() and _FRAMED.search(text) is not None


def frames(text: str, name: str) -> tuple[list[Frame], list[Keyword]]:
    """Return the blocks of data of a framed text, and the keywords after the last one.

    Raises ReadError for readings after the end of the data, where there is no block at all, and
    for more blocks or keywords than are read.
    """
    found: list[Frame] = []
    keywords: dict[tuple[str, str], Keyword] = {}
    own: list[Keyword] = []
    said = size = 0
    header = Row(0, [])
    lines = text.rstrip("\n").split("\n")
    at = 0
    while at < len(lines):
        mark = _mark(lines[at])
        if mark == "BEGIN_DATA_FORMAT":
            end = _end(lines, at, "END_DATA_FORMAT")
            header = _names(lines, at + 1, end)
            if len(header.cells) > MAX_COLUMNS:
                params = {"limit": str(MAX_COLUMNS)}
                raise ReadError("too-many-columns", name, line=header.line, params=params)
            at = end
        elif mark == "BEGIN_DATA":
            end = _end(lines, at, "END_DATA")
            closed = end < len(lines)
            if len(found) == MAX_TABLES:
                params = {"limit": str(MAX_TABLES)}
                raise ReadError("too-many-tables", name, line=at + 1, params=params)
            keywords = _so_far(keywords, own)
            body = lines[at + 1 : end]
            so_far = tuple(keywords.values())
            found.append(Frame(so_far, tuple(own), header, body, at + 2, closed))
            own = []
            at = end
        elif mark == "":
            keyword = _keyword(lines[at], at + 1)
            own += [keyword] if keyword else []
            said += keyword is not None
            if said > MAX_KEYWORDS:
                params = {"limit": str(MAX_KEYWORDS)}
                raise ReadError("too-many-keywords", name, line=at + 1, params=params)
            size += len(lines[at]) if keyword else 0
            if size > MAX_KEYWORD_TEXT:
                params = {"limit": str(MAX_KEYWORD_TEXT)}
                raise ReadError("keywords-too-long", name, line=at + 1, params=params)
            if found and keyword and _like_reading(lines[at]):
                raise ReadError("several-tables", name, line=at + 1)
        at += 1
    if not found:
        raise ReadError("no-readings", name, line=header.line or None)
    return found, own


def _so_far(
    before: dict[tuple[str, str], Keyword], own: Sequence[Keyword]
) -> dict[tuple[str, str], Keyword]:
    """Return the keywords that hold for a block: its own, and earlier ones it does not restate."""
    anew = {one.key for one in own} - _SEVERAL
    result = {place: one for place, one in before.items() if one.key not in anew}
    for one in own:
        result.setdefault((one.key, one.value), one)
    return result


def after_data(keywords: Sequence[Keyword]) -> list[Note]:
    """Return the oddity of keywords after the last block: no data follow that they speak of."""
    if not keywords:
        return []
    first = keywords[0]
    params = {"count": str(len(keywords)), "key": first.key[:40], "line": str(first.line)}
    return [("keywords-after", params)]


def _mark(line: str) -> str:
    """Return the word that frames a part, or nothing."""
    found = _MARK.match(line) if "_DATA" in line.upper() else None
    return found.group(1).upper() if found else ""


def _end(lines: Sequence[str], start: int, word: str) -> int:
    """Return the index of the line that closes a part; the number of lines where none does."""
    for at in range(start + 1, len(lines)):
        if _mark(lines[at]) == word:
            return at
    return len(lines)


def cells_of(line: str) -> list[str]:
    """Return the cells of a keyword's or format's line: quoted ones whole, remarks left out."""
    separator = "\t" if "\t" in line else " "
    try:
        cells = next(csv.reader([line], delimiter=separator, skipinitialspace=True), [])
    except csv.Error:
        return []
    kept: list[str] = []
    for cell in cells:
        if cell.startswith("#"):
            break
        kept += [cell.strip()] if cell.strip() else []
    return kept


def _names(lines: Sequence[str], start: int, end: int) -> Row:
    """Return the field names between two lines, which may be spread over several."""
    names = [cell for line in lines[start:end] for cell in cells_of(line)]
    for separator in ",;":
        joined = " ".join(names)
        parted = len(names) == 1 or all(cell.endswith(separator) for cell in names[:-1])
        if parted and joined.count(separator) >= LEAST_BANDS:
            names = [cell.strip() for cell in joined.split(separator)]
    written = [at for at in range(start, end) if lines[at].strip()]
    return Row((written[0] if written else start) + 1, names)


def _keyword(line: str, number: int) -> Keyword | None:
    text = line.strip()
    if not text or text.startswith("#"):
        return None
    cells = cells_of(text)
    if cells and " " in cells[0]:  # a key and its value parted by a blank in a line with tabs
        cells = [*cells[0].split(" ", 1), *cells[1:]]
    return Keyword(cells[0].upper(), " ".join(cells[1:]), number) if cells else None


def _like_reading(line: str) -> bool:
    return sum(map(like_number, re.split(r"[\t ;]+", line))) >= LEAST_BANDS


def separator_of(frame: Frame, name: str) -> str:
    """Return the word for what separates the data.

    It is the separator under which most of the first lines have as many cells as there are names,
    empty ones counted or not.
    """
    width = len(frame.header.cells)
    best, word = -1, "tab"
    sample = [line for line in frame.lines[:50] if line.strip()]
    for one in _SEPARATORS:
        try:
            fit = sum(_fits(row, width) for row in _rows(sample, one, name))
        except ReadError:
            continue  # faults under a wrong separator mean nothing
        if fit > best:
            best, word = fit, one
    if best == 0 and any("\t" not in line for line in sample):
        word = "spaces"
    return word


def rows_under(frame: Frame, word: str, name: str) -> list[Row]:
    """Return the rows of the data under a separator's word. Raises ReadError for too many cells."""
    if sum(line.count(_SEPARATORS[word]) for line in frame.lines) > MAX_CELLS:
        raise ReadError("text-too-many-cells", name, params={"limit": str(MAX_CELLS)})
    return list(_rows(frame.lines, word, name, frame.first))


def _fits(row: Row, width: int) -> bool:
    """Tell whether a row has as many cells as names, or would if empty ones were closed up."""
    return len(row.cells) == width or sum(map(bool, row.cells)) == width


def _rows(lines: Sequence[str], word: str, name: str, first: int = 1) -> Iterator[Row]:
    text = "\n".join(lines)
    if word == "spaces":
        text = text.replace("\t", " ")
    return rows(text, _SEPARATORS[word], name, first)


def counts(frame: Frame, found: int) -> list[Note]:
    """Return where the keywords' counts disagree with what is there. found: readings."""
    notes: list[Note] = []
    stated = {one.key: one for one in frame.own}
    sets, fields = stated.get("NUMBER_OF_SETS"), stated.get("NUMBER_OF_FIELDS")
    if sets and sets.value != str(found):
        notes.append(("count-disagrees", {"stated": sets.value[:40], "found": str(found)}))
    width = len(frame.header.cells)
    if fields and fields.value != str(width):
        notes.append(("fields-disagree", {"stated": fields.value[:40], "found": str(width)}))
    if not frame.closed:
        notes.append(("end-missing", {}))
    return notes + _repeated(frame)


def _repeated(frame: Frame) -> list[Note]:
    """Return the oddity of keywords that say different things."""
    said: dict[str, set[str]] = {}
    for one in frame.own:
        if one.key not in _SEVERAL:
            said.setdefault(one.key, set()).add(one.value)
    several = [key for key, values in said.items() if len(values) > 1]
    if not several:
        return []
    return [("keywords-repeated", {"count": str(len(several)), "key": several[0][:40]})]


_AXIS = re.compile(
    r"(?:SPECTRAL|WAVELENGTH|NM|BAND)\w*?_?(START|FIRST|MIN|END|LAST|MAX|BANDS|COUNT|STEP|INTERVAL"
    r"|INCREMENT)(?:_?NM)?|(START|END)_?WAVELENGTH|WAVELENGTH_?(STEP|INTERVAL|INCREMENT)"
)
_MEANING = {"FIRST": "START", "MIN": "START", "LAST": "END", "MAX": "END", "COUNT": "BANDS"}


def axis_disagrees(frame: Frame, wavelengths: Sequence[float]) -> list[Note]:
    """Return the oddity that keywords state other wavelengths than the names of the fields.

    wavelengths: of the names, nm, rising. The names are trusted.
    """
    found = {
        "START": wavelengths[0],
        "END": wavelengths[-1],
        "BANDS": len(wavelengths),
        "STEP": (wavelengths[-1] - wavelengths[0]) / (len(wavelengths) - 1),
    }
    for one in frame.keywords:
        match = _AXIS.fullmatch(one.key)
        if not match:
            continue
        word = next(filter(None, match.groups()))
        key = _MEANING.get(word, "STEP" if word in ("INTERVAL", "INCREMENT") else word)
        try:
            stated = float(one.value.split()[0].replace(",", "."))
        except (ValueError, IndexError):
            continue
        if abs(stated - found[key]) > (0.05 if key == "STEP" else 0.5):
            params = {"key": one.key[:40], "stated": f"{stated:g}", "found": f"{found[key]:.6g}"}
            return [("axis-disagrees", params)]
    return []


_PAIR_NM, _PAIR_VALUE = "SPECTRAL_NM", {"SPECTRAL_PCT": "percent", "SPECTRAL_DEC": "factor"}


def paired(frame: Frame, word: str, name: str) -> tuple[Row, str | None]:
    """Return the header and the scale that the keywords or the names of the fields state.

    Where the fields are pairs of SPECTRAL_NM and SPECTRAL_PCT or SPECTRAL_DEC, the wavelengths
    stand in the data: they become the names of the bands. Raises ReadError where readings differ
    in them.
    """
    names = [cell.upper() for cell in frame.header.cells]
    places = [
        i for i, one in enumerate(names[:-1]) if one == _PAIR_NM and names[i + 1] in _PAIR_VALUE
    ]
    body = rows_under(frame, word, name) if len(places) >= LEAST_BANDS else []
    if not body:
        return frame.header, _keyword_scale(frame)
    cells = list(frame.header.cells)
    first = body[0]
    for row in body:
        for i in places:
            here = row.cells[i] if i < len(row.cells) else ""
            if i < len(first.cells) and here != first.cells[i]:
                params = {"found": here[:20], "expected": first.cells[i][:20]}
                raise ReadError("pairs-differ", name, line=row.line, column=i + 1, params=params)
    for i in places:
        if i < len(first.cells):
            cells[i + 1] = first.cells[i]
    return Row(frame.header.line, cells), _PAIR_VALUE[names[places[0] + 1]]


def _keyword_scale(frame: Frame) -> str | None:
    """Return the scale that a keyword such as SPECTRAL_NORM gives, if exactly one is given."""
    scales = set()
    for one in frame.keywords:
        if re.fullmatch(r"SPECTRAL\w*_(NORM|SCALE)|(NORM|SCALE)_?FACTOR", one.key):
            try:
                value = float(one.value.replace(",", "."))
            except ValueError:
                continue
            scales |= {"percent"} if value == 100 else {"factor"} if value == 1 else set()
    return scales.pop() if len(scales) == 1 else None
