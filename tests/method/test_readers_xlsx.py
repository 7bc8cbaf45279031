"""The reader of workbooks: cells as saved, formulas never run; hostile archives refused."""

import datetime
import struct
import zipfile

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from method.readers import ReadError, words
from method.readers import xlsx_package as package_module
from method.readers import xlsx_scan as scan_module
from method.readers.xlsx import read_sheets
from tests.method.workbooks import cell, parts, saved, sheet, workbook, zipped

ROWS = [["label", 400, 410, 420], ["a", 0.125, 0.5, 1], ["b", 0.1, 1e-05, 12.5]]
GOOD = zipped(parts(sheet(ROWS)))


def texts(data):
    """Rows of the first sheet."""
    return [row.cells for row in read_sheets(data, "a.xlsx")[0].rows]


def noted(data, at=0):
    """Notes of one sheet."""
    return dict(read_sheets(data, "a.xlsx")[at].notes)


def test_the_library_reads_xml_through_the_defused_parser():
    """A guard beside ours: what it reads was checked before."""
    assert openpyxl.DEFUSEDXML is True and openpyxl.LXML is False


def test_numbers_and_texts_are_read_as_saved():
    expected = [
        ["label", "400", "410", "420"],
        ["a", "0.125", "0.5", "1"],
        ["b", "0.1", "1e-05", "12.5"],
    ]
    assert texts(GOOD) == expected and texts(workbook(ROWS)) == expected


def test_a_float_is_written_without_noise_and_with_all_its_digits():
    data = zipped(parts(sheet([[0.1, 0.30000000000000004, 380.0, -0.25, 1e300]])))
    assert texts(data) == [["0.1", "0.30000000000000004", "380", "-0.25", "1e+300"]]


@given(st.lists(st.floats(allow_nan=False, allow_infinity=False), min_size=1, max_size=20))
@settings(deadline=None, max_examples=40)
def test_any_number_comes_back_as_the_same_float(numbers):
    (row,) = texts(zipped(parts(sheet([numbers]))))
    assert [float(text) for text in row] == numbers


def test_rows_and_columns_keep_their_numbers_and_empty_ends_are_cut():
    book = openpyxl.Workbook()
    book.active["C5"], book.active["E5"], book.active["A9"] = 1, "  x ", "y"
    book.active["F9"] = " "
    (one,) = read_sheets(saved(book), "a.xlsx")
    assert [(row.line, row.cells) for row in one.rows] == [
        (5, ["", "", "1", "", "x"]),
        (9, ["y"]),
    ]


def test_cells_without_references_count_on():
    data = (
        "<sheetData><row><c><v>1</v></c><c><v>2</v></c></row><row><c><v>3</v></c></row></sheetData>"
    )
    assert texts(zipped(parts(data))) == [["1", "2"], ["3"]]


def test_shared_strings_and_booleans_are_read():
    strings = "<si><t>one</t></si><si><r><t>t</t></r><r><t>wo</t></r></si>"
    row = cell(1, 1, 1, "s") + cell(2, 1, 0, "s") + cell(3, 1, 1, "b") + cell(4, 1, "z", "str")
    data = zipped(parts(f'<sheetData><row r="1">{row}</row></sheetData>', strings))
    assert texts(data) == [["two", "one", "TRUE", "z"]]


def test_dates_are_written_plainly_and_said():
    book = openpyxl.Workbook()
    moment = datetime.datetime(2026, 3, 1, 7, 30)  # noqa: DTZ001 - cells know no zone
    book.active.append([datetime.date(2026, 3, 1), moment, "x"])
    assert texts(saved(book)) == [["2026-03-01", "2026-03-01 07:30:00", "x"]]
    assert noted(saved(book))["cells-dates"] == {"count": "2", "first": "A1"}


def test_a_formula_gives_its_saved_value_and_is_never_computed():
    row = cell(1, 1, 7, formula="1+1") + cell(2, 1, "t", "str", 'HYPERLINK("http://x","t")')
    data = zipped(parts(f'<sheetData><row r="1">{row}</row></sheetData>'))
    assert texts(data) == [["7", "t"]]  # 1+1 as saved: somebody's 7
    assert noted(data) == {"formulas-saved": {"count": "2", "first": "A1"}}


def test_a_formula_without_a_saved_value_stays_its_text():
    book = openpyxl.Workbook()
    book.active.append(["a", "=SUM(C1:D1)", 1, 2])
    assert texts(saved(book)) == [["a", "=SUM(C1:D1)", "1", "2"]]
    assert noted(saved(book)) == {"formulas-unsaved": {"count": "1", "first": "B1"}}


def test_what_is_shown_otherwise_than_it_is_held_is_said():
    book = openpyxl.Workbook()
    one = book.active
    for row in ROWS:
        one.append(row)
    one["B2"].number_format = one["C2"].number_format = "0.00%"
    one["A2"].number_format = "0%"  # a text
    one.merge_cells("A5:B6")
    one.row_dimensions[2].hidden = one.column_dimensions["C"].hidden = True
    one["D3"] = "#N/A"
    book.create_sheet("notes").sheet_state = "veryHidden"
    data = saved(book)
    assert noted(data) == {
        "cells-percent": {"count": "2", "first": "B2"},
        "cells-merged": {"count": "1", "first": "A5:B6"},
        "rows-hidden": {"count": "1", "first": "2"},
        "columns-hidden": {"count": "1", "first": "C"},
        "cells-errors": {"count": "1", "first": "D3"},
    }
    assert texts(data)[1][1] == "0.125" and texts(data)[2][3] == "#N/A"
    assert noted(data, 1) == {"sheet-hidden": {"sheet": "notes"}}
    assert read_sheets(data, "a.xlsx")[1].rows == []
    assert all(words.ODDITIES[id] % params for id, params in noted(data).items())


def test_dimensions_that_lie_change_nothing():
    for lie in ("A1", "A1:XFD1048576", "C7:D9"):
        inside = f'<dimension ref="{lie}"/>' + sheet(ROWS)
        assert texts(zipped(parts(inside))) == texts(GOOD)


def test_what_the_cells_do_not_need_is_never_unpacked():
    bomb = b"\0" * 80_000_000
    members = parts(sheet(ROWS)) | {"xl/media/image1.png": bomb, "xl/theme/theme1.xml": bomb}
    assert texts(zipped(members)) == texts(GOOD)


def raw(rows):
    """A workbook whose rows are given as XML."""
    return zipped(parts(f"<sheetData>{rows}</sheetData>"))


def overlapping():
    """Two entries of the directory that point at the same bytes."""
    data = bytearray(GOOD)
    first = data.index(b"PK\x01\x02")
    second = data.index(b"PK\x01\x02", first + 4)
    data[second + 42 : second + 46] = data[first + 42 : first + 46]
    return bytes(data)


def lying(offset):
    """A member that is larger in the directory than in truth (or smaller)."""
    data = bytearray(zipped(parts(sheet(ROWS)), zipfile.ZIP_DEFLATED))
    at = data.index(b"PK\x01\x02")
    size = struct.unpack_from("<I", data, at + 24)[0]
    struct.pack_into("<I", data, at + 24, size + offset)
    return bytes(data)


def twice():
    """An archive with two members of one name."""
    members = list(parts(sheet(ROWS)).items())
    with pytest.warns(UserWarning, match="Duplicate"):
        return zipped([*members, members[-1]])


def encrypted():
    """An archive whose members say that they are encrypted."""
    data = bytearray(GOOD)
    at = data.index(b"PK\x01\x02")
    data[at + 8] |= 1
    return bytes(data)


def with_part(part, old, new):
    """The good workbook with a piece of one part replaced."""
    members = parts(sheet(ROWS))
    assert old in members[part]
    return zipped(members | {part: members[part].replace(old, new, 1)})


SHEET = "xl/worksheets/sheet1.xml"
OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
FAULTS = {
    "empty": (b"", "empty", None, None),
    "text": (b"label,400,410\n", "xlsx-not-workbook", None, None),
    "the older form": (OLE + b"\0" * 900, "xlsx-old", None, None),
    "a password": (
        OLE + "EncryptedPackage".encode("utf-16-le") + b"\0" * 900,
        "xlsx-encrypted",
        None,
        None,
    ),
    "encrypted members": (encrypted(), "xlsx-encrypted", None, None),
    "another archive": (zipped({"a.txt": "a"}), "xlsx-not-workbook", None, None),
    "a text document": (
        zipped({"[Content_Types].xml": "<a/>", "word/document.xml": "<a/>"}),
        "xlsx-not-workbook",
        None,
        None,
    ),
    "macros": (zipped(parts(sheet(ROWS)) | {"xl/vbaProject.bin": "x"}), "xlsx-macros", None, None),
    "macros by type": (
        zipped(parts(sheet(ROWS), main="sheet.macroEnabled.main")),
        "xlsx-macros",
        None,
        None,
    ),
    "the binary form": (
        zipped({"[Content_Types].xml": "<a/>", "xl/workbook.bin": "x"}),
        "xlsx-binary",
        None,
        None,
    ),
    "the strict form": (
        zipped(parts(sheet(ROWS), namespace="http://purl.oclc.org/ooxml/spreadsheetml/main")),
        "xlsx-strict",
        None,
        None,
    ),
    "cut": (GOOD[:-30], "zip-broken", None, None),
    "cut in half": (GOOD[: len(GOOD) // 2], "zip-broken", None, None),
    "a flipped byte": (
        GOOD[:60] + bytes([GOOD[60] ^ 255]) + GOOD[61:],
        "zip-broken",
        None,
        None,
    ),
    "members over each other": (overlapping(), "zip-overlap", None, None),
    "a member twice": (twice(), "zip-twice", None, None),
    "sizes that are too large": (lying(7), "zip-sizes", None, None),
    "sizes that are too small": (lying(-7), "zip-broken", None, None),
    "an entity": (
        with_part(SHEET, "<worksheet", '<!DOCTYPE w [<!ENTITY e "1">]><worksheet'),
        "xml-document-type",
        1,
        None,
    ),
    "an entity beside": (
        with_part("xl/sharedStrings.xml", "<sst", '<!DOCTYPE w [<!ENTITY e "1">]><sst'),
        "xml-document-type",
        1,
        None,
    ),
    "broken XML": (with_part(SHEET, "</row>", ""), "xml-broken", 1, None),
    "cut XML": (with_part(SHEET, "</worksheet>", ""), "xml-cut", 1, None),
    "no such sheet": (
        with_part("xl/_rels/workbook.xml.rels", "sheet1.xml", "../../../etc/passwd"),
        "xlsx-broken",
        None,
        None,
    ),
    "a string that is not there": (
        raw(f'<row r="1">{cell(1, 1, 5, "s")}</row>'),
        "xlsx-broken",
        None,
        None,
    ),
    "a word for a number": (raw(f'<row r="3">{cell(2, 3, "dark")}</row>'), "not-number", 3, 2),
    "not a number": (raw(f'<row r="3">{cell(2, 3, "NaN")}</row>'), "not-number", 3, 2),
    "infinity": (raw(f'<row r="3">{cell(2, 3, "1e999")}</row>'), "not-number", 3, 2),
    "an underscore": (raw(f'<row r="3">{cell(2, 3, "1_0")}</row>'), "not-number", 3, 2),
    "5,000 digits": (raw(f'<row r="3">{cell(2, 3, "9" * 5000)}</row>'), "not-number", 3, 2),
    "rows out of order": (
        raw(f'<row r="2">{cell(1, 2, 1)}</row><row r="1">{cell(1, 1, 1)}</row>'),
        "xlsx-order",
        1,
        None,
    ),
    "a row twice": (raw('<row r="2"/><row r="2"/>'), "xlsx-order", 2, None),
    "a cell twice": (
        raw(f'<row r="2">{cell(1, 2, 1)}{cell(1, 2, 3)}</row>'),
        "xlsx-order",
        2,
        1,
    ),
    "a cell in another row": (raw(f'<row r="2">{cell(1, 9, 1)}</row>'), "xlsx-position", 2, 1),
    "a row beyond the last": (raw('<row r="1048577"/>'), "xlsx-position", 1048577, 1),
    "a row without end": (raw('<row r="99999999999999"/>'), "xlsx-position", None, None),
    "a row zero": (raw('<row r="0"/>'), "xlsx-position", None, None),
    "a column beyond the last": (
        raw(f'<row r="1">{cell(16385, 1, 1)}</row>'),
        "xlsx-position",
        1,
        None,
    ),
    "a cell in the last corner": (
        raw(f'<row r="1048576">{cell(16384, 1048576, 1)}</row>'),
        "too-many-columns",
        1048576,
        16384,
    ),
    "an endless text": (
        raw(f'<row r="1">{cell(1, 1, "x" * 10_001, "str")}</row>'),
        "cell-too-long",
        1,
        1,
    ),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_the_fault_is_named_by_place(fault):
    data, id, line, column = FAULTS[fault]
    with pytest.raises(ReadError) as caught:
        read_sheets(data, "bad.xlsx")
    error = caught.value
    assert error.id == id
    assert line is None or error.line == line
    assert column is None or error.column == column
    assert str(error).startswith("bad.xlsx") and "%(" not in str(error)


@pytest.mark.parametrize(
    ("module", "limit", "value", "id"),
    [
        (package_module, "MAX_MEMBERS", 5, "zip-members"),
        (package_module, "MAX_UNPACKED", 500, "zip-bomb"),
        (scan_module, "MAX_CELLS", 11, "too-many-cells"),
        ("text", "MAX_ROWS", 2, "too-many-rows"),
        ("text", "MAX_COLUMNS", 3, "too-many-columns"),
        ("text", "MAX_BYTES", 500, "too-large"),
        ("xlsx", "MAX_SHEETS", 0, "xlsx-sheets"),
    ],
)
def test_workbooks_beyond_the_limits_are_refused(monkeypatch, module, limit, value, id):
    if isinstance(module, str):
        monkeypatch.setattr(f"method.readers.{module}.{limit}", value)
    else:
        monkeypatch.setattr(module, limit, value)
        monkeypatch.setattr("method.readers.xlsx.MAX_CELLS", 11)
    with pytest.raises(ReadError) as caught:
        read_sheets(GOOD, "bad.xlsx")
    assert caught.value.id == id


def test_a_bomb_is_refused_before_it_is_unpacked_whole(monkeypatch):
    members = parts(sheet(ROWS)) | {"xl/worksheets/sheet2.xml": b" " * 60_000_000}
    taken = []
    real = zipfile.ZipExtFile.read

    def counted(stream, size=-1):
        piece = real(stream, size)
        taken.append(len(piece))
        return piece

    data = zipped(members)
    monkeypatch.setattr(zipfile.ZipExtFile, "read", counted)
    with pytest.raises(ReadError) as caught:
        read_sheets(data, "bad.xlsx")
    assert caught.value.id == "zip-bomb" and sum(taken) < 20_000_000


@given(st.integers(0, 10**6), st.binary(max_size=3), st.booleans())
@settings(deadline=None, max_examples=300)
def test_damage_to_a_workbook_or_its_parts_is_refused_or_read(place, damage, inside):
    data = GOOD
    if inside:
        members = parts(sheet(ROWS))
        names = sorted(members)
        name = names[place % len(names)]
        content = members[name].encode()
        at = place // 7 % len(content)
        data = zipped(members | {name: content[:at] + damage + content[at + 1 :]})
    else:
        place %= len(data)
        data = data[:place] + damage + data[place + 1 :]
    try:
        for one in read_sheets(data, "damaged"):
            assert all(isinstance(text, str) for row in one.rows for text in row.cells)
    except ReadError as error:
        assert error.id in words.MESSAGES
