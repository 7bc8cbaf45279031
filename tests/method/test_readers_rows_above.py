"""What stands above, between and below tables: labels by column, other tables, remarks."""

import numpy as np
import pytest

from method.readers import read, resolve

NM = list(range(400, 701, 10))
VALUES = (0.05 + np.arange(31) / 50).round(3)


def by_column(above, samples=1, below=""):
    rows = [
        "\t".join([str(nm), *(f"{v / (i + 1):.5f}" for i in range(samples))])
        for nm, v in zip(NM, VALUES, strict=True)
    ]
    return "\n".join([*above, *rows]).encode() + b"\n" + below.encode()


def by_row(above="", below=""):
    lines = ["\t".join(["SAMPLE_ID", *map(str, NM)])]
    lines += ["\t".join([label, *map(str, VALUES)]) for label in ("A", "B")]
    return (above + "\n".join(lines) + "\n" + below).encode()


def ids(reading):
    return [one.id for one in reading.oddities]


@pytest.mark.parametrize(
    ("above", "label", "line"),
    [
        (["Sample\tRed", "Date\t2024-01-01"], "Red", 1),
        (["Instrument\tX100", "Sample\tRed", "Temperature\t23.5"], "Red", 2),
        (["Instrument\tX100", "Sample name\tRed"], "Red", 2),
        (["Name\tRed", "", "nm\tR"], "R", 3),
        (["Title", "nm\tRed"], "Red", 2),
        (["Wavelength (nm)\tRed"], "Red", 1),
        (["\tRed"], "Red", 1),
    ],
)
def test_the_line_that_names_specimens_gives_the_label(above, label, line):
    reading = read(by_column(above), "a")
    assert (reading.labels, reading.header_line) == ((label,), line)
    assert "labels-numbered" not in ids(reading)


@pytest.mark.parametrize(
    "above", [["CCT\t5000"], ["Date\t2024-01-01"], ["Operator\tme", "Date\t2024-01-01"]]
)
def test_a_key_and_its_value_are_no_label(above):
    reading = read(by_column(above), "a")
    assert reading.labels == ("1",)
    assert "labels-numbered" in ids(reading)


def test_a_line_of_values_among_those_of_names_is_no_header():
    above = ["Sample\tRed\tBlue\tRed 2", "Date\t2024\t2025\t2026", "Thickness\t1\t2\t3"]
    assert read(by_column(above, 3), "a").labels == ("Red", "Blue", "Red 2")
    assert read(by_column(above[1:], 3), "a").labels == ("1", "2", "3")
    assert read(by_column(["Farbe\tRed\tBlue\tRed 2"], 3), "a").labels == ("Red", "Blue", "Red 2")


LAB = "Name\tL*\ta*\tb*\nA\t50.1\t1.2\t3.4\nB\t51.1\t1.3\t3.5\n"
SEVEN = "\t".join(["ID", *map(str, range(400, 701, 50))]) + "\n"
SEVEN += "\t".join(["X", *["0.5"] * 7]) + "\n" + "\t".join(["Y", *["0.4"] * 7]) + "\n"


@pytest.mark.parametrize("other", [LAB, SEVEN])
@pytest.mark.parametrize("gap", ["", "\n", "\nOther table\n"])
def test_another_table_above_is_said(other, gap):
    reading = read(by_row(above=other + gap), "a")
    said = {one.id: dict(one.params) for one in reading.oddities}
    assert said["table-aside"] == {"count": "2", "line": "2"}
    assert np.array_equal(resolve(reading, {}).values, [VALUES, VALUES])


@pytest.mark.parametrize("gap", ["", "\n", "CIELAB D50/2\n", "\nColours\n\n"])
def test_a_table_of_colours_below_is_said_and_left_aside(gap):
    reading = read(by_row(below=gap + LAB), "a")
    said = {one.id: dict(one.params) for one in reading.oddities}
    line = 5 + gap.count("\n")
    assert said["table-aside"] == {"count": "2", "line": str(line)}
    assert np.array_equal(resolve(reading, {}).values, [VALUES, VALUES])
    down = read(by_column(["nm\tA\tB\tC"], 3, gap + LAB), "a")
    assert "table-aside" in ids(down) and down.labels == ("A", "B", "C")


def test_lines_above_that_are_no_table_are_no_table():
    assert "table-aside" not in ids(read(by_row(above="Range\t400\t700\t10\nName\tX\n"), "a"))


@pytest.mark.parametrize("sign", ["#", "# "])
def test_a_header_by_column_behind_a_remark_sign_gives_the_labels(sign):
    reading = read(by_column([f"{sign}nm\tS1\tS2"], 2), "a")
    assert reading.labels == ("S1", "S2")
    said = {one.id: dict(one.params) for one in reading.oddities}
    assert said == {"header-in-remark": {"line": "1"}}


@pytest.mark.parametrize("sign", ["#", "# "])
@pytest.mark.parametrize("separator", ["\t", ","])
def test_a_header_by_row_behind_a_remark_sign_is_found(sign, separator):
    data = b"# made by hand\n" + by_row().replace(b"SAMPLE_ID", f"{sign}label".encode())
    reading = read(data.replace(b"\t", separator.encode()), "a")
    assert resolve(reading, {}).labels == ("A", "B")
    said = {one.id: dict(one.params) for one in reading.oddities}
    assert said["header-in-remark"] == {"line": "2"}


def test_a_remark_above_a_header_of_its_own_stays_a_remark():
    reading = read(by_column(["# nm\tX\tY", "nm\tS1\tS2"], 2), "a")
    assert reading.labels == ("S1", "S2") and ids(reading) == []


@pytest.mark.parametrize("separator", ["\t", ",", ";"])
def test_marks_inside_a_cell_are_said_to_be_lost(separator):
    data = by_row().replace(b"\nA\t", b'\n"A" grade\t').replace(b"\nB\t", b'\n"B, ""b"""\t')
    data = data.replace(b"\t", separator.encode())
    reading = read(data, "a")
    assert reading.labels == ("A grade", 'B, "b"')
    said = {one.id: dict(one.params) for one in reading.oddities}
    assert said == {"quotes-inside": {"count": "1", "line": "2"}}


@pytest.mark.parametrize("end", [1, 2, 3])
def test_a_file_cut_inside_its_last_number_is_said(end):
    four = [f"{v:.4f}" for v in VALUES + 0.0007]
    row = "\t".join(["SAMPLE_ID", *map(str, NM)]) + "\n"
    row += "\n".join("\t".join([label, *four]) for label in ("A 1.5", "B 2"))
    column = "nm\tA\n" + "\n".join(f"{nm}\t{v}" for nm, v in zip(NM, four, strict=True))
    for text in (row, column):
        reading = read(text[:-end].encode(), "a")
        said = {one.id: dict(one.params) for one in reading.oddities}
        assert said == {"number-cut": {"text": four[-1][:-end]}}
        assert ids(read(text.encode(), "a")) == []
        assert ids(read(text[:-end].encode() + b"\n", "a")) == []


def test_numbers_written_as_short_as_may_be_are_no_cut():
    short = by_row()[:-1]
    assert ids(read(short, "a")) == []
    whole = [str(i + 5) for i in range(31)]
    text = "\t".join(["ID", *map(str, NM)]) + "\n" + "\t".join(["A", *whole])
    assert "number-cut" not in ids(read(text.encode(), "a"))
