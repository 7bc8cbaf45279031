"""Marks, lines and areas of each kind stand where the numbers say; the tables say the same.

Scales are read from the printed ticks (tests/figures/reading.py); half a unit is the tolerance.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from decimal import Decimal as D
from random import Random

import pytest

from jobs.figures import (
    arrangement,
    characteristic,
    differences,
    intervals,
    lamp,
    lots,
    panel,
    plane,
    spectra,
)
from jobs.figures.drawing import Conditions, Setting, shown
from tests.figures import reading, samples

NEAR = 0.5
BOTH = [Setting("fig"), Setting("fig", narrow=True)]
SEEDS = range(3)


@pytest.fixture(params=BOTH, ids=["wide", "narrow"])
def setting(request) -> Setting:
    return request.param


def near(place: float):
    return pytest.approx(place, abs=NEAR)


def even(root, *names: str) -> None:
    """The ticks of an axis stand in one straight scale."""
    for name in names:
        axis = reading.axis(root, name)
        assert len(axis.texts) >= 2
        for place, text in zip(axis.places, axis.texts, strict=True):
            assert place == pytest.approx(axis.place(reading.number(text)), abs=0.05)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("count", [3, 60])
def test_colours_in_the_plane_and_on_the_strip(setting, seed, count):
    data = samples.plane_of(count, seed)
    drawing = plane.draw(data, setting)
    root = reading.parsed(drawing.svg)
    even(root, "x", "y", "y-lightness")
    across, up = reading.axis(root, "x"), reading.axis(root, "y")
    strip = reading.axis(root, "y-lightness")
    marks = [mark for mark in reading.marks(root) if "x" in mark.data]
    assert len(marks) == count + 1
    for mark in marks:
        assert mark.x == near(across.place(reading.number(mark.data["x"])))
        assert mark.y == near(up.place(reading.number(mark.data["y"])))
    in_table = sorted(row[2:4] for row in drawing.table.rows)
    assert in_table == sorted((mark.data["x"], mark.data["y"]) for mark in marks)
    if count == 3:
        for mark in (mark for mark in reading.marks(root) if "l" in mark.data):
            assert mark.y == near(strip.place(reading.number(mark.data["l"])))
    else:
        rug = reading.named(root, "lightness")
        for line, one in zip(rug, data.specimens, strict=True):
            assert line[0][1] == line[1][1] == near(strip.place(float(one.lightness)))
    assert [row[1] for row in drawing.table.rows[1:]] == [
        shown(s.lightness) for s in data.specimens
    ]
    ends = [line[0][1] for line in reading.named(root, "lightness-limit")]
    assert ends == [near(strip.place(51.2)), near(strip.place(52.8))]


def test_a_circle_is_round_and_a_box_and_a_locus_lie_where_they_should(setting):
    root = reading.parsed(plane.draw(samples.plane_of(4), setting).svg)
    across, up = reading.axis(root, "x"), reading.axis(root, "y")
    left, top, right, bottom = reading.bounds(reading.named(root, "limit")[0])
    assert (left, right) == (near(across.place(17.2)), near(across.place(18.8)))
    assert (top, bottom) == (near(up.place(-23.2)), near(up.place(-24.8)))
    assert right - left == near(bottom - top)

    box = plane.Box((D("-0.6"), D("0.4")), (D("-0.5"), D("0.9")))
    root = reading.parsed(plane.draw(samples.plane_of(4, limit=box), setting).svg)
    across, up = reading.axis(root, "x"), reading.axis(root, "y")
    found = reading.bounds(reading.named(root, "limit")[0])
    asked = (across.place(17.4), up.place(-23.1), across.place(18.4), up.place(-24.5))
    assert found == tuple(map(near, asked))

    locus = samples.locus()
    root = reading.parsed(plane.draw(samples.plane_of(4, limit=locus), setting).svg)
    across, up = reading.axis(root, "x"), reading.axis(root, "y")
    for (x, y), (a, b) in zip(reading.named(root, "limit")[0], locus.points, strict=False):
        assert (x, y) == (near(across.place(a)), near(up.place(b)))


@pytest.mark.parametrize("inner", [True, False])
def test_u_of_the_difference_lies_on_both_sides_of_the_limit(setting, inner):
    data = samples.zone_of(3, inner)
    root = reading.parsed(plane.draw(data, setting).svg)
    across, up = reading.axis(root, "x"), reading.axis(root, "y")
    strip = reading.axis(root, "y-lightness")
    lines = reading.named(root, "u")
    assert len(lines) == len(data.uncertainty.lines) == (2 if inner else 1)
    for line, locus in zip(lines, data.uncertainty.lines, strict=True):
        for (x, y), (a, b) in zip(line, locus.points, strict=False):
            assert (x, y) == (near(across.place(a)), near(up.place(b)))
    ends = [line[0][1] for line in reading.named(root, "lightness-zone")]
    assert ends == [near(strip.place(float(end))) for end in data.uncertainty.lightness]


@pytest.mark.parametrize("correlation", [0.0, 0.6, -1.0])
def test_the_ellipse_reaches_u_on_each_axis(correlation):
    """The bounds of the ellipse x' C⁻¹ x = 1 are the square roots of the diagonal of C."""
    u = plane.Uncertainty(D("0.2"), D("0.30"), D("0.10"), correlation)
    data = samples.plane_of(3, uncertainty=u)
    root = reading.parsed(plane.draw(data, Setting("fig")).svg)
    across, up = reading.axis(root, "x"), reading.axis(root, "y")
    for points, one in zip(reading.named(root, "u"), data.specimens, strict=True):
        left, top, right, bottom = reading.bounds(points)
        # the points of the curves lie on the ellipse; its bounds may lie a little outside them
        assert right - left <= 2 * across.length(0.3) + NEAR
        assert bottom - top <= 2 * up.length(0.1) + NEAR
        assert (left + right) / 2 == near(across.place(float(one.a)))
        assert (top + bottom) / 2 == near(up.place(float(one.b)))
        for x, y in points:
            a = (x - across.place(float(one.a))) / across.length(0.3)
            b = (up.place(float(one.b)) - y) / up.length(0.1)
            if abs(correlation) < 1:
                form = (a * a - 2 * correlation * a * b + b * b) / (1 - correlation**2)
                assert form == pytest.approx(1, abs=0.05)
            else:
                assert a == pytest.approx(-b, abs=0.05)


@pytest.mark.parametrize("count", [1, 6, 7, 50])
def test_spectra(setting, count):
    data = samples.spectra_of(count)
    drawing = spectra.draw(data, setting)
    root = reading.parsed(drawing.svg)
    even(root, "x", "y")
    across, up = reading.axis(root, "x"), reading.axis(root, "y")
    heads = [column.head for column in drawing.table.columns]
    columns = {head: [row[i] for row in drawing.table.rows] for i, head in enumerate(heads)}
    names = [f"P{place + 1}" for place in range(count)] if count <= 6 else ["lowest", "highest"]
    assert heads == ["nm", "Master M-7", *names]
    drawn = reading.named(root, "reference")
    drawn += reading.named(root, "specimen") if count <= 6 else [
        *reading.named(root, "lowest"), *reading.named(root, "highest")
    ]  # fmt: skip
    assert len(drawn) == len(heads) - 1
    for line, head in zip(drawn, heads[1:], strict=True):
        for (x, y), nm, value in zip(line, columns["nm"], columns[head], strict=True):
            assert (x, y) == (near(across.place(float(nm))), near(up.place(float(value))))
    marks = reading.marks(root)
    assert [(m.data["x"], m.data["y"]) for m in marks] == [row[:2] for row in drawing.table.rows]
    for mark in marks:
        assert mark.y == near(up.place(float(mark.data["y"])))
    if count > 6:
        values = [[round(v, 2) for v in curve.values] for curve in data.specimens]
        assert [float(v) for v in columns["highest"]] == [max(c) for c in zip(*values, strict=True)]


@pytest.mark.parametrize("count", [1, 6, 40])
def test_spectra_without_a_reference(setting, count):
    data = replace(samples.spectra_of(count), reference=None)
    drawing = spectra.draw(data, setting)
    root = reading.parsed(drawing.svg)
    across, up = reading.axis(root, "x"), reading.axis(root, "y")
    assert reading.named(root, "reference") == [] and "reference" not in drawing.description
    parts = ["specimen"] if count <= 6 else ["lowest", "highest"]
    drawn = [line for part in parts for line in reading.named(root, part)]
    columns = list(zip(*drawing.table.rows, strict=True))
    assert len(drawn) == len(columns) - 1
    for line, column in zip(drawn, columns[1:], strict=True):
        for (x, y), nm, value in zip(line, columns[0], column, strict=True):
            assert (x, y) == (near(across.place(float(nm))), near(up.place(float(value))))
    for mark in reading.marks(root):
        assert mark.y == near(up.place(float(mark.data["y"])))


@pytest.mark.parametrize("count", [1, 8, 30])
def test_differences(setting, count):
    data = samples.differences_of(count)
    drawing = differences.draw(data, setting)
    root = reading.parsed(drawing.svg)
    even(root, "x")
    axis = reading.axis(root, "x")
    marks = reading.marks(root)
    assert len(marks) == 3 * count == len(drawing.table.rows)
    assert sorted((m.data["group"], m.data["x"]) for m in marks) == sorted(
        (row[0], row[2]) for row in drawing.table.rows
    )
    zones = [reading.bounds(points) for points in reading.named(root, "zone")]
    limits = reading.named(root, "limit")
    for group, zone, limit in zip(data.groups, zones, limits, strict=True):
        assert limit[0][0] == limit[1][0] == near(axis.place(float(group.limit)))
        assert zone[0] == near(axis.place(float(group.limit - group.uncertainty)))
        assert zone[2] == near(axis.place(float(group.limit + group.uncertainty)))
        for mark in (mark for mark in marks if mark.data["group"] == group.illuminant):
            assert mark.x == near(axis.place(float(mark.data["x"])))
            assert zone[1] < mark.y < zone[3]


def test_differences_of_very_many_are_counted_and_stand_right():
    data = samples.differences_of(200)
    root = reading.parsed(differences.draw(data, Setting("fig")).svg)
    axis = reading.axis(root, "x")
    uses = [
        use for use in root.iter(f"{reading.SVG}use") if float(use.get("y", "0")) < axis_top(root)
    ]
    places = sorted(float(use.get("x", "nan")) for use in uses)
    asked = sorted(axis.place(float(one.value)) for group in data.groups for one in group.values)
    assert len(places) == 600 and places == [near(place) for place in asked]


def axis_top(root) -> float:
    """Where the axis across lies: the key is below."""
    group = next(g for g in root.iter(f"{reading.SVG}g") if g.get("data-axis") == "x")
    return reading.corners(next(group.iter(f"{reading.SVG}path")).get("d", ""))[0][1]


def test_panel(setting):
    data = samples.panel_of(9)
    drawing = panel.draw(data, setting)
    root = reading.parsed(drawing.svg)
    even(root, "x")
    axis = reading.axis(root, "x")
    marks = reading.marks(root)
    for row in drawing.table.rows:
        own = [mark for mark in marks if mark.data["row"] == row[0]]
        lengths = [int(mark.data["to"]) - int(mark.data["x"]) for mark in own]
        assert lengths == [int(count) for count in row[1:4] if count != "0"]
        for mark in own:
            assert mark.box[0] == near(axis.place(float(mark.data["x"])))
            assert mark.box[2] == near(axis.place(float(mark.data["to"])))
    needed = reading.named(root, "needed")
    assert len(needed) == 9 and all(x == near(axis.place(5)) for line in needed for x, _ in line)


@pytest.mark.parametrize("count", [1, 12, 80])
def test_lots(setting, count):
    data = samples.lots_of(count)
    drawing = lots.draw(data, setting)
    root = reading.parsed(drawing.svg)
    even(root, "y")
    up, days = reading.axis(root, "y"), reading.axis(root, "x")
    marks = reading.marks(root)
    assert sorted((m.data["x"], m.data["y"]) for m in marks) == sorted(
        row[1:3] for row in drawing.table.rows
    )
    for mark in marks:
        assert mark.y == near(up.place(float(mark.data["y"])))
    if len(days.texts) > 1:
        first, last = (date.fromisoformat(days.texts[place]) for place in (0, -1))
        unit = (days.places[-1] - days.places[0]) / (last - first).days
        for mark in marks:
            passed = (date.fromisoformat(mark.data["x"]) - first).days
            assert mark.x == near(days.places[0] + passed * unit)
    bars = {(round(line[0][0], 1), line[0][1], line[1][1]) for line in reading.named(root, "u")}
    assert len(bars) == count
    for one, line in zip(data.lots, reading.named(root, "u"), strict=True):
        assert line[0][1] == near(up.place(float(one.value - one.uncertainty)))
        assert line[1][1] == near(up.place(float(one.value + one.uncertainty)))
    heights = {line[0][1] for line in reading.named(root, "limit")}
    values = {reading.number(row[4]) for row in drawing.table.rows}
    assert all(any(up.place(value) == near(height) for height in heights) for value in values)


def test_the_limit_changes_on_its_day_and_the_table_names_the_one_that_bound():
    data = samples.lots_of(20)
    drawing = lots.draw(data, Setting("fig"))
    root = reading.parsed(drawing.svg)
    days = reading.axis(root, "x")
    first, last = (date.fromisoformat(days.texts[place]) for place in (0, -1))
    unit = (days.places[-1] - days.places[0]) / (last - first).days
    before, after = reading.named(root, "limit")
    changed = days.places[0] + (data.limits[1].since - first).days * unit
    assert before[1][0] == after[0][0] == near(changed)
    for row in drawing.table.rows:
        late = date.fromisoformat(row[1]) >= data.limits[1].since
        assert row[4] == ("1.00" if late else "1.20")


def test_a_lot_with_a_limit_of_its_own_has_it_in_the_table():
    data = samples.lots_of(3)
    own = replace(data.lots[0], limit=D("0.90"))
    drawing = lots.draw(replace(data, lots=[own, *data.lots[1:]]), Setting("fig"))
    assert {row[0]: row[4] for row in drawing.table.rows}[own.label] == "0.90"


def test_lots_of_one_day_stand_side_by_side_before_the_next(setting):
    data = samples.lots_of(6)
    together = [replace(one, day=date(2026, 3, 2)) for one in data.lots[:4]]
    later = replace(data.lots[4], day=date(2026, 3, 12))
    drawing = lots.draw(replace(data, lots=[*together, later]), setting)
    root = reading.parsed(drawing.svg)
    days = reading.axis(root, "x")
    first, last = (date.fromisoformat(days.texts[place]) for place in (0, -1))
    unit = (days.places[-1] - days.places[0]) / (last - first).days
    start = days.places[0] + (date(2026, 3, 2) - first).days * unit
    found = [line[0][0] for line in reading.named(root, "u")]
    assert found[:4] == [near(start + place * unit / 4) for place in range(4)]
    assert found[4] == near(start + 10 * unit)


def test_characteristic(setting):
    data = samples.characteristic_of()
    drawing = characteristic.draw(data, setting)
    root = reading.parsed(drawing.svg)
    even(root, "x", "y")
    across, up = reading.axis(root, "x"), reading.axis(root, "y")
    (curve,) = reading.named(root, "curve")
    for (x, y), (percent, chance) in zip(curve, data.curve, strict=True):
        assert (x, y) == (near(across.place(percent)), near(up.place(chance)))
    marks = reading.marks(root)
    assert len(marks) == 2
    for mark in marks:
        assert mark.x == near(across.place(float(mark.data["x"])))
        assert mark.y == near(up.place(float(mark.data["y"])))
    named = [row[:2] for row in drawing.table.rows if row[2]]
    assert named == [(mark.data["x"], mark.data["y"]) for mark in marks]
    assert len(drawing.table.rows) == len(data.curve) + 2


def test_lamp(setting):
    data = samples.lamp_of()
    drawing = lamp.draw(data, setting)
    root = reading.parsed(drawing.svg)
    even(root, "x", "y")
    across, up = reading.axis(root, "x"), reading.axis(root, "y")
    (measured,), (edge,) = reading.named(root, "measured"), reading.named(root, "edge")
    for i, line in ((1, edge), (2, measured)):
        for (x, y), row in zip(line, drawing.table.rows, strict=True):
            assert (x, y) == (near(across.place(float(row[0]))), near(up.place(float(row[i]))))
    assert next(row for row in drawing.table.rows if row[0] == "560")[1:] == ("100.0", "100.0")
    raw = data.measured.values
    share = raw[10] / raw[data.wavelengths.index(560)]
    assert float(drawing.table.rows[10][2]) == pytest.approx(100 * share, abs=0.05)


@pytest.mark.parametrize("caps", [4, 85])
@pytest.mark.parametrize("least", [0, 2])
def test_arrangement(setting, caps, least):
    random = Random(caps)
    errors = [least + random.randint(0, 9) for _ in range(caps)]
    data = arrangement.Arrangement("t", Conditions(other="invented"), errors, least)
    drawing = arrangement.draw(data, setting)
    root = reading.parsed(drawing.svg)
    even(root, "y")
    up = reading.axis(root, "y")
    left, top, right, bottom = reading.bounds(reading.named(root, "least")[0])
    x0, y0 = (left + right) / 2, (top + bottom) / 2
    assert up.place(least) == near(top)
    turns = []
    for mark in reading.marks(root):
        away = math.hypot(mark.x - x0, mark.y - y0)
        assert away == near(y0 - up.place(float(mark.data["y"])))
        turns.append(math.atan2(mark.x - x0, y0 - mark.y) % (2 * math.pi))
    assert turns == sorted(turns) and len(turns) == caps  # clockwise from the top
    assert drawing.table.rows == tuple((str(i), str(e)) for i, e in enumerate(errors, 1))
    assert [m.data["y"] for m in reading.marks(root)] == [row[1] for row in drawing.table.rows]


def test_an_arrangement_without_error_and_its_words():
    data = replace(samples.arrangement_of(), errors=[2] * 85)
    drawing = arrangement.draw(data, Setting("fig"))
    assert len({m.data["y"] for m in reading.marks(reading.parsed(drawing.svg))}) == 1
    assert "screening, not a diagnosis" in drawing.description
    for judging in ("superior", "average", "low ", "defic", "normal"):
        assert judging not in drawing.svg


def test_intervals(setting):
    data = samples.intervals_of()
    drawing = intervals.draw(data, setting)
    root = reading.parsed(drawing.svg)
    even(root, "x")
    axis = reading.axis(root, "x")
    bars = [reading.bounds(points) for points in reading.named(root, "bar")]
    lines = reading.named(root, "interval")
    marks = reading.marks(root)
    for row, mark, bar, line in zip(data.rows, marks, bars, lines, strict=True):
        assert mark.x == near(axis.place(float(row.value)))
        ends = sorted((axis.place(0), axis.place(float(row.value))))
        assert (bar[0], bar[2]) == (near(ends[0]), near(ends[1]))
        assert (line[0][0], line[1][0]) == (
            near(axis.place(float(row.low))),
            near(axis.place(float(row.high))),
        )
    found = [(m.data["x"], m.data["low"], m.data["high"]) for m in marks]
    assert found == [row[1:] for row in drawing.table.rows]


NAN = math.nan
TOLD = Conditions(other="invented")


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: samples.plane_of(0), "specimen"),
        (lambda: samples.plane_of(1, lightness_limits=(NAN, 1)), "finite"),
        (lambda: samples.plane_of(1, limit=plane.Circle(NAN)), "finite"),
        (lambda: samples.plane_of(1, limit=plane.Locus([(0, 0), (1, 1)])), "three"),
        (lambda: samples.plane_of(1, uncertainty=plane.Uncertainty(1, 1, 1, 1.5)), "correlation"),
        (lambda: samples.plane_of(1, uncertainty=plane.Uncertainty(1, -1, 1)), "negative"),
        (lambda: samples.spectra_of(0), "specimen"),
        (lambda: replace(samples.spectra_of(1), wavelengths=[400]), "rising"),
        (lambda: replace(samples.spectra_of(1), wavelengths=[400] * 31), "rising"),
        (lambda: replace(samples.spectra_of(1), reference=spectra.Curve("M", [1])), "31"),
        (lambda: samples.differences_of(0), "specimen"),
        (lambda: samples.differences_of(1, ()), "illuminant"),
        (lambda: samples.panel_of(0), "rows"),
        (lambda: samples.panel_of(41), "rows"),
        (lambda: panel.Panel("t", TOLD, [panel.Judged("P", 0, 0, 0, "")]), "no judgement"),
        (lambda: panel.Panel("t", TOLD, [panel.Judged("P", 2, -1, 0, "")]), "negative"),
        (lambda: samples.lots_of(0), "lot"),
        (lambda: replace(samples.lots_of(1), limits=samples.lots_of(9).limits[::-1]), "time"),
        (lambda: replace(samples.characteristic_of(), curve=[(0, 1)]), "two points"),
        (lambda: replace(samples.characteristic_of(), curve=[(0, 1), (1, 1.1)]), "between"),
        (lambda: replace(samples.characteristic_of(), curve=[(0, 1), (1, NAN)]), "finite"),
        (lambda: samples.lamp_of(7), "560"),
        (lambda: replace(samples.lamp_of(20), measured=spectra.Curve("L", [0] * 21)), "no power"),
        (lambda: arrangement.Arrangement("t", TOLD, []), "caps"),
        (lambda: arrangement.Arrangement("t", TOLD, [2, 2]), "three|3"),
        (lambda: arrangement.Arrangement("t", TOLD, [2, 2, 1], 2), "below"),
        (lambda: replace(samples.intervals_of(), rows=[]), "rows"),
        (
            lambda: replace(samples.intervals_of(), rows=[intervals.Interval("k", 2, 0, 1)]),
            "outside",
        ),
    ],
)
def test_unfit_data_are_refused_with_the_reason(make, says):
    with pytest.raises(ValueError, match=says):
        make()
