"""Files with one oddity each: read with the oddity said, asked about, or refused by its place."""

import tracemalloc

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.canonical import parse
from method.readers import Hints, ReadError, read, replay, resolve, words
from tests.method import odd_files
from tests.method.dialects import SPELLINGS, Dialect, write
from tests.method.odd_files import LABELS, WAVELENGTHS, framed, named, rows_of, smooth

FILES = odd_files.odd_files()
TABLE = smooth()


def taken(name, answers=(), hints=None):
    """Reading and packed set of one of the files."""
    reading = read(FILES[name], hints or f"{name}.txt")
    return reading, resolve(reading, dict(answers))


def said(reading):
    """Oddities by id."""
    return {one.id: dict(one.params) for one in reading.oddities}


@pytest.mark.parametrize("name", FILES)
def test_each_file_is_read_or_refused_in_words_within_bounds(name):
    tracemalloc.start()
    try:
        reading = read(FILES[name], name)
        for one in (*reading.oddities, *reading.questions):
            assert "%(" not in one.message % one.params
        answers = {one.id: one.choices[0].value for one in reading.questions}
        spectra = resolve(reading, answers)
        assert replay(FILES[name], reading.mapping(answers)) == spectra
    except ReadError as error:
        assert error.id in words.MESSAGES and "%(" not in str(error)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 20 * len(FILES[name]) + 20_000_000


SAME_TABLE = (
    *odd_files.conditions(),
    *(name for name in odd_files.layouts() if "from" not in name and "stops" not in name),
    "counts that lie",
    "no counts",
    "cut off",
    "keywords unlike the names",
    "stated colours that agree",
    "stated colours, light unsaid",
    "averaged chroma and hue",
    "rows behind remark signs",
    "UTF-16 with a mark",
    "UTF-16 without a mark",
)


@pytest.mark.parametrize("name", SAME_TABLE)
def test_however_it_is_laid_out_the_numbers_are_the_same(name):
    reading, spectra = taken(name)
    assert reading.questions == () and reading.grid == (380, 730, 10)
    assert np.abs(spectra.values - TABLE).max() < 1e-12
    labels = {"id column INDEX": ("1", "2", "3")}
    labels["tabs inside quotes"] = tuple(f"{label}\tleft" for label in LABELS)
    assert spectra.labels == labels.get(name, tuple(LABELS))


@pytest.mark.parametrize(
    ("name", "known", "line"),
    [
        ("observer inside a quoted string", {"observer": "10", "illuminant": "D65"}, 2),
        ("observer as a bare keyword", {"observer": "10"}, 2),
        ("observer nowhere", {}, None),
        ("two observers", {}, None),
        (
            "the standard's weighting function",
            {
                "illuminant": "D50",
                "observer": "2",
                "geometry": "45:0",
                "backing": "black",
                "uv": "M1",
                "aperture": "4",
            },
            2,
        ),
        ("Latin-1 in the head", {"observer": "10"}, 2),
    ],
)
def test_the_condition_is_taken_where_it_is_said_and_else_unknown(name, known, line):
    reading, spectra = taken(name)
    every = ("illuminant", "observer", "geometry", "specular", "aperture", "uv", "backing")
    assert {key: reading.known(key) for key in every if reading.known(key)} == known
    assert set(reading.unknown) == set(every) - known.keys()
    assert spectra.condition == {}  # what a file says is shown; what is packed is confirmed
    if line:
        assert reading.condition[0].line == line


def test_contradicting_conditions_are_said_and_none_is_taken():
    reading, _ = taken("two observers")
    assert said(reading)["condition-contradicts"] == {"key": "observer", "values": "10, 2"}


@pytest.mark.parametrize(
    ("name", "id", "params"),
    [
        ("counts that lie", "count-disagrees", {"stated": "1624", "found": "3"}),
        ("counts that lie", "fields-disagree", {"stated": "15", "found": "37"}),
        ("cut off", "end-missing", {}),
        ("cut off", "count-disagrees", {"stated": "10", "found": "3"}),
        ("keywords twice", "keywords-repeated", {"count": "1", "key": "ORIGINATOR"}),
        (
            "keywords unlike the names",
            "axis-disagrees",
            {"key": "SPECTRAL_BANDS", "stated": "31", "found": "36"},
        ),
        ("double tabs after the id", "empty-cells", {"count": "3"}),
        ("UTF-16 without a mark", "encoding-guessed", {"encoding": "utf-16-le"}),
        ("UTF-8 broken", "encoding-guessed", {"encoding": "cp1252"}),
        ("rows behind remark signs", "remarks-like-readings", {"count": "1"}),
        ("first band copied from the second", "held-ends", {"count": "3", "label": "A-1"}),
        ("zeros where nothing was measured", "zeros", {"count": "1", "label": "B-2"}),
        ("values above 1", "above-one", {"count": "3", "label": "C-3"}),
        (
            "range that stops at 680",
            "grid-without-weights",
            {"start": "380", "stop": "680", "step": "10"},
        ),
    ],
)
def test_what_is_odd_is_said(name, id, params):
    reading, _ = taken(name)
    assert said(reading)[id] == params


@pytest.mark.parametrize(
    "name", ["no counts", "observer nowhere", "CRLF", "95 bands from 360 to 830"]
)
def test_nothing_is_said_where_nothing_is_odd(name):
    reading, spectra = taken(name)
    assert reading.oddities == () and reading.questions == ()
    assert spectra.values.shape[1] in (36, 95)


def test_minus_zero_becomes_zero():
    _, spectra = taken("minus zero")
    assert spectra.values[1, 3] == 0 and not np.signbit(spectra.values[1, 3])


@pytest.mark.parametrize(
    ("name", "id", "place"),
    [
        ("NaN", "not-number", (3, 5, "410 nm")),
        ("infinity", "not-number", (3, 5, "410 nm")),
        ("1e308", "not-reflectance", (3, None, "410 nm")),
        ("NUL", "control-character", (3, 29, None)),
        ("a million columns", "line-too-long", (1, None, None)),
        ("one endless line", "line-too-long", (1, None, None)),
        ("cut in a row", "cells-missing", (4, 30, None)),
        ("steps of 7.5 nm", "grid-fractional", (1, 2, None)),
    ],
)
def test_what_is_no_table_of_reflectances_is_refused_by_its_place(name, id, place):
    with pytest.raises(ReadError) as caught:
        taken(name)
    error = caught.value
    assert (error.id, (error.line, error.column, error.field)) == (id, place)


@pytest.mark.parametrize(
    ("name", "lines"),
    [
        ("two tables", (1, 7)),
        ("two tables by column", (1, 39)),
        ("a short table by column above a longer one", (1, 18)),
        ("by row, then by column", (1, 6)),
        ("two framed tables", (3, 11)),
        ("two framed tables, one format", (3, 3)),
    ],
)
def test_of_several_tables_one_is_asked_for_and_never_taken_in_silence(name, lines):
    reading = read(FILES[name], name)
    assert tuple(one.line for one in reading.tables) == lines
    (question,) = reading.questions
    assert question.id == "table" and question.suggested is None
    with pytest.raises(ReadError) as caught:
        resolve(reading, {})
    assert (caught.value.id, caught.value.field) == ("answer-missing", "table")
    sets = [resolve(reading, {"table": number}) for number in "12"]
    assert sets[0] != sets[1]
    assert any(
        one.values.shape == TABLE.shape and np.abs(one.values - TABLE).max() < 1e-12 for one in sets
    )
    for number, spectra in zip("12", sets, strict=True):
        mapping = reading.mapping({"table": number})
        assert parse(mapping)["table"] == int(number)
        assert replay(FILES[name], mapping) == spectra


@pytest.mark.parametrize("row", [1, 3, 9, 18, 30])
def test_a_wavelength_that_cannot_be_read_parts_no_table_in_two(row):
    """A column of wavelengths goes on behind a damaged row: that row is named."""
    lines = write(Dialect(layout="columns"), LABELS, WAVELENGTHS, TABLE).decode().splitlines()
    lines[row] = "5OO" + lines[row][3:]
    with pytest.raises(ReadError) as caught:
        resolve(read("\n".join(lines).encode(), "a.csv"), {})
    assert (caught.value.id, caught.value.line) == ("line-not-understood", row + 1)


def test_a_column_that_is_named_like_a_quantity_is_a_label_where_it_is_the_only_one():
    for name in ("C", "X", "h", "D_id"):
        data = write(Dialect(), LABELS, WAVELENGTHS, TABLE).replace(b"label", name.encode())
        reading = read(data, "a.csv")
        assert reading.questions == () and reading.labels == tuple(LABELS)


def test_columns_that_were_not_read_are_said():
    """A damaged name of a band at the end would pass unseen otherwise."""
    data = write(Dialect(), LABELS, WAVELENGTHS, TABLE).replace(b"label,380", b"label,38O")
    reading = read(data, "a.csv")
    assert reading.grid == (390, 730, 10)
    assert said(reading)["columns-left"] == {"count": "1", "name": "38O"}


def test_hints_choose_a_table_and_the_mapping_keeps_the_choice():
    data = FILES["two tables"]
    for table in ("2", "Second place"):
        reading = read(data, Hints("a.csv", table=table))
        assert reading.questions == () and reading.table == 2
        spectra = resolve(reading, {})
        assert spectra.labels == ("D", "E")
        assert replay(data, reading.mapping({})) == spectra
        assert reading.mapping({}) == read(data, "b").mapping({"table": "2"})
    with pytest.raises(ReadError) as caught:
        read(data, Hints("a.csv", table="third"))
    assert caught.value.id == "no-such-table"


def test_a_table_that_cannot_be_taken_is_offered_with_its_fault_and_the_other_one_read():
    reading = read(FILES["two tables, one broken"], "a.csv")
    assert said(reading)["tables-unread"] == {"count": "1", "number": "2"}
    assert reading.tables[1].error.id == "not-number" and reading.table == 1
    assert np.abs(resolve(reading, {"table": "1"}).values - TABLE).max() < 1e-12
    with pytest.raises(ReadError) as caught:
        resolve(reading, {"table": "2"})
    assert (caught.value.id, caught.value.line) == ("not-number", 7)


def test_a_table_of_colours_is_no_choice_beside_one_of_spectra():
    reading, spectra = taken("one with spectra, one with colours")
    assert len(reading.tables) == 2 and reading.questions == ()
    assert np.abs(spectra.values - TABLE).max() < 1e-12


def test_a_file_of_colours_only_is_read_as_such_and_gives_no_packed_set():
    reading = read(FILES["colours only"], "a.txt")
    assert reading.labels == ("x",) and reading.grid is None and reading.values.shape == (1, 0)
    assert reading.stated[0].values.tolist() == [[50.0, 1.0, 2.0]]
    with pytest.raises(ReadError) as caught:
        resolve(reading, {})
    assert caught.value.id == "no-spectra" and caught.value.params["count"] == "1"


@pytest.mark.parametrize(
    "name", ["thirds under rounded names", "thirds under exact names", "thirds by column"]
)
def test_bands_at_whole_steps_are_taken_only_when_that_was_agreed(name):
    reading = read(FILES[name], name)
    (question,) = reading.questions
    assert question.id == "bands" and question.suggested is None
    assert question.params["step"] == "3.333" and question.params["count"] == "36"
    with pytest.raises(ReadError) as caught:
        resolve(reading, {})
    assert caught.value.field == "bands"
    with pytest.raises(ReadError) as caught:
        resolve(reading, {"bands": "none"})
    assert (caught.value.id, caught.value.line) == (
        "bands-declined",
        2 if "column" in name else 1,
    )
    spectra = resolve(reading, {"bands": "whole"})
    true = [380 + i * 10 / 3 for i in range(106)]
    assert np.array_equal(spectra.values, smooth(3, true)[:, ::3])  # as measured, none between
    assert spectra.wavelengths == tuple(WAVELENGTHS)
    assert said(reading)["bands-left-out"] == {"count": "70"}


def test_a_missing_wavelength_is_no_fractional_step():
    names = [nm for nm in WAVELENGTHS if nm != 500]
    data = write(Dialect(), LABELS, names, smooth(3, names))
    with pytest.raises(ReadError) as caught:
        read(data, "a.csv")
    assert (caught.value.id, caught.value.column) == ("grid-uneven", 14)


def test_a_keyword_gives_the_scale_where_values_leave_it_open():
    reading, spectra = taken("scale by keyword")
    assert reading.scale.scale == "percent"
    assert reading.scale.evidence == ("declared-percent", "values-unclear")
    assert spectra.values[0, 0] == pytest.approx(0.0085)
    contradicting = framed(named(), rows_of(), keywords=["SPECTRAL_NORM 100"])
    asked = read(contradicting.encode(), "a.txt")
    assert [one.id for one in asked.questions] == ["scale"]


def test_readings_of_a_pair_form_must_stand_at_the_same_wavelengths():
    data = FILES["pairs of wavelength and percent"]
    lines = data.decode().split("\n")
    lines[7] = lines[7].replace("\t400\t", "\t405\t")
    with pytest.raises(ReadError) as caught:
        read("\n".join(lines).encode(), "a.txt")
    error = caught.value
    assert (error.id, error.line, error.column) == ("pairs-differ", 8, 6)


def test_a_display_is_asked_about_and_refused_as_light():
    reading = read(FILES["a display, not a surface"], "a.sp")
    assert [one.id for one in reading.questions] == ["surface"]
    with pytest.raises(ReadError) as caught:
        resolve(reading, {"surface": "emission"})
    assert caught.value.id == "not-reflectance"


@pytest.mark.parametrize(
    ("name", "file", "id"),
    [
        ("measured.xls", "CRLF", "named-workbook"),
        ("measured.xlsx", "CRLF", "named-workbook"),
        ("measured.csv", "CRLF", "named-comma"),
        ("measured.cxf", "CRLF", "named-xml"),
        ("measured.sp", "CRLF", None),
        ("measured.TXT", "CRLF", None),
        ("measured.csv", "decimal commas and semicolons", None),
    ],
)
def test_a_name_that_misleads_is_said_and_changes_nothing(name, file, id):
    reading = read(FILES[file], name)
    plain = read(FILES[file], "file")
    assert [one.id for one in reading.oddities] == ([id] if id else [])
    assert reading.mapping({}) == plain.mapping({}) and resolve(reading, {}) == resolve(plain, {})


@given(
    st.sampled_from([one for one in SPELLINGS if " " not in one]),
    st.sampled_from(["\t", "   ", ","]),
    st.booleans(),
    st.booleans(),
    st.booleans(),
    st.sampled_from([None, 3, 999]),
    st.sampled_from(["\n", "\r\n", "\r"]),
)
@settings(deadline=None, max_examples=60)
def test_any_mixture_of_framed_dialects_gives_the_same_numbers(
    spelling, separator, percent, magic, end, count, newline
):
    rows = rows_of(scale=100 if percent else 1, digits=2 if percent else 4)
    text = framed(
        named(spelling), rows, sets=count, magic="CGATS.17" if magic else "", separator=separator,
        end=end,
    )  # fmt: skip
    spectra = resolve(read(text.replace("\n", newline).encode(), "a"), {})
    assert np.abs(spectra.values - TABLE).max() < 1e-12 and spectra.labels == tuple(LABELS)


@given(st.permutations(range(4)), st.booleans())
@settings(deadline=None, max_examples=24)
def test_the_order_of_columns_beside_the_bands_changes_nothing(order, behind):
    stated = odd_files.colours(TABLE)
    names = ["SAMPLE_ID", "LAB_L", "LAB_A", "LAB_B"]
    rows = [
        [label, *(f"{value:.2f}" for value in colour)]
        for label, colour in zip(LABELS, stated, strict=True)
    ]
    bands, values = named()[1:], [row[1:] for row in rows_of()]
    head = [names[i] for i in order]
    side = [[row[i] for i in order] for row in rows]
    cells = [[*v, *s] if behind else [*s, *v] for v, s in zip(values, side, strict=True)]
    reading = read(framed([*bands, *head] if behind else [*head, *bands], cells).encode(), "a")
    spectra = resolve(reading, {})
    assert np.abs(spectra.values - TABLE).max() < 1e-12 and spectra.labels == tuple(LABELS)
    assert np.abs(reading.stated[0].values - stated).max() < 0.0051
    assert reading.comparisons[0].best == "D50/2°"


@given(st.integers(1, 19))
@settings(deadline=None)
def test_a_file_cut_between_rows_gives_the_rows_of_the_whole(cut):
    labels = [f"S-{i}" for i in range(20)]
    table = smooth(20)
    table[:, 0] = 0.05  # so that no part leaves percent or factor open
    lines = write(Dialect(), labels, WAVELENGTHS, table).decode().splitlines()
    whole = resolve(read("\n".join(lines).encode(), "a"), {})
    parts = [
        resolve(read("\n".join([lines[0], *part]).encode(), "a"), {})
        for part in (lines[1 : cut + 1], lines[cut + 1 :])
    ]
    assert np.array_equal(np.vstack([one.values for one in parts]), whole.values)
    assert parts[0].labels + parts[1].labels == whole.labels


@given(st.binary(max_size=200), st.sampled_from(sorted(odd_files.several())))
@settings(deadline=None, max_examples=60)
def test_damage_to_files_of_several_tables_is_refused_in_one_way(damage, name):
    data = FILES[name]
    place = len(data) // 2
    try:
        reading = read(data[:place] + damage + data[place:], name)
        answers = {one.id: one.choices[0].value for one in reading.questions}
        assert np.isfinite(resolve(reading, answers).values).all()
    except ReadError as error:
        assert error.id in words.MESSAGES
