"""Which readings of a table count: one way of taking them, no means, no target; and units."""

from __future__ import annotations

import numpy as np
import pytest

from method.readers import ReadError, read, resolve
from method.readers.front import replay
from method.readers.reading import SECOND, Hints
from tests.method.cxf_files import cxf, spectrum, thing

NM = range(400, 701, 10)
CURVE = [20.0 + nm / 50 for nm in NM]


def row(*first: str, lower: float = 0.0, mark: str = ".", sign: str = "") -> list[str]:
    return [*first, *(f"{one - lower:.3f}".replace(".", mark) + sign for one in CURVE)]


def text(*rows: list[str], head: list[str], by: str = ";") -> bytes:
    return "\n".join(by.join(one) for one in [[*head, *map(str, NM)], *rows]).encode()


BOTH = text(
    row("1", "SCI", "a"), row("1", "SCE", "b", lower=4.0),
    row("2", "SCI", "c"), row("2", "SCE", "d", lower=4.0),
    head=["Name", "Mode", "Remark"],
)  # fmt: skip


def asked(reading) -> list[str]:
    return [question.id for question in reading.questions]


def oddities(reading) -> dict[str, dict[str, str]]:
    return {one.id: dict(one.params) for one in reading.oddities}


@pytest.mark.parametrize(
    ("answer", "first", "specular"), [("1", 0.28, "included"), ("2", 0.24, "excluded")]
)
def test_readings_with_and_without_specular_component_are_never_averaged(answer, first, specular):
    reading = read(BOTH, "both.csv")
    assert asked(reading) == ["label_column", "mode"] or asked(reading) == ["mode"]
    (mode,) = [one for one in reading.questions if one.id == "mode"]
    assert [choice.message for choice in mode.choices] == ["SCI", "SCE"]
    assert mode.params == {"column": "Mode", "count": "2"}
    answers = {"mode": answer}
    shown = reading.again(answers)
    assert shown.labels == ("1", "2") and shown.lines[0] == 1 + int(answer)
    assert shown.known("specular") == specular
    assert oddities(shown)["mode-left"] == {"count": "2", "column": "Mode"}
    assert oddities(shown)["columns-left"] == {"count": "1", "name": "Remark"}
    assert "repeated-labels" not in oddities(shown)
    spectra = resolve(reading, answers)
    assert spectra.labels == ("1", "2") and spectra.values[0, 0] == pytest.approx(first)
    assert replay(BOTH, reading.mapping(answers)) == spectra
    with pytest.raises(ReadError) as missing:
        resolve(reading, {})
    assert missing.value.id == "answer-missing"


@pytest.mark.parametrize(
    ("head", "cells"),
    [("Angle", ("15", "45", "110")), ("Condition", ("M0", "M1", "M2")),
     ("Backing", ("white", "black", "grey")), ("Geometrie", ("d/8", "45/0", "8/d")),
     ("Specular", ("included", "excluded", ""))],
)  # fmt: skip
def test_other_ways_of_measuring_in_a_column_are_asked_about(head, cells):
    data = text(*(row("one", cell) for cell in cells), head=["Name", head])
    reading = read(data, "ways.csv")
    (mode,) = [one for one in reading.questions if one.id == "mode"]
    assert len(mode.choices) == 3
    for number, cell in enumerate(cells, 1):
        assert mode.choices[number - 1].message == (cell or "those of which it says nothing")
        spectra = resolve(reading, {"mode": str(number)})
        assert spectra.labels == ("one",)


@pytest.mark.parametrize(
    ("head", "cells"),
    [("Time", ("08:45", "08:46")), ("Date", ("2026-11-30", "2026-12-01")), ("Mode", ("SCI", "SCI")),
     ("Operator", ("D65", "A")), ("Batch", ("M1", "M2")), ("Pos", ("1", "2"))],
)  # fmt: skip
def test_other_columns_ask_nothing(head, cells):
    data = text(*(row("one", cell) for cell in cells), head=["Name", head])
    assert "mode" not in asked(read(data, "plain.csv"))


def test_quoted_and_plain_tables_ask_alike():
    quoted = BOTH.replace(b"SCI", b'"SCI"').replace(b"SCE", b'"SCE "')
    assert asked(read(quoted, "q.csv")) == asked(read(BOTH, "q.csv"))
    assert resolve(read(quoted, "q.csv"), {"mode": "2"}) == resolve(
        read(BOTH, "b.csv"), {"mode": "2"}
    )


@pytest.mark.parametrize(
    "label",
    ["Mean", "Mittelwert", "StdAbw", "Std. Dev.", "stdev (3)", "Max", "平均", "标准偏差",
     "Target: Lagoon", "Standard", "Reference 1", "标样"],
)  # fmt: skip
def test_means_and_targets_among_specimens_are_asked_about(label):
    data = text(row(label), row("1"), row("1"), row("2"), head=["Name"])
    reading = read(data, "means.csv")
    assert asked(reading) == ["other_rows"] and len(reading.labels) == 4
    assert reading.questions[0].params == {"count": "1", "labels": label}
    left = resolve(reading, {"other_rows": "left"})
    assert left.labels == ("1", "1", "2")
    whole = resolve(reading, {"other_rows": "specimens"})
    assert set(whole.labels) == {label, "1", "2"}
    shown = reading.again({"other_rows": "left"})
    assert oddities(shown)["rows-left"] == {"count": "1", "labels": label}
    assert oddities(shown)["repeated-labels"] == {"count": "1"}


def test_a_deviation_that_is_left_out_says_nothing_of_the_scale():
    low = ["StdDev", *(f"{0.1 + nm / 10000:.3f}" for nm in NM)]
    reading = read(text(row("1"), row("2"), low, head=["Name"]), "means.csv")
    assert asked(reading) == ["other_rows", "scale"]
    assert resolve(reading, {"other_rows": "left"}).labels == ("1", "2")


@pytest.mark.parametrize(
    "labels", [("Standard", "Standard"), ("Meander", "Minos"), ("standards", "1")]
)
def test_a_file_of_a_reference_and_like_names_ask_nothing(labels):
    assert asked(read(text(*map(row, labels), head=["Name"]), "ref.csv")) == []


def test_colours_stated_beside_the_rows_left_out_go_with_them():
    data = text(
        row("1", "55.1", "1", "2"), row("Mean", "10", "90", "90"), head=["Name", "L*", "a*", "b*"]
    )
    reading = read(data, "stated.csv").again({"other_rows": "left"})
    assert reading.stated[0].values.shape == (1, 3) and reading.stated[0].values[0, 0] == 55.1


def test_a_mapping_of_the_second_version_is_replayed_as_it_was_made():
    before = read(BOTH, Hints("both.csv", version=SECOND))
    mapping = before.mapping({})
    assert b'"spectra/2"' in mapping and asked(before) == []
    spectra = replay(BOTH, mapping)
    assert spectra.labels == ("1", "1", "2", "2")
    assert b'"spectra/3"' in read(BOTH, "both.csv").mapping({"mode": "1"})


@pytest.mark.parametrize("unit", ["%R", "%", "R%", "[%]", "% refl.", "percent"])
def test_a_row_of_units_below_the_header_is_heard_and_not_read(unit):
    data = text(["", *[unit] * len(NM)], row("1"), row("2"), head=["Name"])
    reading = read(data, "units.csv")
    assert resolve(reading, {}).labels == ("1", "2")
    assert reading.scale.evidence[0] == "declared-percent"
    assert oddities(reading)["units-row"] == {"line": "2", "text": unit}


def test_units_that_are_no_reflectance_ask_what_it_is():
    data = text(["", *["%T"] * len(NM)], row("1"), row("2"), head=["Name"])
    assert asked(read(data, "units.csv")) == ["surface"]


@pytest.mark.parametrize("cell", ["OVER", "-", "n/a", "---"])
def test_a_first_reading_that_failed_is_no_row_of_units(cell):
    data = text(["1", *[cell] * len(NM)], row("2"), head=["Name"])
    with pytest.raises(ReadError) as error:
        read(data, "failed.csv")
    assert error.value.id == "not-number" and error.value.line == 2


@pytest.mark.parametrize("mark", [".", ","])
def test_a_percent_sign_in_every_cell_is_the_scale(mark):
    data = text(row("1", mark=mark, sign=" %"), row("2", mark=mark, sign="%"), head=["Name"])
    reading = read(data, "signs.csv")
    plain = read(text(row("1"), row("2"), head=["Name"]), "plain.csv")
    assert resolve(reading, {}) == resolve(plain, {}) and "percent-signs" in oddities(reading)


def test_percent_signs_settle_what_the_values_leave_open():
    dark = [f"{1 + nm / 1000:.3f} %" for nm in NM]
    reading = read(text(["1", *dark], head=["Name"]), "dark.csv")
    assert asked(reading) == [] and np.isclose(resolve(reading, {}).values.max(), 0.017)


def test_percent_signs_beside_a_column_of_wavelengths():
    lines = ["nm;1;2", *(f"{nm};{v:.2f} %;{v:.2f} %" for nm, v in zip(NM, CURVE, strict=True))]
    reading = read("\n".join(lines).encode(), "columns.csv")
    assert resolve(reading, {}).labels == ("1", "2") and reading.scale.scale == "percent"


def test_a_percent_sign_in_some_cells_stays_a_fault_of_these():
    broken = row("2")
    broken[5] += " %"
    with pytest.raises(ReadError) as error:
        read(text(row("1"), broken, head=["Name"]), "some.csv")
    assert (error.value.id, error.value.line, error.value.column) == ("not-number", 3, 6)


def test_objects_that_are_a_target_by_their_kind_are_asked_about():
    objects = [
        thing(spectrum(), "Lagoon", "i1", "Target"),
        thing(spectrum(), "1", "i2", "Trial"),
        thing(spectrum(), "2", "i3", "Trial"),
    ]
    reading = read(cxf(objects), "trial.cxf")
    (question,) = [one for one in reading.questions if one.id == "other_rows"]
    assert question.params == {"count": "1", "labels": "Lagoon"}
    assert reading.again({"other_rows": "left"}).labels == ("1", "2")
    assert reading.again({"other_rows": "specimens"}).labels == ("Lagoon", "1", "2")
    alone = [thing(spectrum(), "a", "i1"), thing(spectrum(), "b", "i2")]  # all of them standards
    assert asked(read(cxf(alone), "standards.cxf")) == []


@pytest.mark.parametrize(("largest", "said"), [(0.0199, True), (0.02, False)])
def test_values_darker_than_black_are_remarked_upon_and_not_frozen(largest, said):
    values = [f"{0.001 + (largest - 0.001) * at / 30:.5f}" for at in range(31)]
    data = text(["p", *values], head=["Name"])
    reading = read(data, "dark.csv")
    assert ("dark-throughout" in oddities(reading)) is said
    assert b"dark-throughout" not in reading.mapping({})


def test_cells_parted_by_vertical_bars_are_read():
    rows = [row("1", mark=","), row("2", mark=",")]
    lines = ["|".join(one) for one in [["Name", *(f"{nm} nm" for nm in NM)], *rows]]
    reading = read("\n".join(lines).encode(), "bars.txt")
    assert reading.delimiter == "bar"
    assert resolve(reading, {}) == resolve(read(text(*rows, head=["Name"]), "a.csv"), {})


def test_two_columns_that_part_the_readings_are_asked_about_as_one():
    data = text(
        row("1", "SCI", "white"), row("1", "SCE", "white"), row("1", "SCI", "black", lower=2.0),
        row("1", "SCI", "black", lower=2.0),
        head=["Name", "Mode", "Backing"],
    )  # fmt: skip
    reading = read(data, "two.csv")
    (mode,) = reading.questions
    assert mode.params == {"column": "Mode / Backing", "count": "3"}
    assert [one.message for one in mode.choices] == ["SCI / white", "SCE / white", "SCI / black"]
    shown = reading.again({"mode": "3"})
    assert (shown.known("specular"), shown.known("backing")) == ("included", "black")
    assert shown.lines == (4, 5) and shown.values[0, 0] == pytest.approx(26.0)
    found = oddities(shown)
    assert found["mode-left"] == {"count": "2", "column": "Mode / Backing"}
    assert found["repeated-labels"] == {"count": "1"} and "columns-left" not in found
    (piece,) = [one for one in shown.condition if one.key == "specular"]
    assert (piece.text, piece.line) == ("Mode / Backing SCI / black", 4)


def test_an_answer_that_fits_no_way_is_refused():
    reading = read(BOTH, "both.csv")
    assert reading.again({"mode": "7"}).lines == reading.lines == (2, 4)
    with pytest.raises(ReadError) as error:
        resolve(reading, {"mode": "7"})
    assert (error.value.id, error.value.field) == ("answer-invalid", "mode")


def test_an_angle_is_no_piece_of_the_condition_that_terms_know():
    data = text(row("1", "15"), row("1", "45"), head=["Name", "Angle"])
    reading = read(data, "angles.csv")
    assert [one.key for one in reading.condition] == []


def test_long_names_are_cut_and_of_many_rows_the_first_are_named():
    long = "SCI " + "x" * 100
    data = text(row("1", long), row("1", "SCE"), head=["Name", "Mode"])
    (mode,) = [one for one in read(data, "long.csv").questions if one.id == "mode"]
    assert mode.choices[0].message == long[:80]
    names = ["Mean", "Min", "Max", "Median", "Range"]
    reading = read(text(*map(row, names), row("1"), head=["Name"]), "many.csv")
    assert reading.questions[0].params == {"count": "5", "labels": "Mean, Min, Max, Median"}
    wide = ["Mean " + letter * 50 for letter in "ab"]
    reading = read(text(*map(row, wide), row("1"), head=["Name"]), "wide.csv")
    assert reading.questions[0].params["labels"] == ", ".join(wide)[:80]


def test_lights_and_colorimetric_observers_part_no_spectra():
    data = text(row("1", "D65/10°"), row("1", "A/10°"), head=["Name", "Colours under"])
    assert asked(read(data, "lights.csv")) == []


def test_what_is_left_out_is_counted_and_cells_may_be_empty():
    rows = [row("1"), row("1"), row("1"), row("2")]
    for one, mode in zip(rows, ("", "SCI", "", "SCE"), strict=True):
        one.append(mode)
    lines = [["Name", *map(str, NM), "Mode"], *rows]
    lines[1].pop()  # the last cell, empty as it is, is not even written
    reading = read("\n".join(";".join(one) for one in lines).encode(), "gaps.csv")
    (mode,) = reading.questions
    assert [one.message for one in mode.choices][1:] == ["SCI", "SCE"]
    for answer, left in (("1", "2"), ("2", "3"), ("3", "3")):
        shown = reading.again({"mode": answer})
        assert oddities(shown)["mode-left"]["count"] == left
        assert len(shown.labels) == 4 - int(left)


def test_objects_left_out_repeat_no_label_any_more():
    objects = [
        thing(spectrum(), "A", "i1", "Target"),
        thing(spectrum(), "A", "i2", "Trial"),
        thing(spectrum(), "B", "i3", "Trial"),
    ]
    reading = read(cxf(objects), "trial.cxf")
    assert oddities(reading)["repeated-labels"] == {"count": "1"}
    shown = reading.again({"other_rows": "left"})
    assert "repeated-labels" not in oddities(shown) and shown.labels == ("A", "B")


def test_every_figure_before_a_percent_sign_is_kept():
    data = text(["1", *(f"{nm / 9:.3f}%" for nm in NM)], head=["Name"])
    values = resolve(read(data, "figures.csv"), {}).values[0]
    assert np.allclose(values * 100, [round(nm / 9, 3) for nm in NM], atol=1e-12)


def test_a_row_of_units_that_ends_early_or_changes_is_none():
    for units in (["%"] * (len(NM) - 1), ["%"] * (len(NM) - 1) + ["R%"]):
        with pytest.raises(ReadError) as error:
            read(text(["unit", *units], row("1"), head=["Name"]), "units.csv")
        assert error.value.line == 2
