"""The reader of workbooks: cells as saved, formulas never run, what is shown otherwise said."""

import datetime
import subprocess
import sys

import openpyxl
from hypothesis import given, settings
from hypothesis import strategies as st

from method.readers import words
from method.readers.xlsx import read_sheets
from tests.method.workbooks import cell, parts, raw, saved, sheet, workbook, zipped

ROWS = [["label", 400, 410, 420], ["a", 0.125, 0.5, 1], ["b", 0.1, 1e-05, 12.5]]


GOOD = zipped(parts(sheet(ROWS)))


def texts(data):
    """Rows of the first sheet."""
    return [row.cells for row in read_sheets(data, "a.xlsx")[0].rows]


def noted(data, at=0):
    """Notes of one sheet."""
    return dict(read_sheets(data, "a.xlsx")[at].notes)


def test_the_library_reads_xml_through_the_defused_parser():
    """A guard beside ours: what it reads was checked before. In a process of its own, because
    these tests import the library before the reader does."""
    program = (
        "import sys; from method.readers.xlsx import read_sheets\n"
        "assert 'openpyxl' not in sys.modules\n"
        "read_sheets(sys.stdin.buffer.read(), 'a.xlsx')\n"
        "import openpyxl; print(openpyxl.DEFUSEDXML, openpyxl.LXML)"
    )
    done = subprocess.run([sys.executable, "-c", program], input=GOOD, capture_output=True)
    assert done.stdout.split() == [b"True", b"False"], done.stderr


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


def test_rows_and_cells_of_other_makers_are_no_rows_and_cells():
    foreign = '<x:row xmlns:x="urn:x" r="9"><x:c r="?"><x:v>dark</x:v></x:c></x:row>'
    row = f'<row r="1">{cell(1, 1, 1)}{cell(2, 1, 2)}</row>'
    assert texts(raw(row.replace("</row>", "</row>" + foreign))) == [["1", "2"]]


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


def test_times_and_durations_are_written_plainly():
    book = openpyxl.Workbook()
    book.active.append([datetime.time(7, 30), datetime.timedelta(hours=30)])
    assert texts(saved(book)) == [["07:30:00", "1 day, 6:00:00"]]
    assert noted(saved(book))["cells-dates"] == {"count": "2", "first": "A1"}


def test_whole_floats_lose_their_point_up_to_what_a_float_counts():
    numbers = [1e14, -1e14, 1e15, -1e15, 0.0]
    assert texts(zipped(parts(sheet([numbers])))) == [
        ["100000000000000", "-100000000000000", "1000000000000000.0", "-1000000000000000.0", "0"]
    ]


def test_columns_that_are_hidden_beside_the_cells_are_no_remark():
    columns = '<cols><col min="2" max="2" hidden="1"/><col min="9" max="99" hidden="true"/></cols>'
    assert noted(zipped(parts(columns + sheet(ROWS)))) == {
        "columns-hidden": {"count": "1", "first": "B"}
    }
    shown = '<cols><col min="2" max="2" hidden="0"/></cols>'
    assert noted(zipped(parts(shown + sheet(ROWS)))) == {}


def test_places_are_written_as_a_spreadsheet_does():
    for column, letters in ((1, "A"), (26, "Z"), (27, "AA"), (52, "AZ"), (703, "AAA")):
        data = raw(f'<row r="3">{cell(column, 3, 7, formula="1")}</row>')
        assert noted(data) == {"formulas-saved": {"count": "1", "first": f"{letters}3"}}


def test_a_percent_format_of_the_whole_book_counts_for_numbers_alone():
    book = openpyxl.Workbook()
    book.active.append([0.5, "x", 0.25])
    for one in book.active[1]:
        one.number_format = '0.0"%"'
    book.active["C1"].number_format = "0.00"
    assert noted(saved(book)) == {"cells-percent": {"count": "1", "first": "A1"}}
