"""Workbooks that are broken, hostile or beyond the limits: one exception, nothing unpacked."""

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
from tests.method.workbooks import cell, parts, raw, saved, sheet, zipped

ROWS = [["label", 400, 410, 420], ["a", 0.125, 0.5, 1], ["b", 0.1, 1e-05, 12.5]]


GOOD = zipped(parts(sheet(ROWS)))


def texts(data):
    """Rows of the first sheet."""
    return [row.cells for row in read_sheets(data, "a.xlsx")[0].rows]


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
    "a compression that no spreadsheet uses": (
        zipped(parts(sheet(ROWS)), zipfile.ZIP_LZMA),
        "zip-broken",
        None,
        None,
    ),
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


def test_the_limits_themselves_are_kept(monkeypatch):
    cells = sum(len(row) for row in ROWS)
    for target, limit in (
        ("method.readers.xlsx.MAX_CELLS", cells),
        ("method.readers.text.MAX_COLUMNS", 4),
        ("method.readers.text.MAX_ROWS", 3),
        ("method.readers.text.MAX_BYTES", len(GOOD)),
        ("method.readers.xlsx.MAX_SHEETS", 1),
        ("method.readers.xlsx_package.MAX_MEMBERS", 6),
        (
            "method.readers.xlsx_package.MAX_UNPACKED",
            sum(map(len, parts(sheet(ROWS)).values())),
        ),
    ):
        with monkeypatch.context() as patch:
            patch.setattr(target, limit)
            assert len(texts(GOOD)) == 3, target
            patch.setattr(target, limit - 1)
            with pytest.raises(ReadError):
                read_sheets(GOOD, "a.xlsx")


def test_cells_and_bytes_of_all_sheets_count_together(monkeypatch):
    book = openpyxl.Workbook()
    for title in "abc":
        one = book.create_sheet(title)
        for row in ROWS:
            one.append(row)
    data, cells = saved(book), 3 * sum(len(row) for row in ROWS)
    monkeypatch.setattr("method.readers.xlsx.MAX_CELLS", cells)
    assert len(read_sheets(data, "a.xlsx")) == 4
    monkeypatch.setattr("method.readers.xlsx.MAX_CELLS", cells - 1)
    with pytest.raises(ReadError) as caught:
        read_sheets(data, "a.xlsx")
    assert caught.value.id == "too-many-cells"


def test_small_members_may_shrink_as_they_will_and_large_ones_to_a_point():
    small = zipped(parts(sheet(ROWS) + " " * 1_000_000))
    assert texts(small) == texts(GOOD)
    large = zipped(parts(sheet(ROWS) + " " * 1_100_000))
    with pytest.raises(ReadError) as caught:
        read_sheets(large, "a.xlsx")
    assert caught.value.id == "zip-bomb"
    assert caught.value.params == {"member": SHEET}
    noisy = "".join(f"<!--{n * n % 9973}-->" for n in range(110_000))  # 1.3 MB that shrink little
    assert texts(zipped(parts(sheet(ROWS) + noisy))) == texts(GOOD)


def test_members_in_any_order_are_no_overlap_and_the_one_named_twice_is_named():
    members = list(parts(sheet(ROWS)).items())
    assert texts(zipped(members[::-1])) == texts(GOOD)
    data = bytearray(GOOD)
    entries, at = [], data.find(b"PK\x01\x02")
    while at >= 0:
        entries.append(at)
        at = data.find(b"PK\x01\x02", at + 4)
    first, second = (struct.unpack_from("<HHH", data, one + 28)[0] for one in entries[:2])
    assert first > 0 and second > 0
    ends = data.index(b"PK\x05\x06")
    listed = [bytes(data[one:end]) for one, end in zip(entries, [*entries[1:], ends], strict=True)]
    turned = bytes(data[: entries[0]]) + b"".join(listed[::-1]) + bytes(data[ends:])
    assert texts(turned) == texts(GOOD)  # the directory in another order than the members
    with pytest.raises(ReadError) as caught:
        read_sheets(twice(), "a.xlsx")
    assert caught.value.params == {"member": members[-1][0]}


def test_one_member_just_over_the_next_is_an_overlap():
    """The size in the directory reaches one byte into the next member."""
    data = bytearray(zipped(parts(sheet(ROWS)), zipfile.ZIP_STORED))
    at = data.index(b"PK\x01\x02")
    for offset in (20, 24):
        size = struct.unpack_from("<I", data, at + offset)[0]
        struct.pack_into("<I", data, at + offset, size + 1)
    with pytest.raises(ReadError) as caught:
        read_sheets(bytes(data), "a.xlsx")
    assert caught.value.id == "zip-overlap"


@pytest.mark.parametrize("reference", ["a1", "A01", "A", "1", "AAAA1", "Ä1", "A1:B1", "", "$A$1"])
def test_references_that_no_spreadsheet_writes_are_refused(reference):
    with pytest.raises(ReadError) as caught:
        read_sheets(raw(f'<row r="1"><c r="{reference}"><v>1</v></c></row>'), "a.xlsx")
    assert (caught.value.id, caught.value.line, caught.value.column) == ("xlsx-position", 1, 1)
    assert caught.value.field == "sheet1.xml"


def test_a_cell_outside_all_rows_is_refused_with_a_place():
    with pytest.raises(ReadError) as caught:
        read_sheets(raw('<c r="B7"><v>1</v></c>'), "a.xlsx")
    assert (caught.value.id, caught.value.line, caught.value.column) == ("xlsx-position", 1, 2)


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


@pytest.mark.parametrize("index", ["-1", "9999", "1.5", "+1", "٣"])
def test_a_text_that_points_outside_the_list_of_texts_is_no_other_specimens_name(index):
    strings = "".join(f"<si><t>{one}</t></si>" for one in "pqr")
    rows = '<sheetData><row r="1"><c r="A1" t="s"><v>{}</v></c></row></sheetData>'
    assert texts(zipped(parts(rows.format(1), strings))) == [["q"]]
    with pytest.raises(ReadError) as caught:
        read_sheets(zipped(parts(rows.format(index), strings)), "a.xlsx")
    assert caught.value.id == "xlsx-broken"


def test_a_style_that_points_outside_the_list_of_styles_is_refused():
    with pytest.raises(ReadError) as caught:
        read_sheets(raw('<row r="1"><c r="A1" s="-1"><v>1</v></c></row>'), "a.xlsx")
    assert caught.value.id == "xlsx-broken"
