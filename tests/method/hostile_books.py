"""Hostile workbooks and archives, one per trick; ``make_hostile`` writes them."""

from __future__ import annotations

import struct
from zipfile import ZIP_STORED

import openpyxl

from tests.method.hostile_text import LABELS, NM, TABLE
from tests.method.workbooks import cell, parts, saved, sheet, workbook, zipped

ROWS = [["label", *NM]] + [[label, *row.tolist()] for label, row in zip(LABELS, TABLE, strict=True)]
PARTS = parts(sheet(ROWS))
GOOD = zipped(PARTS)
SHEET = "xl/worksheets/sheet1.xml"
OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_NAME, _SIZE, _OFFSET, _FLAGS = 46, 24, 42, 8  # places in an entry of the directory


def raw(rows, more=""):
    """A workbook whose rows are given as XML."""
    return zipped(parts(f"<sheetData>{rows}</sheetData>{more}"))


def with_value(value, kind=None, formula=None):
    """The good workbook with another value in C3."""
    old, new = cell(3, 3, ROWS[2][2]), cell(3, 3, value, kind, formula)
    assert PARTS[SHEET].count(old) == 1
    return zipped(PARTS | {SHEET: PARTS[SHEET].replace(old, new)})


def in_sheet(old, new):
    """The good workbook with a piece of its sheet replaced."""
    assert old in PARTS[SHEET]
    return zipped(PARTS | {SHEET: PARTS[SHEET].replace(old, new, 1)})


def entries(data):
    """Places of the directory's entries."""
    found, at = [], data.find(b"PK\x01\x02")
    while at >= 0:
        found.append(at)
        at = data.find(b"PK\x01\x02", at + 4)
    return found


def patched(offset, form, change):
    """The good archive with a number in each entry of its directory changed."""
    data = bytearray(GOOD)
    places = entries(GOOD)
    for at, place in enumerate(places):
        (old,) = struct.unpack_from(form, data, place + offset)
        struct.pack_into(form, data, place + offset, change(at, old, places))
    return bytes(data)


def overlapping():
    """Every entry points at the first member."""
    first = struct.unpack_from("<I", GOOD, entries(GOOD)[0] + _OFFSET)[0]
    return patched(_OFFSET, "<I", lambda at, old, places: first)


def styled(change):
    """The good table, written and changed by a library."""
    book = openpyxl.Workbook()
    for row in ROWS:
        book.active.append(row)
    change(book)
    return saved(book)


def _percent(book):
    for row in book.active.iter_rows(min_row=2, min_col=2):
        for one in row:
            one.number_format = "0.00%"


def _hidden(book):
    book.create_sheet("front").append(["see the other sheet"])
    book.active.sheet_state = "hidden"
    book.active.row_dimensions[3].hidden = True
    book.active = 1


def _merged(book):
    book.active.merge_cells("C3:D3")


def _two(book):
    other = book.create_sheet("again")
    for row in ROWS[:2]:
        other.append(row)


COUNT = 1_000_000
TRICKS = {
    "workbook-named.csv": lambda: GOOD,
    "workbook-by-a-library.xlsx": lambda: workbook(ROWS),
    "cut-in-the-archive.xlsx": lambda: GOOD[: len(GOOD) // 2],
    "cut-before-the-directory-ends.xlsx": lambda: GOOD[:-10],
    "archive-of-text.xlsx": lambda: zipped({"a.csv": "label,400\n"}),
    "archive-in-an-archive.xlsx": lambda: zipped({"inner.xlsx": GOOD}, ZIP_STORED),
    "archive-beside-the-sheets.xlsx": lambda: zipped(
        PARTS | {"xl/embeddings/inner.zip": GOOD}, ZIP_STORED
    ),
    "bomb-for-a-sheet.xlsx": lambda: zipped(PARTS | {SHEET: b" " * 80_000_000}),
    "bomb-of-rows.xlsx": lambda: raw('<row r="1"/>' + " " * 70_000_000),
    "bomb-beside-the-sheets.xlsx": lambda: zipped(
        PARTS | {"xl/media/image1.png": b"\0" * 80_000_000}
    ),
    "members-over-each-other.xlsx": overlapping,
    "sizes-too-large.xlsx": lambda: patched(_SIZE, "<I", lambda at, old, places: old + 9),
    "sizes-too-small.xlsx": lambda: patched(_SIZE, "<I", lambda at, old, places: old // 2),
    "sizes-without-bound.xlsx": lambda: patched(_SIZE, "<I", lambda at, old, places: 0xFFFFFFFE),
    "members-encrypted.xlsx": lambda: patched(_FLAGS, "<H", lambda at, old, places: old | 1),
    "members-by-the-ten-thousand.xlsx": lambda: zipped(
        PARTS | {f"xl/x{n}.xml": "" for n in range(10_000)}, ZIP_STORED
    ),
    "members-that-climb.xlsx": lambda: zipped(
        PARTS | {"../../../../etc/cron.d/x": "x", "/etc/x.xml": "<x/>", "C:\\x.xml": "<x/>"}
    ),
    "sheet-that-climbs.xlsx": lambda: zipped(
        PARTS
        | {
            "xl/_rels/workbook.xml.rels": PARTS["xl/_rels/workbook.xml.rels"].replace(
                "worksheets/sheet1.xml", "../../../../etc/passwd"
            )
        }
    ),
    "password.xlsx": lambda: OLE + "EncryptedPackage".encode("utf-16-le") + b"\0" * 2_000,
    "older-form.xls": lambda: OLE + b"\0" * 2_000,
    "binary-form.xlsb": lambda: zipped(
        {"[Content_Types].xml": "<Types/>", "xl/workbook.bin": b"\x83\x01"}
    ),
    "macros.xlsm": lambda: zipped(
        parts(sheet(ROWS), main="sheet.macroEnabled.main") | {"xl/vbaProject.bin": OLE}
    ),
    "macros-named.xlsx": lambda: zipped(PARTS | {"xl/vbaProject.bin": OLE}),
    "strict-form.xlsx": lambda: zipped(
        parts(sheet(ROWS), namespace="http://purl.oclc.org/ooxml/spreadsheetml/main")
    ),
    "text-document.docx": lambda: zipped(
        {"[Content_Types].xml": "<Types/>", "word/document.xml": "<x/>"}
    ),
    "entities-in-a-sheet.xlsx": lambda: in_sheet(
        "<worksheet", '<!DOCTYPE w [<!ENTITY e SYSTEM "file:///etc/passwd">]><worksheet'
    ),
    "deep-sheet.xlsx": lambda: in_sheet("<sheetData>", "<x>" * 100_000),
    "a-million-columns.xlsx": lambda: raw(
        '<row r="1">' + "".join(f"<c><v>{n * n % 99991}</v></c>" for n in range(COUNT)) + "</row>"
    ),
    "column-beyond-the-last.xlsx": lambda: raw('<row r="1"><c r="ZZZZ1"><v>1</v></c></row>'),
    "cell-in-the-last-corner.xlsx": lambda: raw(
        f'<row r="1048576">{cell(16_384, 1_048_576, 1)}</row>'
    ),
    "empty-cell-in-the-last-corner.xlsx": lambda: in_sheet(
        "</sheetData>", '<row r="1048576"><c r="XFD1048576"/></row></sheetData>'
    ),
    "row-beyond-the-last.xlsx": lambda: raw('<row r="4294967297"/>'),
    "a-million-rows-of-nothing.xlsx": lambda: raw(
        "".join(f'<row r="{n}"/>' for n in range(1, COUNT))
    ),
    "rows-out-of-order.xlsx": lambda: raw('<row r="9"/><row r="2"/>'),
    "cells-twice.xlsx": lambda: raw(f'<row r="1">{cell(2, 1, 1)}{cell(2, 1, 2)}</row>'),
    "dimensions-that-lie.xlsx": lambda: in_sheet(
        "<sheetData>", '<dimension ref="A1:XFD1048576"/><sheetData>'
    ),
    "dimensions-too-small.xlsx": lambda: in_sheet(
        "<sheetData>", '<dimension ref="A1"/><sheetData>'
    ),
    "string-that-is-not-there.xlsx": lambda: with_value(99, "s"),
    "formula-without-a-result.xlsx": lambda: with_value(None, formula="WEBSERVICE(A1)"),
    "formula-with-a-result.xlsx": lambda: with_value(0.5, formula="0.1+0.2"),
    "formula-for-a-label.xlsx": lambda: in_sheet(
        "<is><t>b</t></is>", "<is><t>=HYPERLINK(0)</t></is>"
    ),
    "error-for-a-number.xlsx": lambda: with_value("#N/A", "e"),
    "nan-for-a-number.xlsx": lambda: with_value("NaN"),
    "infinity-for-a-number.xlsx": lambda: with_value("1e999"),
    "1e308-for-a-number.xlsx": lambda: with_value("1e308"),
    "minus-zero.xlsx": lambda: with_value("-0"),
    "number-of-5000-digits.xlsx": lambda: with_value("9" * 5_000),
    "text-for-a-number.xlsx": lambda: with_value("0,5", "str"),
    "date-beyond-belief.xlsx": lambda: with_value("9e99999", "d"),
    "label-without-end.xlsx": lambda: in_sheet(
        "<is><t>b</t></is>", f"<is><t>{'b' * 100_000}</t></is>"
    ),
    "percent-as-shown.xlsx": lambda: styled(_percent),
    "hidden.xlsx": lambda: styled(_hidden),
    "merged.xlsx": lambda: styled(_merged),
    "two-sheets-of-readings.xlsx": lambda: styled(_two),
    "empty-sheet.xlsx": lambda: zipped(parts("<sheetData/>")),
}
