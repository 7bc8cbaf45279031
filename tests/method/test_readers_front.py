"""The front door: every form of file through one call, told by its content."""

import importlib.resources
import warnings
from pathlib import Path

import numpy as np
import openpyxl
import pytest

from benchmarks.samples import described
from colorimetry import Grid, lab, weights, white, xyz
from method.readers import Hints, ReadError, read, replay, resolve
from method.readers.formats import root_of
from method.readers.whole import true_step, whole_bands
from tests.method.dialects import Dialect, write
from tests.method.odd_files import LABELS, WAVELENGTHS, smooth
from tests.method.workbooks import saved, workbook

TABLE = smooth()
ROWS = [
    ["label", *WAVELENGTHS],
    *([label, *map(float, row)] for label, row in zip(LABELS, TABLE, strict=True)),
]


def two_sheets():
    """A workbook with a cover, and readings on two sheets."""
    book = openpyxl.Workbook()
    book.active.title = "cover"
    book.active.append(["Measured by nobody", "D65/10°"])
    for title, factor in (("left", 1.0), ("right", 0.5)):
        sheet = book.create_sheet(title)
        sheet.append(["Observer", "10"])
        for row in ROWS:
            sheet.append([cell * factor if isinstance(cell, float) else cell for cell in row])
    return saved(book)


def test_a_workbook_is_read_like_text_with_its_rows_as_places():
    data = workbook(ROWS)
    reading = read(data, "a.xlsx")
    assert (reading.format, reading.delimiter, reading.lines) == ("xlsx", "", (2, 3, 4))
    spectra = resolve(reading, {})
    assert np.array_equal(spectra.values, TABLE) and spectra.labels == tuple(LABELS)
    assert replay(data, reading.mapping({})) == spectra
    assert spectra.values.tobytes() == resolve(
        read(write(Dialect(), LABELS, WAVELENGTHS, TABLE), "a.csv"), {}
    ).values.tobytes()  # fmt: skip


def test_of_several_sheets_one_is_asked_for_by_its_name():
    data = two_sheets()
    reading = read(data, "a.xlsx")
    (question,) = reading.questions
    assert question.id == "table"
    assert [choice.message.split()[1] for choice in question.choices] == ["left", "right"]
    half = resolve(reading, {"table": "2"})
    assert np.abs(half.values - TABLE / 2).max() < 1e-15
    hinted = read(data, Hints("a.xlsx", sheet="right"))
    assert hinted.questions == () and resolve(hinted, {}) == half
    assert replay(data, hinted.mapping({})) == half
    assert hinted.known("observer") == "10"


def test_a_workbook_without_a_table_is_refused():
    with pytest.raises(ReadError) as caught:
        read(workbook([["nothing", "here"], [1, 2]]), "a.xlsx")
    assert caught.value.id == "no-wavelengths"


@pytest.mark.parametrize(
    ("name", "id"),
    [("a.csv", "named-text"), ("a.cxf", "named-xml"), ("a.xlsx", None), ("a", None)],
)
def test_a_workbook_under_a_name_that_misleads_is_read_and_said(name, id):
    data = workbook(ROWS)
    reading = read(data, name)
    assert [one.id for one in reading.oddities] == ([id] if id else [])
    assert reading.mapping({}) == read(data, "b.xlsx").mapping({})


@pytest.mark.parametrize(
    ("media_type", "odd"),
    [
        ("text/plain; charset=utf-8", False),
        ("text/csv", False),
        ("application/vnd.ms-excel", False),  # browsers send text as this
        ("application/octet-stream", False),
        ("text/xml", True),
        ("application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", True),
    ],
)
def test_a_media_type_of_another_form_is_said_and_changes_nothing(media_type, odd):
    data = write(Dialect(), LABELS, WAVELENGTHS, TABLE)
    reading = read(data, Hints("a.csv", media_type=media_type))
    assert [one.id for one in reading.oddities] == (["sent-as-other"] if odd else [])
    assert reading.mapping({}) == read(data, "a.csv").mapping({})


def installed(package, *parts):
    """A folder inside an installed package."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return Path(str(importlib.resources.files(package))).joinpath(*parts)


def test_spectra_of_lamps_are_read_and_never_become_reflectances():
    folders = (
        installed("colour", "io", "tests", "resources"),
        installed("colour", "examples", "io", "resources"),
    )
    files = [path for folder in folders for path in folder.glob("*.spdx")]
    read_ones = 0
    for path in files:
        try:
            reading = read(path.read_bytes(), path.name)
        except ReadError as error:
            assert error.id == "xml-root"  # the right ending, another root
            continue
        read_ones += 1
        assert (reading.format, reading.quantity) == ("tm27", "emission")
        assert reading.questions == () and len(reading.wavelengths) > 20
        with pytest.raises(ReadError) as caught:
            resolve(reading, {})
        assert caught.value.id == "light"
    assert (read_ones, len(files)) == (2, 3)


def test_the_text_of_a_lamp_meter_is_read_as_light_where_it_is_no_table_of_spectra():
    folder = installed("colour", "io", "tests", "resources")
    (path,) = [one for one in folder.glob("*.csv") if b"Illuminance" in one.read_bytes()]
    reading = read(path.read_bytes(), path.name)
    assert (reading.format, reading.quantity) == ("lamp-text", "emission")
    with pytest.raises(ReadError) as caught:
        resolve(reading, {})
    assert caught.value.id == "light"


def test_a_workbook_s_name_on_the_text_of_a_lamp_meter_is_said():
    folder = installed("colour", "io", "tests", "resources")
    (path,) = folder.glob("*.xls")
    reading = read(path.read_bytes(), path.name)
    assert "named-workbook" in {one.id for one in reading.oddities}
    assert [one.id for one in reading.questions] == ["surface"]


def test_a_real_framed_file_says_its_light_inside_a_quoted_string():
    folder = installed("colour", "io", "tests", "resources")
    (path,) = (one for one in folder.glob("*.txt") if b"BEGIN_DATA_FORMAT" in one.read_bytes())
    reading = read(path.read_bytes(), path.name)
    assert (reading.format, reading.known("illuminant"), reading.known("observer")) == (
        "framed-text",
        "D65",
        "10",
    )
    assert reading.condition[0].line == 4 and "geometry" in reading.unknown
    (question,) = reading.questions
    assert [choice.text for choice in question.choices] == ["SampleID", "SAMPLE_NAME", ""]


def test_charts_by_column_and_by_row_give_the_colours_measured_elsewhere():
    """Column 5 of the 5 nm chart: 56.253 9.226 -24.459 (D50/2°, weights of ASTM E308)."""
    folder = installed("colour", "io", "tests", "resources")
    for path in (*folder.glob("*_n_ohta.csv"), *folder.glob("*_n_ohta_transposed.csv")):
        spectra = resolve(read(path.read_bytes(), path.name), {})
        grid = Grid.of(spectra.wavelengths)
        values = lab(xyz(spectra.values, weights("D50", 2, grid)), white("D50", 2, grid))
        assert values[4].round(3).tolist() == [56.253, 9.226, -24.459]
    (path,) = installed("colour", "examples", "io", "resources").glob("*average.csv")
    spectra = resolve(read(path.read_bytes(), path.name), {})
    grid = Grid.of(spectra.wavelengths)
    values = lab(xyz(spectra.values, weights("D50", 2, grid)), white("D50", 2, grid))
    assert values[4].round(3).tolist() == [55.313, 8.836, -24.574]  # 380-730 nm, 10 nm


def test_the_report_on_a_folder_says_of_each_file_what_became_of_it():
    lines = list(described(two_sheets(), "a.xlsx"))
    text = "\n".join(lines)
    assert "xlsx, 2 table(s)" in lines[0] and "asks: The file holds 2 tables" in text
    assert "D65/10°" in text and "(3, 36)" in text
    (refused,) = described(b"label,400\n", "b.csv")
    assert refused.startswith("refused in") and "at least 8 rising wavelengths" in refused
    (*_, last) = described(workbook([["label", "L*", "a*", "b*"], ["x", 50, 1, 2]]), "c.xlsx")
    assert "no packed set" in last and "holds no spectra" in last


@pytest.mark.parametrize(
    ("head", "root"),
    [
        (b"<CxF>", "CxF"),
        (b'<?xml version="1.0"?>\n<cc:CxF xmlns:cc="u">', "CxF"),
        (b"<!-- a <b> in a remark -->\n<!DOCTYPE CxF [<!ENTITY x 'y'>]>\n<IESTM2714>", "IESTM2714"),
        ('<?xml version="1.0" encoding="UTF-16"?><CxF>'.encode("utf-16"), "CxF"),
        (b"<?xml", ""),
    ],
)
def test_the_root_of_xml_is_seen_whatever_stands_before_it(head, root):
    assert root_of(head) == root


@pytest.mark.parametrize(
    ("names", "step", "bands"),
    [
        ([380, 383, 387, 390, 393, 397, 400], 10 / 3, []),  # three whole tens are no axis
        ([350 + round(i * 10 / 3) for i in range(40)], 10 / 3, list(range(0, 40, 3))),
        ([400.0 + 2.5 * i for i in range(31)], 2.5, list(range(0, 31, 2))),
        ([700 - 2.5 * i for i in range(31)], 2.5, list(range(0, 31, 2))),
        ([400 + 10 * i for i in range(12)], None, None),  # whole already
        ([400, 410, 430, 440, 450, 460, 470, 480], None, None),  # one is missing
        ([400, 400, 410, 420, 430, 440, 450, 460], None, None),  # one stands twice
    ],
)
def test_steps_behind_rounded_names_are_told_from_gaps(names, step, bands):
    found = true_step(names)
    assert (found is None) == (step is None) and found == pytest.approx(step)
    if step is not None:
        assert whole_bands(names) == bands
