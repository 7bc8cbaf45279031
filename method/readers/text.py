"""Bytes to text to rows of cells, with the line each row begins on."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from typing import NamedTuple

from method.readers.errors import ReadError

MAX_BYTES = 64 * 1024 * 1024
MAX_ROWS = 250_000
MAX_COLUMNS = 4_000
MAX_CELLS = 10_000_000  # of a text that must be read cell by cell
MAX_CELL = 10_000
MAX_LINE = 200_000
_CHUNK = 1_000_000
_FORBIDDEN = re.compile("[\x00-\x08\x0e-\x1f\x7f\ud800-\udfff]")
_CONTROLS = bytes([*range(0x09), *range(0x0E, 0x20), 0x7F])  # the ASCII part of the same
_REMARK = re.compile(r"^[ \t]*#.*$", re.MULTILINE)
_MAGIC = (
    (b"PK\x03\x04", "a spreadsheet or archive"),
    (b"%PDF", "a PDF"),
    (b"\xd0\xcf\x11\xe0", "a spreadsheet"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"\x1f\x8b", "a compressed file"),
)


class Row(NamedTuple):
    """One row: the line it begins on (from 1) and its cells, trimmed of blanks.

    width: how many cells are written, empty ones at the end included (0: not known).
    """

    line: int
    cells: list[str]
    width: int = 0


class Decoded(NamedTuple):
    """Text with line feeds only, the encoding it came in, and whether that was guessed."""

    text: str
    encoding: str
    guessed: bool


def decode(data: bytes, name: str) -> Decoded:
    """Return the text of ``data``: BOM, UTF-16 without BOM, UTF-8, or else Latin-1 letters.

    Raises ReadError for empty, too large and binary files and for control characters.
    """
    if len(data) > MAX_BYTES:
        params = {"size": str(len(data)), "limit": str(MAX_BYTES)}
        raise ReadError("too-large", name, params=params)
    for magic, looks in _MAGIC:
        if data.startswith(magic):
            raise ReadError("not-text", name, params={"looks": looks})
    encoding, guessed = _encoding(data)
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise ReadError("encoding", name, line=line, params={"encoding": encoding}) from error
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    if not text.strip():
        raise ReadError("empty", name)
    found = _FORBIDDEN.search(text) if _may_hold_controls(text) else None
    if found:
        line = text.count("\n", 0, found.start()) + 1
        column = found.start() - text.rfind("\n", 0, found.start())
        params = {"code": str(ord(found.group()))}
        raise ReadError("control-character", name, line=line, column=column, params=params)
    return Decoded(text, encoding, guessed)


def _may_hold_controls(text: str) -> bool:
    """Tell quickly whether plain text may hold a forbidden character; other text may."""
    if not text.isascii():
        return True
    for start in range(0, len(text), _CHUNK):  # in parts: a copy of a large file is not held
        part = text[start : start + _CHUNK].encode("ascii")
        if len(part.translate(None, _CONTROLS)) != len(part):
            return True
    return False


def check_lines(text: str, name: str) -> None:
    """Raise ReadError where a line of the text is longer than MAX_LINE."""
    start = 0
    while len(text) - start > MAX_LINE:
        end = text.rfind("\n", start, start + MAX_LINE + 1)
        if end < 0:
            line = text.count("\n", 0, start) + 1
            raise ReadError("line-too-long", name, line=line, params={"limit": str(MAX_LINE)})
        start = end + 1


def _encoding(data: bytes) -> tuple[str, bool]:
    """Return the codec to use and whether it is a guess."""
    if data.startswith(b"\xef\xbb\xbf"):
        return "utf-8-sig", False
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16", False
    sample = data[:4096]
    # text in a Latin script as UTF-16 without a mark has a zero in every other byte
    for offset, codec in ((1, "utf-16-le"), (0, "utf-16-be")):
        half, other = sample[offset::2], sample[1 - offset :: 2]
        if len(half) >= 8 and half.count(0) > 0.9 * len(half) and other.count(0) == 0:
            return codec, True
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        # 0x80 to 0x9f are letters in the Windows form of Latin-1; five of them are undefined there
        undefined = any(data.count(bytes([code])) for code in (0x81, 0x8D, 0x8F, 0x90, 0x9D))
        return ("latin-1" if undefined else "cp1252"), True
    return "utf-8", False


def rows(text: str, delimiter: str, name: str, first: int = 1) -> Iterator[Row]:
    """Yield the rows of ``text`` that are neither blank nor remarks (``#`` first).

    delimiter: one character; a space means runs of blanks. first: the number of the first line.
    Raises ReadError for open quotes and for tables beyond the limits.
    """
    kept = 0
    # remarks are emptied first, because a lone quotation mark in one would open a cell
    text = _REMARK.sub("", text)
    reader = csv.reader(io.StringIO(text), delimiter=delimiter, skipinitialspace=delimiter != "\t")
    line = first
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            params = {"size": "131072", "limit": str(MAX_CELL)}
            raise ReadError("cell-too-long", name, line=line, params=params) from error
        began, line = line, reader.line_num + first
        if line - began > 1:  # a quoted cell that goes on in the next line: mostly never closed
            raise ReadError("quotes", name, line=began)
        cells = [cell.strip() for cell in cells]
        if not any(cells):
            continue
        width = len(cells)
        while not cells[-1]:  # padding at the end of a line
            cells.pop()
        kept += 1
        _within_limits(kept, cells, began, name)
        yield Row(began, cells, width)


def _within_limits(kept: int, cells: list[str], line: int, name: str) -> None:
    """Raise ReadError where a table is larger than this reader takes."""
    if kept > MAX_ROWS:
        raise ReadError("too-many-rows", name, line=line, params={"limit": str(MAX_ROWS)})
    if len(cells) > MAX_COLUMNS:
        raise ReadError("too-many-columns", name, line=line, params={"limit": str(MAX_COLUMNS)})
    longest = max(map(len, cells))
    if longest > MAX_CELL:
        params = {"size": str(longest), "limit": str(MAX_CELL)}
        raise ReadError("cell-too-long", name, line=line, params=params)
