"""The figure of margins: marks by shape, at the right place, words and numbers beside them."""

from __future__ import annotations

from decimal import Decimal as D
from random import Random

import pytest

from jobs.figures import margins
from jobs.figures.drawing import Conditions, Drawing, Setting
from tests.figures import reading, samples

CONDITIONS = Conditions(formula="ΔE00", illuminant="D65", observer="10°")


def figure(*rows: margins.Row, narrow: bool = False) -> Drawing:
    data = margins.Margins("Margins <D65>", "ΔE₀₀", CONDITIONS, rows)
    return margins.draw(data, Setting("fig", narrow=narrow))


def row(value: str, limit: str = "1.00", u: str = "0.20", label: str = "P1", state: str = "ok"):
    return margins.Row(label, D(value), D(limit), D(u), state)


@pytest.mark.parametrize(
    ("value", "points"),
    [("0", 9), ("0.80", 9), ("0.81", 4), ("1.00", 4), ("1.20", 4), ("1.21", 2)],
)
def test_the_shape_says_on_which_side_of_the_zone_the_value_lies(value, points):
    """A disc of arcs to 0.80, a diamond with four corners to 1.20, then a cross of two lines."""
    (mark,) = reading.marks(reading.parsed(figure(row(value)).svg))
    kinds = {9: ("C", True), 4: ("L", True), 2: ("M", False)}
    sign, closed = kinds[points]
    assert sign in mark.d and mark.d.endswith("z") is closed
    assert mark.d.count("M") == (2 if points == 2 else 1)


@pytest.mark.parametrize("narrow", [False, True])
@pytest.mark.parametrize("seed", range(6))
def test_marks_limits_and_zones_stand_where_the_numbers_say(seed, narrow):
    random = Random(seed)
    size = 10.0 ** random.randint(-2, 3)
    rows = [
        margins.Row(
            f"P{place}",
            samples.decimal(random, 0, 2 * size, 3),
            samples.decimal(random, 0.5 * size, 1.5 * size, 3),
            samples.decimal(random, 0, 0.6 * size, 3),
            "state",
        )
        for place in range(random.randint(1, 12))
    ]
    root = reading.parsed(figure(*rows, narrow=narrow).svg)
    axis = reading.axis(root, "x")
    limits = reading.named(root, "limit")
    zones = [reading.bounds(path) for path in reading.named(root, "zone")]
    seen = sorted(reading.marks(root), key=lambda mark: mark.y)
    assert len(seen) == len(limits) == len(zones) == len(rows)
    for one, mark, limit, zone in zip(rows, seen, limits, zones, strict=True):
        assert mark.x == pytest.approx(axis.place(float(one.value)), abs=0.5)
        assert limit[0][0] == limit[1][0] == pytest.approx(axis.place(float(one.limit)), abs=0.5)
        low = max(float(one.limit - one.uncertainty), 0)
        assert zone[0] == pytest.approx(axis.place(low), abs=0.5)
        assert zone[2] == pytest.approx(axis.place(float(one.limit + one.uncertainty)), abs=0.5)
        assert {limit[0][1], limit[1][1]} == {zone[1], zone[3]}
        assert mark.y == pytest.approx((zone[1] + zone[3]) / 2, abs=0.02)


@pytest.mark.parametrize("greatest", ["0.004", "0.07", "0.9", "1", "1.7", "3.3", "9.99", "640"])
def test_the_axis_begins_at_zero_and_has_few_even_ticks(greatest):
    root = reading.parsed(figure(row(greatest, limit="0.5", u="0.1"), row("0", "0.001", "0")).svg)
    axis = reading.axis(root, "x")
    assert 3 <= len(axis.texts) <= 8 and reading.number(axis.texts[0]) == 0
    for place, text in zip(axis.places, axis.texts, strict=True):
        assert place == pytest.approx(axis.place(reading.number(text)), abs=0.02)
    assert reading.number(axis.texts[-1]) >= float(greatest)


def test_value_and_state_stand_in_words_and_long_labels_are_cut():
    drawing = figure(row("0.540", label="<b>" + "长" * 40, state="conforming"))
    found = reading.texts(reading.parsed(drawing.svg))
    assert "0.540" in found and "conforming" in found and "ΔE₀₀ (D65, 10°)" in found
    cut = next(text for text in found if text.startswith("<b>长"))
    assert cut.endswith("…") and len(cut) < 20


def test_the_table_has_what_the_marks_have():
    data = samples.margin_rows(40)
    drawing = margins.draw(data, Setting("fig"))
    marks = sorted(reading.marks(reading.parsed(drawing.svg)), key=lambda mark: mark.y)
    from_marks = [(m.data["x"], m.data["limit"], m.data["u"]) for m in marks]
    assert [row[1:4] for row in drawing.table.rows] == from_marks
    assert [row[0] for row in drawing.table.rows] == [row.label for row in data.rows]


@pytest.mark.parametrize("bad", ["-0.1", "NaN", "Infinity"])
def test_unfit_numbers_are_refused(bad):
    for broken in (row(bad), row("1", limit=bad), row("1", u=bad)):
        with pytest.raises(ValueError, match="finite"):
            figure(broken)


def test_no_rows_and_too_many_rows_are_refused():
    for count in (0, margins.MOST_ROWS + 1):
        with pytest.raises(ValueError, match="rows"):
            figure(*[row("0.5")] * count)
    assert figure(*[row("0.5")] * margins.MOST_ROWS).svg
