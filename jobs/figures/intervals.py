"""Values with their intervals: a bar from zero, and a line from the low to the high end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext

from jobs.figures import axes, labels
from jobs.figures.bubbles import Datum
from jobs.figures.canvas import Canvas
from jobs.figures.drawing import (
    Column,
    Conditions,
    Drawing,
    Number,
    Setting,
    Table,
    exact,
    finite,
    shown,
)
from jobs.figures.letters import SMALL, fitted
from jobs.figures.looks import AXIS, Fill, Look, Tone

MOST_ROWS = 40
TOP, BOTTOM, BAR, CAP = 20, 48, 12, 4
BARS = Look(Tone.ZONE, Fill.SOLID, 0)
ENDS = Look(width=1.5)
LINE = Look(Tone.INK, width=1.5, dash="6 3")


@dataclass(frozen=True)
class Interval:
    """A value and the ends of its interval."""

    label: str
    value: Number
    low: Number
    high: Number


@dataclass(frozen=True)
class Intervals:
    """1 to 40 values in `unit`, `interval_words` say what the interval is (95 % confidence).
    `mark`: a number that matters, with its words. Texts are translated. Raises ValueError for no
    or too many rows, a value outside its interval, a number that is not finite."""

    title: str
    unit: str
    conditions: Conditions
    rows: Sequence[Interval]
    interval_words: str
    mark: tuple[Number, str] | None = None

    def __post_init__(self) -> None:
        if not 0 < len(self.rows) <= MOST_ROWS:
            raise ValueError(f"a figure takes 1 to {MOST_ROWS} rows, not {len(self.rows)}")
        for row in self.rows:
            finite(row.low, row.value, row.high)
            if not exact(row.low) <= exact(row.value) <= exact(row.high):
                raise ValueError(f"{row.label}: the value lies outside its interval")
        if self.mark is not None:
            finite(self.mark[0])


def draw(intervals: Intervals, setting: Setting) -> Drawing:
    """Bars start at zero; value and ends stand beside them."""
    narrow = setting.narrow
    step = 42 if narrow else 24
    left, right = (20, 320) if narrow else (168, 464)
    foot = TOP + step * len(intervals.rows)
    entries = [labels.Said(gettext("value"), "disc"), labels.Said(intervals.interval_words, ENDS)]
    if intervals.mark is not None:
        entries.append(labels.Said(f"{intervals.mark[1]}: {shown(intervals.mark[0])}", LINE))
    canvas = Canvas(setting, foot + BOTTOM + labels.key_height(entries, setting.width))
    numbers = [number for row in intervals.rows for number in (row.low, row.high)]
    marked = [intervals.mark[0]] if intervals.mark is not None else []
    scale = axes.scale([0, *numbers, *marked], most=4 if narrow else 6)
    plot = canvas.plot((left, TOP, right, foot), scale.span, (foot, TOP))
    middles = [TOP + step * place + (29 if narrow else 12) for place in range(len(intervals.rows))]
    rows = list(zip(intervals.rows, middles, strict=True))
    half = BAR / 2
    plot.areas([(0, y - half, row.value, y + half) for row, y in rows], BARS, "bar")
    reach = 9 if narrow else step / 2  # not through the words between the bars
    plot.segments([(0, y - reach, 0, y + reach) for _, y in rows], AXIS, "zero")
    if intervals.mark is not None:
        at = intervals.mark[0]
        plot.segments([(at, y - reach, at, y + reach) for _, y in rows], LINE, "marked")
    plot.segments([(row.low, y, row.high, y) for row, y in rows], ENDS, "interval")
    caps = [(end, y - CAP, end, y + CAP) for row, y in rows for end in (row.low, row.high)]
    plot.segments(caps, ENDS, "cap")
    plot.marks(
        "disc", [_datum(row, intervals) for row, _ in rows], [(row.value, y) for row, y in rows]
    )
    for row, middle in rows:
        _words(canvas, row, middle)
    axes.across(plot, scale.ticks, scale.texts(), intervals.conditions.axis(intervals.unit))
    labels.key(canvas, entries, foot + BOTTOM - 4)
    description = intervals.conditions.after(
        gettext("Each value as a bar from zero, with its interval."), f"{intervals.interval_words}."
    )
    svg = canvas.finish(intervals.title, description)
    return Drawing(svg, intervals.title, description, _table(intervals))


def _numbers(row: Interval) -> str:
    return f"{shown(row.value)} ({shown(row.low)} … {shown(row.high)})"


def _datum(row: Interval, intervals: Intervals) -> Datum:
    numbers = {"x": shown(row.value), "low": shown(row.low), "high": shown(row.high)}
    said = f"{row.label}: {_numbers(row)} {intervals.unit}"
    return Datum(said, f"{intervals.interval_words}, {intervals.conditions.words}", numbers)


def _words(canvas: Canvas, row: Interval, middle: float) -> None:
    if canvas.setting.narrow:
        canvas.text(8, middle - 12, fitted(row.label, 150))
        canvas.text(332, middle - 12, fitted(_numbers(row), 162, SMALL), anchor="end", size=SMALL)
        return
    canvas.text(152, middle + 4, fitted(row.label, 148), anchor="end")
    canvas.text(480, middle + 4, fitted(_numbers(row), canvas.width - 484))


def _table(intervals: Intervals) -> Table:
    columns = (
        Column(gettext("What"), number=False),
        Column(intervals.unit),
        Column(gettext("low end")),
        Column(gettext("high end")),
    )
    rows = tuple(
        (row.label, shown(row.value), shown(row.low), shown(row.high)) for row in intervals.rows
    )
    return Table(f"{intervals.title} ({intervals.interval_words})", columns, rows)
