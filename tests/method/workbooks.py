"""Writes invented workbooks: by a library, and part by part where something must be wrong."""

from __future__ import annotations

import io
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

import openpyxl

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
RELATIONS = "http://schemas.openxmlformats.org/package/2006/relationships"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
TYPES = "http://schemas.openxmlformats.org/package/2006/content-types"
FORM = "application/vnd.openxmlformats-officedocument.spreadsheetml"
XML = '<?xml version="1.0" encoding="UTF-8"?>'


def saved(book):
    """Bytes of a workbook of the library."""
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def workbook(rows, title="readings"):
    """Bytes of a workbook of one sheet with rows of values."""
    book = openpyxl.Workbook()
    book.active.title = title
    for row in rows:
        book.active.append(row)
    return saved(book)


def parts(sheet, strings="", main="sheet.main", namespace=MAIN):
    """The parts of a workbook whose one sheet's XML (inside worksheet) is given."""
    return {
        "[Content_Types].xml": f'{XML}<Types xmlns="{TYPES}">'
        '<Default Extension="rels" '
        'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{FORM}.{main}+xml"/>'
        f'<Override PartName="/xl/worksheets/sheet1.xml" ContentType="{FORM}.worksheet+xml"/>'
        f'<Override PartName="/xl/sharedStrings.xml" ContentType="{FORM}.sharedStrings+xml"/>'
        "</Types>",
        "_rels/.rels": f'{XML}<Relationships xmlns="{RELATIONS}">'
        f'<Relationship Id="r1" Type="{OFFICE}/officeDocument" Target="xl/workbook.xml"/>'
        "</Relationships>",
        "xl/workbook.xml": f'{XML}<workbook xmlns="{namespace}" xmlns:r="{OFFICE}">'
        '<sheets><sheet name="readings" sheetId="1" r:id="r1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'{XML}<Relationships xmlns="{RELATIONS}">'
        f'<Relationship Id="r1" Type="{OFFICE}/worksheet" Target="worksheets/sheet1.xml"/>'
        "</Relationships>",
        "xl/sharedStrings.xml": f'{XML}<sst xmlns="{namespace}">{strings}</sst>',
        "xl/worksheets/sheet1.xml": f'{XML}<worksheet xmlns="{namespace}">{sheet}</worksheet>',
    }


def zipped(members, method=ZIP_DEFLATED):
    """Bytes of an archive; the same for the same members."""
    stream = io.BytesIO()
    with ZipFile(stream, "w", method) as archive:
        for name, content in members.items() if isinstance(members, dict) else members:
            info = ZipInfo(name)
            info.compress_type = method
            archive.writestr(info, content)
    return stream.getvalue()


def letters(column):
    """Letters of a column's number from 1."""
    text = ""
    while column:
        column, rest = divmod(column - 1, 26)
        text = chr(65 + rest) + text
    return text


def cell(column, row, value, kind=None, formula=None):
    """XML of one cell; value None: without."""
    kind = f' t="{kind}"' if kind else ""
    formula = "" if formula is None else f"<f>{formula}</f>"
    held = "" if value is None else f"<v>{value}</v>"
    return f'<c r="{letters(column)}{row}"{kind}>{formula}{held}</c>'


def sheet(rows, more=""):
    """XML of a sheet's data: rows of numbers and texts (texts inline)."""
    lines = []
    for number, row in enumerate(rows, 1):
        cells = "".join(
            cell(at, number, value)
            if not isinstance(value, str)
            else f'<c r="{letters(at)}{number}" t="inlineStr"><is><t>{value}</t></is></c>'
            for at, value in enumerate(row, 1)
        )
        lines.append(f'<row r="{number}">{cells}</row>')
    return f"<sheetData>{''.join(lines)}</sheetData>{more}"


def raw(rows):
    """A workbook whose rows are given as XML."""
    return zipped(parts(f"<sheetData>{rows}</sheetData>"))
