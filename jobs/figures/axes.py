"""Scales and axes: few ticks at round numbers, thin lines, the label with its unit beside them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from jobs.figures import library
from jobs.figures.canvas import Plot, Text
from jobs.figures.drawing import Number, shown
from jobs.figures.letters import SMALL, fitted, width
from jobs.figures.looks import AXIS, RULE, Tone

TICK, BELOW, LABEL_BELOW, BESIDE = 4, 17, 36, 8
HALF_DIGIT = 4  # from the middle of a digit down to its base line


@dataclass(frozen=True)
class Scale:
    """The ends of an axis and the numbers that stand at it."""

    low: float
    high: float
    ticks: tuple[Decimal, ...]

    @property
    def span(self) -> tuple[float, float]:
        """Low and high."""
        return self.low, self.high

    def texts(self) -> list[str]:
        """The ticks as printed."""
        return [shown(tick) for tick in self.ticks]

    def widest(self) -> float:
        """The room that the texts need."""
        return max(width(text, SMALL) for text in self.texts())


def scale(numbers: Iterable[Number], *, most: int = 5, room: float = 0.0) -> Scale:
    """An axis that holds all numbers and ends at ticks: 1, 2 or 5 times a power of ten apart.

    `most`: how many intervals at most; `room`: share of the span that is added at both ends.
    """
    known = [float(number) for number in numbers]
    low, high = min(known), max(known)
    spare = (high - low) * room
    low, high = low - spare, high + spare
    if low == high:
        low, high = (low, low + 1) if low >= 0 else (low - 1, low)
    ticks = _round(low, high, most)
    return Scale(float(ticks[0]), float(ticks[-1]), ticks)


def within(low: float, high: float, *, most: int = 5) -> Scale:
    """An axis with the given ends and ticks at the round numbers between them."""
    ticks = tuple(tick for tick in _round(low, high, most) if low <= float(tick) <= high)
    return Scale(low, high, ticks)


def _round(low: float, high: float, most: int) -> tuple[Decimal, ...]:
    """Ticks from at or below `low` to at or above `high`, each with the decimals of the step."""
    locator = library.load().MaxNLocator(nbins=most, steps=[1, 2, 5, 10])
    found = [float(tick) for tick in locator.tick_values(low, high)]
    step = Decimal(f"{found[1] - found[0]:.3g}").normalize()
    unit = Decimal(1).scaleb(min(int(step.as_tuple().exponent), 0))
    return tuple(Decimal(repr(tick)).quantize(unit) + 0 for tick in found)


def days(first: date, last: date, most: int) -> list[date]:
    """Round days (of a week, a month, a year) from one date to another, both included."""
    locator = library.load().AutoDateLocator(minticks=2, maxticks=most)
    start, end = (datetime(day.year, day.month, day.day) for day in (first, last))  # noqa: DTZ001
    numbers = locator.tick_values(start, end)
    found = {date.fromordinal(date(1970, 1, 1).toordinal() + round(number)) for number in numbers}
    return sorted(day for day in found if first <= day <= last)


def across(
    plot: Plot,
    places: Sequence[Number],
    texts: Sequence[str],
    label: str,
    *,
    name: str = "x",
    ruled: bool = False,
) -> None:
    """The axis along the lower edge: line, short ticks, numbers, label below; `ruled`: a thin line
    upwards at each number."""
    left, top, right, bottom = plot.box
    at = [plot.at(place, plot.y[0])[0] for place in places]
    sheet = plot.canvas.sheet
    if ruled:
        sheet.segments([(x, top, x, bottom) for x in at], RULE)
    sheet.segments([(left, bottom, right, bottom)], AXIS)
    ticks = sheet.segments([(x, bottom, x, bottom + TICK) for x in at], AXIS)
    ticks.extra["data-axis"] = name
    ticks.texts += [
        Text(_kept(plot, x, width(text, SMALL)), bottom + BELOW, text, "middle", Tone.QUIET, SMALL)
        for x, text in zip(at, texts, strict=True)
    ]
    if label:
        said = fitted(label, plot.canvas.width - 8)
        middle = _kept(plot, (left + right) / 2, width(said))
        plot.canvas.text(middle, bottom + LABEL_BELOW, said, anchor="middle")


def _kept(plot: Plot, middle: float, wide: float) -> float:
    """The middle of a text below an axis, moved where the text would leave the sheet."""
    return min(max(middle, wide / 2 + 3), plot.canvas.width - wide / 2 - 3)


def upwards(
    plot: Plot,
    places: Sequence[Number],
    texts: Sequence[str],
    label: str,
    *,
    name: str = "y",
    lift: float = 0.0,
) -> None:
    """The axis at the left: a thin line across at each number, the label above the first, `lift`
    higher where something else stands above the plot."""
    left, top, right, _ = plot.box
    at = [plot.at(plot.x[0], place)[1] for place in places]
    rules = plot.canvas.sheet.segments([(left, y, right, y) for y in at], RULE)
    rules.extra["data-axis"] = name
    rules.texts += [
        Text(left - BESIDE, y + HALF_DIGIT, text, "end", Tone.QUIET, SMALL)
        for y, text in zip(at, texts, strict=True)
    ]
    if label:
        start = left - BESIDE - max(width(text, SMALL) for text in texts)
        plot.canvas.text(start, top - 12 - lift, fitted(label, plot.canvas.width - start - 4))
