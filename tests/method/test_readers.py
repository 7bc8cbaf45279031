"""The reader of spectral text: every dialect gives the same numbers."""

import itertools
import warnings
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.canonical import parse
from method.packed import pack
from method.readers import ReadError, read, replay, resolve, tabular
from tests.method.dialects import SPELLINGS, Dialect, factors, write

WAVELENGTHS = list(range(400, 701, 10))
LABELS = ["A-1", "A-1", "B-2", "C-3"]
TABLE = factors(4, WAVELENGTHS)


def same_both_ways(data, monkeypatch):
    """Readings of a file by the short and by the careful way, or the two refusals."""
    found = []
    for quick in (tabular.quick_lines, lambda *parts: None):
        monkeypatch.setattr(tabular, "quick_lines", quick)
        try:
            reading = read(data, "a.csv")
            found.append({**vars(reading), "values": reading.values.tobytes(), "again": None})
        except ReadError as error:
            found.append(str(error))
    return found


def understood(dialect, labels=LABELS, table=TABLE, wavelengths=WAVELENGTHS):
    """Reading of a table written in a dialect."""
    return read(write(dialect, labels, wavelengths, table), "invented.csv")


def check(dialect):
    """The dialect is understood without a question and gives the table's numbers."""
    reading = understood(dialect)
    assert reading.questions == ()
    spectra = resolve(reading, {})
    assert spectra.labels == tuple(LABELS) and spectra.wavelengths == tuple(WAVELENGTHS)
    assert np.abs(spectra.values - TABLE).max() < 1e-12
    assert reading.delimiter == dialect.separator and reading.layout == dialect.layout
    assert reading.scale.scale == ("percent" if dialect.percent else "factor")
    assert reading.decimal_mark == {".": "point", ",": "comma"}[dialect.mark]


@pytest.mark.parametrize("layout", ["rows", "columns"])
@pytest.mark.parametrize("spelling", SPELLINGS)
def test_every_spelling_of_wavelengths_is_understood(spelling, layout):
    check(Dialect(spelling=spelling, layout=layout))


@pytest.mark.parametrize(
    ("separator", "mark"),
    [
        pair
        for pair in itertools.product(("comma", "semicolon", "tab", "spaces"), ".,")
        if pair != ("comma", ",")
    ],
)
@pytest.mark.parametrize("layout", ["rows", "columns"])
@pytest.mark.parametrize("percent", [True, False])
def test_every_separator_and_decimal_mark_is_understood(separator, mark, layout, percent):
    check(Dialect(separator=separator, mark=mark, layout=layout, percent=percent))


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "latin-1"]
)
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_every_encoding_and_line_end_is_understood(encoding, newline):
    check(Dialect(encoding=encoding, newline=newline, remarks=True))


def test_quoted_cells_may_hold_separators_and_decimal_commas():
    check(Dialect(quoted=True, mark=","))
    labels = ["red, left", 'the "big" one'.replace('"', '""'), "x;y", "z"]
    spectra = resolve(understood(Dialect(quoted=True), labels), {})
    assert spectra.labels == ("red, left", 'the "big" one', "x;y", "z")


@given(
    st.builds(
        Dialect,
        separator=st.sampled_from(("semicolon", "tab", "spaces")),
        mark=st.sampled_from(".,"),
        spelling=st.sampled_from(SPELLINGS),
        layout=st.sampled_from(("rows", "columns")),
        percent=st.booleans(),
        newline=st.sampled_from(("\n", "\r\n", "\r")),
        encoding=st.sampled_from(("utf-8", "utf-8-sig", "utf-16")),
        quoted=st.booleans(),
        remarks=st.booleans(),
        descending=st.booleans(),
    ).filter(lambda dialect: not (dialect.separator == "spaces" and dialect.spelling == "{} nm"))
)
@settings(deadline=None)
def test_any_mixture_of_dialects_gives_the_same_numbers(dialect):
    if dialect.separator == "spaces" and "{} nm" in dialect.spelling:
        return
    check(dialect)


@pytest.mark.parametrize(
    "change",
    [
        ("", ""),
        ("0.0423", " 0.0423 "),
        ("0.0423", "4.23e-2"),
        ("0.0423", "nan"),
        ("0.0423", "0_1"),
        ("0.0423", "٤"),
        ("0.0423", "0x1p-3"),
        ("0.0423", "1d-2"),
        ("0.0423", ""),
        ("0.0423", "0.0423 # dark"),
        ("0.0423", "+.0423"),
        ("0.0423", "0,0423"),
        ("B-2", ""),
        ("B-2", "e\u0301"),
        ("B-2", "x" * 201),
        ("\nB-2", "\n\nB-2"),
        ("\nB-2", "\n ,\nB-2"),
        ("\nC-3", ",\nC-3"),
    ],
)
@pytest.mark.parametrize(
    ("separator", "mark"),
    [("comma", "."), ("semicolon", "."), ("semicolon", ","), ("tab", "."), ("tab", ",")],
)
def test_the_short_way_and_the_careful_way_give_the_same(change, separator, mark, monkeypatch):
    old, new = change
    text = write(Dialect(separator=separator, mark=mark), LABELS, WAVELENGTHS, TABLE).decode()
    old, new = (part.replace(".", mark) if old.startswith("0") else part for part in (old, new))
    assert old in text
    quick, careful = same_both_ways(text.replace(old, new, 1).encode(), monkeypatch)
    assert quick == careful


def test_the_short_way_is_taken_for_plain_tables(monkeypatch):
    monkeypatch.setattr(tabular, "by_row", None)
    for dialect in (Dialect(), Dialect(separator="tab", mark=",", newline="\r\n")):
        assert np.abs(resolve(understood(dialect), {}).values - TABLE).max() < 1e-12


def test_two_answers_to_the_same_file_are_the_same_bytes_and_the_mapping_replays_them():
    data = write(Dialect(), LABELS, WAVELENGTHS, TABLE)
    answers = {"geometry": "45:0", "backing": "white tile"}
    one, other = read(data, "a.csv"), read(data, "b.csv")
    assert pack(resolve(one, answers)) == pack(resolve(other, answers))
    mapping = one.mapping(answers)
    assert mapping == other.mapping(dict(reversed(answers.items())))
    assert replay(data, mapping) == resolve(one, answers)
    assert resolve(one, answers).condition == answers
    document = parse(mapping)
    assert document["grid"] == {"start": 400, "stop": 700, "step": 10}
    assert document["answers"] == answers and document["scale"] == "factor"


@pytest.mark.parametrize("mapping", [b"", b"{}", b"[]", b'{"answers":[]}', b'{"answers":{}}'])
def test_a_mapping_of_another_file_is_refused(mapping):
    with pytest.raises(ReadError) as caught:
        replay(write(Dialect(), LABELS, WAVELENGTHS, TABLE), mapping)
    assert caught.value.id == "mapping-differs"


def test_a_file_changed_after_its_mapping_was_frozen_is_refused():
    data = write(Dialect(), LABELS, WAVELENGTHS, TABLE)
    mapping = read(data, "a.csv").mapping({})
    with pytest.raises(ReadError) as caught:
        replay(data.replace(b"0.0423", b"0.0424"), mapping)
    assert caught.value.id == "mapping-differs"


def test_percent_or_factor_is_asked_where_both_are_possible():
    white = factors(2, WAVELENGTHS)[1:] * 0 + 0.85
    reading = understood(Dialect(), ["white"], white)
    (question,) = reading.questions
    assert question.id == "scale" and question.suggested is None
    assert [choice.value for choice in question.choices] == ["percent", "factor"]
    assert question.message % question.params
    assert resolve(reading, {"scale": "factor"}).values.max() == 0.85
    assert resolve(reading, {"scale": "percent"}).values.max() == pytest.approx(0.0085)
    with pytest.raises(ReadError) as caught:
        resolve(reading, {})
    assert (caught.value.id, caught.value.field) == ("answer-missing", "scale")


@pytest.mark.parametrize(
    ("header", "scale"), [("Reflectance in %", "percent"), ("Reflectance factor", "factor")]
)
def test_a_declared_scale_settles_unclear_values_and_a_contradicting_one_is_asked(header, scale):
    table = np.full((1, len(WAVELENGTHS)), 0.85)
    data = write(Dialect(), ["white"], WAVELENGTHS, table)
    reading = read(header.encode() + b"\n" + data, "a.csv")
    assert reading.scale.scale == scale and reading.questions == ()
    dark = ["dark-throughout"] if scale == "percent" else []  # a white of 0.85 %
    assert [one.id for one in reading.oddities] == ["preamble", "held-ends", "held-ends", *dark]
    plain = write(Dialect(percent=scale == "factor"), LABELS, WAVELENGTHS, TABLE)
    contradicting = read(header.encode() + b"\n" + plain, "a.csv")
    assert [question.id for question in contradicting.questions] == ["scale"]


def test_several_possible_label_columns_are_asked():
    data = "sample,batch,name," + ",".join(map(str, WAVELENGTHS)) + "\n"
    for label, row in zip("xyz", TABLE[:3], strict=True):
        data += f"{label},7,n{label}," + ",".join(map(str, row)) + "\n"
    reading = read(data.encode(), "a.csv")
    (question,) = reading.questions
    assert question.id == "label_column"
    assert [choice.text for choice in question.choices] == ["sample", "batch", "name", ""]
    assert resolve(reading, {"label_column": "3"}).labels == ("nx", "ny", "nz")
    assert resolve(reading, {"label_column": "none"}).labels == ("1", "2", "3")
    mapping = reading.mapping({"label_column": "3"})
    assert parse(mapping)["label_column"] == {"number": 3, "text": "name"}
    assert replay(data.encode(), mapping).labels == ("nx", "ny", "nz")


def test_the_one_column_that_is_named_like_a_label_is_taken():
    data = (
        "batch,Sample ID,"
        + ",".join(map(str, WAVELENGTHS))
        + "\n7,q,"
        + ",".join(map(str, TABLE[0]))
    )
    reading = read(data.encode(), "a.csv")
    assert reading.questions == () and reading.label_column == (2, "Sample ID")


def test_two_sets_of_spectra_in_one_table_are_asked():
    head = [f"{kind}{nm}" for kind in ("SCI_", "SCE_") for nm in WAVELENGTHS]
    row = [*TABLE[0], *(TABLE[0] - 0.03)]
    data = ("label," + ",".join(head) + "\nq," + ",".join(f"{v:.4f}" for v in row)).encode()
    reading = read(data, "a.csv")
    (question,) = reading.questions
    assert question.id == "columns" and question.suggested is None
    assert [choice.value for choice in question.choices] == ["SCI", "SCE"]
    for prefix, shift in (("SCI", 0.0), ("SCE", 0.03)):
        found = resolve(reading, {"columns": prefix}).values[0]
        assert np.abs(found - (TABLE[0] - shift)).max() < 1e-9
        assert np.array_equal(replay(data, reading.mapping({"columns": prefix})).values[0], found)


def test_a_table_that_reads_both_ways_is_asked():
    names = list(range(400, 701, 10))
    table = factors(len(names), WAVELENGTHS)
    reading = understood(Dialect(), [str(name) for name in names], table)
    assert [question.id for question in reading.questions] == ["layout"]
    by_row = resolve(reading, {"layout": "rows"}).values
    by_column = resolve(reading, {"layout": "columns"}).values
    assert np.abs(by_row - table).max() < 1e-12 and np.array_equal(by_column, by_row.T)


@pytest.mark.parametrize(
    ("prefix", "numbers"), [("", range(301, 313)), ("", range(1, 900)), ("S", range(390, 800, 10))]
)
def test_specimens_numbered_like_wavelengths_are_not_taken_for_them(prefix, numbers):
    labels = [f"{prefix}{number}" for number in numbers]
    reading = understood(Dialect(), labels, factors(len(labels), WAVELENGTHS))
    assert reading.questions == () and reading.labels == tuple(labels)


@pytest.mark.parametrize(
    ("answers", "id", "field"),
    [
        ({"scale": "per mille"}, "answer-invalid", "scale"),
        ({"scale": 1}, "answer-invalid", "scale"),
        ({"scale": "factor", "layout": "rows"}, "answer-unknown", "layout"),
        ({"scale": "factor", "uv": " "}, "answer-invalid", "uv"),
        ({"scale": "factor", "uv": "x" * 300}, "answer-invalid", "uv"),
        ({"uv": "included"}, "answer-missing", "scale"),
    ],
)
def test_answers_that_do_not_fit_are_refused_by_name(answers, id, field):
    reading = understood(Dialect(), ["white"], np.full((1, 31), 0.85))
    for act in (resolve, type(reading).mapping):
        with pytest.raises(ReadError) as caught:
            act(reading, answers)
        assert (caught.value.id, caught.value.field) == (id, field)


def test_what_is_odd_is_kept_and_said():
    table = TABLE.copy()
    table[1, 5], table[2, 6], table[3, 8:10] = -0.01, 1.31, 0.0
    table[:, 0] = table[:, 1]
    reading = understood(Dialect(descending=True), LABELS, table)
    said = {one.id: one.params for one in reading.oddities}
    assert said == {
        "descending": {},
        "repeated-labels": {"count": "1"},
        "negative": {"count": "1", "label": "A-1"},
        "above-one": {"count": "1", "label": "B-2"},
        "zeros": {"count": "1", "label": "C-3"},
        "held-ends": {"count": "3", "label": "A-1"},
    }
    assert all(one.message % one.params for one in reading.oddities)
    assert np.abs(resolve(reading, {}).values - table).max() < 1e-12


def test_factors_among_percent_are_said():
    table = TABLE * 100
    table[2] /= 100
    table[2, 4] = 0.05
    reading = understood(Dialect(), LABELS, table)
    assert ("other-scale", {"count": "1", "label": "B-2"}) in [
        (one.id, one.params) for one in reading.oddities
    ]


def test_readings_of_both_scales_in_one_file_are_asked():
    """Found by review: one specimen at 0.5 and one at 50 were taken as percent in silence."""
    table = np.full((2, len(WAVELENGTHS)), 0.5)
    table[1] = 50.0
    data = write(Dialect(), ["low", "high"], WAVELENGTHS, table)
    reading = read(data, "a.csv")
    assert [question.id for question in reading.questions] == ["scale"]
    assert reading.scale.evidence == ("values-mixed",)
    said = {one.id: one.params for one in reading.oddities}
    assert said["other-scale"] == {"count": "1", "label": "low"}
    assert resolve(reading, {"scale": "percent"}).values[:, 0].tolist() == [0.005, 0.5]
    with pytest.raises(ReadError) as caught:  # 50 is no factor of anything
        resolve(reading, {"scale": "factor"})
    assert (caught.value.id, caught.value.params) == ("not-reflectance", {"largest": "50"})
    assert read(b"Reflectance in %\n" + data, "a.csv").scale.scale == "percent"
    assert read(b"Reflectance factor\n" + data, "a.csv").scale.scale is None


def test_a_reading_below_zero_throughout_is_refused():
    """Found by review: -0.5 everywhere was taken as factors with a remark."""
    table = np.vstack([np.full((1, len(WAVELENGTHS)), 0.4), np.full((1, len(WAVELENGTHS)), -0.5)])
    for layout, place in (("rows", (3, None)), ("columns", (None, 3))):
        data = write(Dialect(layout=layout), ["good", "bad"], WAVELENGTHS, table)
        with pytest.raises(ReadError) as caught:
            read(data, "a.csv")
        assert caught.value.id == "negative-throughout"
        assert (caught.value.line, caught.value.column) == place
        assert caught.value.params == {"label": "bad"}


@pytest.mark.parametrize(("scale", "value"), [("factor", -0.06), ("percent", -6.0)])
def test_a_value_far_below_zero_is_refused_by_its_place(scale, value):
    table = TABLE * (100 if scale == "percent" else 1)
    table[1, 4] = value
    data = write(Dialect(), LABELS, WAVELENGTHS, table)
    with pytest.raises(ReadError) as caught:
        resolve(read(data, "a.csv"), {"scale": scale})
    assert caught.value.id == "far-below-zero"
    assert (caught.value.line, caught.value.field) == (3, f"{WAVELENGTHS[4]} nm")
    table[1, 4] = value * 0.8  # an instrument's own error
    odd = read(write(Dialect(), LABELS, WAVELENGTHS, table), "a.csv")
    assert "negative" in {one.id for one in odd.oddities}


def test_a_framed_table_whose_counts_lie_is_read_by_its_rows():
    names = "\t".join(f"nm{nm}" for nm in WAVELENGTHS)
    rows = "\n".join(
        f"{label}\t\t" + "\t".join(map(str, row)) for label, row in zip("abc", TABLE, strict=False)
    )
    text = (
        'CREATED\t"1/2/2003"  # Time: 1:00\nBEGIN_DATA_FORMAT\nSampleID\t'
        + names
        + "\nEND_DATA_FORMAT\nNUMBER_OF_SETS\t10\nBEGIN_DATA\n"
        + rows
        + "\nEND_DATA\n"
    )
    reading = read(text.encode(), "a.txt")
    said = {one.id: one.params for one in reading.oddities}
    assert said["count-disagrees"] == {"stated": "10", "found": "3"}
    assert said["empty-cells"] == {"count": "3"} and reading.format == "framed-text"
    assert np.abs(resolve(reading, {}).values - TABLE[:3]).max() < 1e-12


def test_steps_of_1_5_10_and_20_nm_are_understood():
    for step in (1, 5, 10, 20):
        wavelengths = list(range(360, 781, step))
        table = factors(3, wavelengths)
        for layout in ("rows", "columns"):
            reading = understood(Dialect(layout=layout), ["a", "b", "c"], table, wavelengths)
            assert reading.grid == (360, 780, step)


def resources():
    """Folder of measurement files inside an installed package."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    return Path(colour.__file__).parent


def test_real_files_by_column_and_by_row_give_the_same_spectra():
    folder = resources() / "io" / "tests" / "resources"
    (columns,) = folder.glob("*_n_ohta.csv")
    (rows,) = folder.glob("*_n_ohta_transposed.csv")
    one = resolve(read(columns.read_bytes(), columns.name), {})
    other = resolve(read(rows.read_bytes(), rows.name), {})
    assert one == other and len(one.labels) == 24 and one.wavelengths[::80] == (380, 780)
    expected = np.loadtxt(columns, delimiter=",", skiprows=1)[:, 1:].T
    assert np.array_equal(one.values, expected)


def test_a_real_framed_file_with_nm_names_is_understood():
    folder = resources() / "io" / "tests" / "resources"
    (path,) = (one for one in folder.glob("*.txt") if b"BEGIN_DATA_FORMAT" in one.read_bytes())
    reading = read(path.read_bytes(), path.name)
    assert reading.grid == (380, 730, 10) and len(reading.labels) == 10
    assert reading.columns[0] == "nm380" and reading.scale.scale == "factor"
    (question,) = reading.questions
    assert resolve(reading, {question.id: "2"}).labels[0] == "X1"


def test_a_lamp_measurement_is_not_taken_for_a_surface():
    folder = resources() / "io" / "tests" / "resources"
    (path,) = folder.glob("*.xls.txt")
    reading = read(path.read_bytes(), path.name)
    assert [question.id for question in reading.questions] == ["surface"]
    with pytest.raises(ReadError) as caught:
        resolve(reading, {"surface": "emission"})
    assert caught.value.id == "not-reflectance"
