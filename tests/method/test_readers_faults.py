"""Bad files: one exception, naming file, line, column, field and mend."""

import pathlib
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from method.readers import ReadError, format_words, read, resolve, table, words
from method.readers import text as text_module
from tests.method.dialects import Dialect, factors, write

WAVELENGTHS = list(range(400, 701, 10))
TABLE = factors(3, WAVELENGTHS)
GOOD = write(Dialect(), ["a", "b", "c"], WAVELENGTHS, TABLE).decode()
LINES = GOOD.splitlines()
CELLS = [line.split(",") for line in LINES]


def with_cell(row, column, text):
    """The good file with one cell replaced (positions from 1)."""
    cells = [list(line) for line in CELLS]
    cells[row - 1][column - 1] = text
    return "\n".join(",".join(line) for line in cells)


def by_column(text):
    """The good table turned round, one cell of the third band's second specimen replaced."""
    turned = [list(line) for line in zip(*CELLS, strict=True)]
    turned[3][2] = text
    return "\n".join(",".join(line) for line in turned)


FAULTS = {
    "empty": ("", "empty", None, None, None),
    "only blanks": (" \n\t\n", "empty", None, None, None),
    "a broken workbook": ("PK\x03\x04 rest", "zip-broken", None, None, None),
    "an older document": ("\xd0\xcf\x11\xe0 rest", "not-text", None, None, None),
    "a formula": (with_cell(3, 2, "=0.1+A1"), "formula", 3, 2, "400 nm"),
    "NUL in a cell": (with_cell(3, 2, "0.1\0"), "control-character", 3, 6, None),
    "no wavelengths": ("label,gloss\nq,50\n", "no-wavelengths", None, None, None),
    "colours without spectra": ("label,L,a,b\nq,50,1,2\n", "no-spectra", 1, None, None),
    "few wavelengths": ("label,400,410,420\nq,1,2,3\n", "no-wavelengths", None, None, None),
    "an open quotation mark": (GOOD + '"q,1,2\n3,4', "quotes", 5, None, None),
    "fractional steps": (with_cell(1, 3, "410.5"), "grid-fractional", 1, 3, None),
    "a wavelength left out": (
        "\n".join(",".join(line[:5] + line[6:]) for line in CELLS),
        "grid-uneven",
        1,
        6,
        None,
    ),
    "a wavelength twice": (with_cell(1, 4, "410"), "grid-uneven", 1, 4, None),
    "wavelengths out of order": (with_cell(1, 4, "300"), "grid-uneven", 1, 4, None),
    "a short row": ("\n".join([*LINES[:2], ",".join(CELLS[2][:20])]), "cells-missing", 3, 21, None),
    "a long row": ("\n".join([*LINES[:2], LINES[2] + ",9"]), "cells-too-many", 3, 33, None),
    "decimal commas between commas": (
        "\n".join([LINES[0], LINES[1].replace(".", ",")]),
        "cells-too-many",
        2,
        33,
        None,
    ),
    "a missing reading": (with_cell(3, 5, ""), "number-missing", 3, 5, "430 nm"),
    "a word for a reading": (with_cell(4, 32, "n/a"), "not-number", 4, 32, "700 nm"),
    "NaN": (with_cell(4, 2, "NaN"), "not-number", 4, 2, "400 nm"),
    "infinity": (with_cell(4, 2, "inf"), "not-number", 4, 2, "400 nm"),
    "overflow": (with_cell(4, 2, "1e999"), "not-number", 4, 2, "400 nm"),
    "an underscore": (with_cell(4, 2, "0.1_2"), "not-number", 4, 2, "400 nm"),
    "Arabic digits": (with_cell(4, 2, "٠.٥"), "not-number", 4, 2, "400 nm"),
    "two points": (with_cell(2, 2, "0.1.2"), "not-number", 2, 2, "400 nm"),
    "two numbers in a cell": (with_cell(2, 2, "0.1 0.2"), "not-number", 2, 2, "400 nm"),
    "both decimal marks": (
        with_cell(4, 3, "0!5").replace(",", ";").replace("!", ","),
        "decimal-mixed",
        4,
        3,
        "410 nm",
    ),
    "a reading without a label": (with_cell(3, 1, ""), "label-missing", 3, 1, None),
    "an endless label": (with_cell(3, 1, "x" * 201), "label-too-long", 3, 1, None),
    "an endless cell": (with_cell(3, 1, "x" * 10_001), "cell-too-long", 3, None, None),
    "wavelengths alone": (LINES[0], "no-readings", 1, None, None),
    "two tables": (GOOD + GOOD, "answer-missing", None, None, "table"),
    "rows after the end": (
        "\n".join([LINES[0], "BEGIN_DATA", LINES[1], "END_DATA", LINES[2]]),
        "several-tables",
        5,
        None,
        None,
    ),
    "counts of a sensor": (with_cell(2, 2, "40321"), "not-reflectance", 2, None, "400 nm"),
    "by column: a word": (by_column("dark"), "not-number", 4, 3, "420 nm"),
    "by column: missing": (by_column(""), "number-missing", 4, 3, "420 nm"),
    "by column: a foot line": (
        by_column("0.5") + "\nmean,1,2,3",
        "line-not-understood",
        33,
        None,
        None,
    ),
    "by column: an unnamed specimen": (
        by_column("0.5").replace("label,a,b,c", "label,a,,c"),
        "label-missing",
        1,
        3,
        None,
    ),
    "by column: nothing beside": (
        "\n".join(["nm,", *(f"{nm},#" for nm in WAVELENGTHS)]).replace(",#", ", "),
        "no-wavelengths",
        None,
        None,
        None,
    ),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_the_fault_is_named_by_place_and_mend(fault):
    text, id, line, column, field = FAULTS[fault]
    data = text.encode("latin-1") if text.startswith("\xd0") else text.encode()
    with pytest.raises(ReadError) as caught:
        resolve(read(data, "bad.csv"), {})
    error = caught.value
    assert (error.id, error.line, error.column, error.field) == (id, line, column, field)
    assert error.file == "bad.csv" and str(error).startswith("bad.csv")
    assert words.MESSAGES[error.id] == error.message and words.MENDS[error.mend]
    assert error.message % error.params and error.mend_message % error.params
    assert "%(" not in str(error)


def test_bytes_that_are_no_text_of_their_own_encoding_are_refused():
    with pytest.raises(ReadError) as caught:
        read(b"\xff\xfe\x00\xd8\x00\x00\x00", "bad.csv")
    assert caught.value.id == "encoding"


@pytest.mark.parametrize(
    ("limit", "value", "id"),
    [
        ("MAX_BYTES", 100, "too-large"),
        ("MAX_ROWS", 2, "too-many-rows"),
        ("MAX_COLUMNS", 20, "too-many-columns"),
    ],
)
def test_tables_beyond_the_limits_are_refused(monkeypatch, limit, value, id):
    monkeypatch.setattr(text_module, limit, value)
    with pytest.raises(ReadError) as caught:
        read(GOOD.encode(), "bad.csv")
    assert caught.value.id == id


@given(st.binary(max_size=300))
@settings(deadline=None)
def test_any_bytes_are_read_or_refused_in_one_way(data):
    try:
        read(data, "any")
    except ReadError as error:
        assert error.id in words.MESSAGES


@given(st.integers(0, len(GOOD) - 1), st.binary(min_size=1, max_size=3))
@settings(deadline=None, max_examples=200)
def test_damage_to_a_good_file_is_refused_or_read_as_other_values(place, damage):
    data = GOOD.encode()
    data = data[:place] + damage + data[place + len(damage) :]
    try:
        reading = read(data, "damaged")
        answers = {one.id: one.choices[0].value for one in reading.questions}
        assert np.isfinite(resolve(reading, answers).values).all()
    except ReadError as error:
        assert error.params.keys() >= set(re.findall(r"%\((\w+)\)s", error.message))


def test_every_message_has_a_mend_and_every_id_in_the_code_has_words():
    assert words.MESSAGES.keys() == words.MENDS.keys()
    folder = pathlib.Path(words.__file__).parent
    code = "".join(path.read_text("utf-8") for path in folder.glob("*.py"))
    raised = set(re.findall(r'ReadError\(\s*"([a-z-]+)"', code))
    assert raised == words.MESSAGES.keys()
    asked = set(re.findall(r'Question\("([a-z_]+)"', code))
    asked |= {"label_column"} if 'Question("label_column"' in code else set()
    assert asked == words.QUESTIONS.keys()


def test_no_id_has_two_wordings():
    """The words of sheets, CxF and lamps are taken in with those of text: none may hide another."""
    for group in ("MESSAGES", "MENDS", "ODDITIES", "FORMATS"):
        source = pathlib.Path(words.__file__).read_text("utf-8")
        own = re.findall(
            r'^    "([a-z-]+)": ', source.split(f"\n{group} = ")[1].split("\n}")[0], re.M
        )
        assert len(own) > 1 and not set(own) & getattr(format_words, group).keys(), group


def test_a_text_with_more_cells_than_are_held_is_refused(monkeypatch):
    monkeypatch.setattr(table, "MAX_CELLS", 50)
    quoted = GOOD.replace("\na,", '\n"a ""1""",')  # must be read cell by cell
    with pytest.raises(ReadError) as caught:
        read(quoted.encode(), "bad.csv")
    assert caught.value.id == "text-too-many-cells"
    assert read(GOOD.encode(), "good.csv").labels == ("a", "b", "c")
