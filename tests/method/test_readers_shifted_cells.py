"""A cell too few or too many never moves a reading to another wavelength."""

import io

import numpy as np
import openpyxl
import pytest

from method.readers import ReadError, read, resolve
from tests.method.shifted_cells import BANDS, NM, WHOLE, framed_text, text


def refused(data):
    with pytest.raises(ReadError) as caught:
        read(data, "a.txt")
    return caught.value


@pytest.mark.parametrize("make", [text, framed_text])
@pytest.mark.parametrize("separator", ["\t", " ", ","])
@pytest.mark.parametrize("lost", [1, 12, 30])
@pytest.mark.parametrize("behind", [("81.5",), ("50.0", "1.0", "2.0")])
def test_a_row_with_a_band_too_few_is_refused_where_columns_follow(make, separator, lost, behind):
    rows = [[*row, *behind] for row in WHOLE]
    del rows[1][lost]
    names = ["gloss"] if len(behind) == 1 else ["L*", "a*", "b*"]
    error = refused(make(rows, names, separator))
    assert error.id == "cells-missing"
    assert error.line == (3 if make is text else 7)


def test_a_gap_after_the_id_in_the_header_alone_is_refused():
    rows = [[*row, "50", "1", "2"] for row in WHOLE]
    data = text(rows, ["L*", "a*", "b*"], first=("SAMPLE_ID", ""))
    assert refused(data).id == "cells-missing"


@pytest.mark.parametrize("separator", ["\t", ",", ";"])
def test_empty_cells_at_the_end_may_be_there_or_trimmed_behind_text(separator):
    padded = [[*WHOLE[0], "81.5", "70.1"], [*WHOLE[1], "80.5", ""], [*WHOLE[2], "", ""]]
    spectra = resolve(read(text(padded, ["gloss 60", "gloss 85"], separator), "a"), {})
    assert np.array_equal(spectra.values, [np.array(BANDS, float)] * 3)
    trimmed = [[*WHOLE[0], "scratched"], WHOLE[1], WHOLE[2]]
    spectra = resolve(read(text(trimmed, ["Remark"], separator), "a"), {})
    assert np.array_equal(spectra.values, [np.array(BANDS, float)] * 3)


def test_a_trimmed_row_is_refused_where_a_number_may_have_moved_up():
    rows = [[*WHOLE[0], "81.5", "ok"], [*WHOLE[1], "80.5"], WHOLE[2]]
    error = refused(text(rows, ["gloss", "Remark"]))
    assert (error.id, error.line) == ("cells-missing", 3)


@pytest.mark.parametrize("make", [text, framed_text])
def test_an_empty_band_is_named_although_the_row_is_long_enough(make):
    rows = [list(row) for row in WHOLE]
    rows[1][5] = ""
    rows[1].append("0.5")
    error = refused(make(rows))
    assert (error.id, error.column, error.field) == ("number-missing", 6, "440 nm")


def test_an_empty_first_band_with_a_cell_too_many_is_no_gap_after_the_label():
    rows = [list(row) for row in WHOLE]
    rows[1][1] = ""
    rows[1].append("0.5")
    error = refused(text(rows))
    assert (error.id, error.line, error.column) == ("number-missing", 3, 2)


def test_an_empty_label_never_takes_a_reading():
    rows = [list(row) for row in WHOLE]
    rows[1][0] = ""
    rows[1].append("0.5")
    error = refused(text(rows))
    assert (error.id, error.line, error.column) == ("label-missing", 3, 1)


def test_gaps_after_every_label_are_closed_and_said():
    rows = [[row[0], "", *row[1:]] for row in WHOLE]
    reading = read(text(rows), "a")
    assert [one.id for one in reading.oddities] == ["empty-cells"]
    assert np.array_equal(reading.values, [np.array(BANDS, float)] * 3)


def workbook(rows):
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


def test_nothing_is_closed_up_in_a_workbook():
    rows = [[label, None, *map(float, bands)] for label, *bands in WHOLE]
    error = refused(workbook([["SAMPLE_ID", *NM], *rows]))
    assert (error.id, error.column) == ("number-missing", 2)


def test_a_short_row_of_a_workbook_lacks_its_last_cells():
    rows = [[label, *map(float, bands), 80.5] for label, *bands in WHOLE]
    rows[1].pop()
    reading = read(workbook([["SAMPLE_ID", *NM, "gloss"], *rows]), "a.xlsx")
    assert np.array_equal(reading.values, [np.array(BANDS, float)] * 3)
