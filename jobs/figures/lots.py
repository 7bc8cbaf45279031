"""A value of each lot over time, with its uncertainty and the limit that bound it."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.translation import gettext

from jobs.figures import axes, labels
from jobs.figures.bubbles import Datum
from jobs.figures.canvas import Canvas, Plot
from jobs.figures.drawing import (
    Column,
    Conditions,
    Drawing,
    Number,
    Setting,
    Standing,
    Table,
    exact,
    not_negative,
    shown,
    some,
)
from jobs.figures.letters import SMALL, fitted, width
from jobs.figures.looks import LIMIT, RULE, THIN, Tone

TOP, HEIGHT, LINE = 36, 230, 15
DAY = 84  # room for a day in digits
MOST_TOLD = 40  # lots of which all is said at their marks; of more, the table says it


@dataclass(frozen=True)
class Lot:
    """A lot: its day, value, expanded uncertainty U and limit, what became of it by shape and in
    words. Without a `limit` of its own it is that of its day."""

    label: str
    day: date
    value: Number
    uncertainty: Number
    standing: Standing
    words: str
    limit: Number | None = None


@dataclass(frozen=True)
class Limit:
    """A limit from a day on until the next one; `words` say which revision brought it."""

    since: date
    value: Number
    words: str


@dataclass(frozen=True)
class Lots:
    """Lots in any order and limits, in `unit`. `outcomes`: what each shape means here, in words
    (accepted, not decided, rejected). Texts are translated. Raises ValueError for no lot, limits
    out of order, numbers that are negative or not finite."""

    title: str
    unit: str
    conditions: Conditions
    lots: Sequence[Lot]
    limits: Sequence[Limit]
    outcomes: dict[Standing, str]

    def __post_init__(self) -> None:
        some(self.lots, "a lot")
        for lot in self.lots:
            not_negative(lot.value, lot.uncertainty)
        not_negative(*(limit.value for limit in self.limits))
        if any(a.since >= b.since for a, b in itertools.pairwise(self.limits)):
            raise ValueError("limits follow each other in time")


def draw(lots: Lots, setting: Setting) -> Drawing:
    """Marks with bars of ±U over the days; the limit is a line that steps where a revision changed
    it, named above."""
    highest = [exact(lot.value) + exact(lot.uncertainty) for lot in lots.lots]
    scale = axes.scale([0, *highest, *(limit.value for limit in lots.limits)])
    first, last = (end(lot.day for lot in lots.lots) for end in (min, max))
    spare = max(timedelta(days=1), (last - first) / 40)
    span = (first - spare).toordinal(), (last + spare).toordinal()
    steps = _steps(lots.limits, span)
    left, right = 8 + axes.BESIDE + scale.widest(), setting.width - 16
    named = _named(steps, span, left, right)
    top = TOP + LINE * (1 + max((line for _, line, _ in named), default=-1))
    kinds = [lot.standing for lot in lots.lots]
    entries = [
        labels.Said(words, kind.value) for kind, words in lots.outcomes.items() if kind in kinds
    ]
    entries += [labels.Said(gettext("limit"), LIMIT), labels.Said("± U (k = 2)", THIN)]
    foot = top + HEIGHT
    canvas = Canvas(setting, foot + 48 + labels.key_height(entries, setting.width))
    plot = canvas.plot((left, top, right, foot), span, scale.span)
    axes.upwards(plot, scale.ticks, scale.texts(), lots.conditions.axis(lots.unit), lift=top - TOP)
    days = axes.days(first, last, 7) or [first]
    while len(days) > 1 and (right - left) / len(days) < DAY:
        days = days[::2]
    axes.across(plot, [day.toordinal() for day in days], [day.isoformat() for day in days], "")
    _limits(plot, steps, named)
    _marks(plot, lots)
    labels.key(canvas, entries, foot + 36)
    description = lots.conditions.after(
        gettext("Each lot by its day, with ±U (k = 2), and the limit that bound it.")
    )
    svg = canvas.finish(lots.title, description)
    return Drawing(svg, lots.title, description, _table(lots))


def _steps(limits: Sequence[Limit], span: tuple[int, int]) -> list[tuple[int, int, Limit]]:
    """Each limit with its first and last day inside the span; those outside are left out."""
    starts = [max(limit.since.toordinal(), span[0]) for limit in limits]
    ends = [*(min(max(start, span[0]), span[1]) for start in starts[1:]), span[1]]
    found = zip(starts, ends, limits, strict=True)
    return [(start, end, limit) for start, end, limit in found if start < end]


def _named(
    steps: Sequence[tuple[int, int, Limit]], span: tuple[int, int], left: float, right: float
) -> list[tuple[float, int, str]]:
    """Words of each limit, where they begin and in which line above the plot."""
    unit = (right - left) / (span[1] - span[0])
    room = right - left - 8
    said = [fitted(f"{limit.words}: {shown(limit.value)}", room, SMALL) for _, _, limit in steps]
    starts = [
        min(left + (start - span[0]) * unit + 4, right - width(words, SMALL))
        for (start, _, _), words in zip(steps, said, strict=True)
    ]
    return list(zip(starts, labels.rows(starts, said), said, strict=True))


def _limits(
    plot: Plot,
    steps: Sequence[tuple[int, int, Limit]],
    words: Sequence[tuple[float, int, str]],
) -> None:
    left, top, _, bottom = plot.box
    plot.segments([(a, limit.value, b, limit.value) for a, b, limit in steps], LIMIT, "limit")
    for (start, _, limit), (x, line, said) in zip(steps, words, strict=True):
        at, _ = plot.at(start, limit.value)
        if at > left:
            plot.canvas.sheet.segments([(at, top - 6, at, bottom)], RULE, "change")
        plot.canvas.text(x, top - 10 - LINE * line, said, size=SMALL, tone=Tone.QUIET)


def _marks(plot: Plot, lots: Lots) -> None:
    places = _spread(lots.lots)
    bars = [
        (
            x, max(exact(lot.value) - exact(lot.uncertainty), exact(0)),
            x, exact(lot.value) + exact(lot.uncertainty),
        )
        for lot, x in zip(lots.lots, places, strict=True)
    ]  # fmt: skip
    plot.segments(bars, THIN, "u")
    few = len(lots.lots) <= MOST_TOLD
    for kind in Standing:
        own = [(lot, x) for lot, x in zip(lots.lots, places, strict=True) if lot.standing is kind]
        data = []
        for lot, _ in own:
            said = f"{lot.label}, {lot.day.isoformat()}: {shown(lot.value)}"
            if few:
                said += f" ± {shown(lot.uncertainty)} {lots.unit}, {lot.words}"
            numbers = {"x": lot.day.isoformat(), "y": shown(lot.value)}
            data.append(Datum(said, lots.conditions.words, numbers))
        plot.marks(kind.value, data, [(x, lot.value) for lot, x in own])


def _spread(lots: Sequence[Lot]) -> list[float]:
    """Where each lot stands: on its day, several of one day evenly from there to the next."""
    count = Counter(lot.day for lot in lots)
    before: Counter[date] = Counter()
    places = []
    for lot in lots:
        places.append(lot.day.toordinal() + before[lot.day] / count[lot.day])
        before[lot.day] += 1
    return places


def _table(lots: Lots) -> Table:
    columns = (
        Column(gettext("Lot"), number=False),
        Column(gettext("Day")),
        Column(lots.unit),
        Column("U (k = 2)"),
        Column(gettext("Limit")),
        Column(gettext("Outcome"), number=False),
    )
    rows = []
    for lot in sorted(lots.lots, key=lambda lot: lot.day):
        bound = [limit for limit in lots.limits if limit.since <= lot.day]
        known = lot.limit if lot.limit is not None else bound[-1].value if bound else None
        limit = shown(known) if known is not None else "–"
        rows.append(
            (
                lot.label,
                lot.day.isoformat(),
                shown(lot.value),
                shown(lot.uncertainty),
                limit,
                lot.words,
            )
        )
    return Table(lots.title, columns, tuple(rows))
