"""Each specimen's value against its limit: a dot plot, one row per specimen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext

from jobs.figures import axes
from jobs.figures.bubbles import Datum
from jobs.figures.canvas import Canvas
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
    standing,
)
from jobs.figures.letters import fitted, width
from jobs.figures.looks import AREA, LIMIT, RULE

MOST_ROWS = 40  # fits an A4 page; a longer list is cut into several figures by the caller
TOP, BOTTOM = 8, 44


@dataclass(frozen=True)
class Row:
    """A specimen: value, limit, expanded uncertainty U, all in one unit, and its state in words."""

    label: str
    value: Number
    limit: Number
    uncertainty: Number
    state: str


@dataclass(frozen=True)
class Margins:
    """1 to 40 rows of one quantity (`unit`: ΔE00, units of gloss). Texts are translated.

    Raises ValueError for no or too many rows, or numbers that are negative or not finite.
    """

    title: str
    unit: str
    conditions: Conditions
    rows: Sequence[Row]

    def __post_init__(self) -> None:
        if not 0 < len(self.rows) <= MOST_ROWS:
            raise ValueError(f"a figure takes 1 to {MOST_ROWS} rows, not {len(self.rows)}")
        for row in self.rows:
            not_negative(row.value, row.limit, row.uncertainty)


@dataclass(frozen=True)
class Layout:
    """Where the parts of a row stand: wide, or with the words above the plot."""

    row: int
    plot: tuple[int, int]
    label: tuple[float, str, float]  # x, anchor, room
    value: float
    state: tuple[float, str, float]
    base: float  # of the words, below the upper edge of the row
    field: tuple[float, float]  # the plot's part of the row


WIDE = Layout(20, (148, 424), (136, "end", 136), 436, (488, "start", 192), 14, (0, 20))
NARROW = Layout(44, (16, 324), (8, "start", 100), 124, (332, "end", 150), 15, (20, 40))


def draw(margins: Margins, setting: Setting) -> Drawing:
    """The band limit ± U is shaded, the limit is a line, and the mark says by its shape on which
    side it lies: a disc up to limit − U, a cross above limit + U, an open diamond between. Value
    and state stand beside it."""
    layout = NARROW if setting.narrow else WIDE
    rows = margins.rows
    canvas = Canvas(setting, TOP + layout.row * len(rows) + BOTTOM)
    scale = axes.scale([0, *(max(exact(row.value), _ends(row)[1]) for row in rows)], most=6)
    tops = [TOP + layout.row * place for place in range(len(rows))]
    foot = tops[-1] + layout.field[1]
    plot = canvas.plot((layout.plot[0], TOP, layout.plot[1], foot), scale.span, (foot, TOP))
    high, low = layout.field
    fields = [(row, top + high, top + low) for row, top in zip(rows, tops, strict=True)]
    plot.areas(
        [(_ends(row)[0], y0, _ends(row)[1], y1) for row, y0, y1 in fields], AREA, part="zone"
    )
    plot.segments(
        [(scale.low, (y0 + y1) / 2, scale.high, (y0 + y1) / 2) for _, y0, y1 in fields], RULE
    )
    plot.segments([(row.limit, y0, row.limit, y1) for row, y0, y1 in fields], LIMIT, part="limit")
    for kind in Standing:
        own = [
            (_datum(row, margins), (row.value, (y0 + y1) / 2))
            for row, y0, y1 in fields
            if standing(row.value, row.limit, row.uncertainty) is kind
        ]
        plot.marks(kind.value, [datum for datum, _ in own], [place for _, place in own])
    for row, top in zip(rows, tops, strict=True):
        _words(canvas, layout, row, top + layout.base)
    axes.across(plot, scale.ticks, scale.texts(), margins.conditions.axis(margins.unit))
    sentence = gettext("Each specimen's difference from the target, the limit and ±U (k = 2).")
    description = margins.conditions.after(sentence)
    svg = canvas.finish(margins.title, description)
    return Drawing(svg, margins.title, description, _table(margins))


def _ends(row: Row) -> tuple[Decimal, Decimal]:
    """The zone limit ± U in which neither side has proof; there is nothing below zero."""
    limit, uncertainty = exact(row.limit), exact(row.uncertainty)
    return max(limit - uncertainty, Decimal(0)), limit + uncertainty


def _datum(row: Row, margins: Margins) -> Datum:
    said = f"{row.label}: {shown(row.value)} {margins.unit}, {row.state}"
    numbers = {"x": shown(row.value), "limit": shown(row.limit), "u": shown(row.uncertainty)}
    return Datum(said, margins.conditions.words, numbers)


def _words(canvas: Canvas, layout: Layout, row: Row, base: float) -> None:
    """Label, value and state beside the plot or above it."""
    x, anchor, room = layout.label
    canvas.text(x, base, fitted(row.label, room), anchor=anchor)
    canvas.text(layout.value, base, shown(row.value))
    x, anchor, room = layout.state
    used = max(0, width(shown(row.value)) - 48)
    canvas.text(
        x + (used if anchor == "start" else 0), base, fitted(row.state, room - used), anchor=anchor
    )


def _table(margins: Margins) -> Table:
    columns = (
        Column(gettext("Specimen"), number=False),
        Column(margins.unit),
        Column(gettext("Limit")),
        Column("U (k = 2)"),
        Column(gettext("Finding"), number=False),
    )
    rows = tuple(
        (row.label, shown(row.value), shown(row.limit), shown(row.uncertainty), row.state)
        for row in margins.rows
    )
    return Table(margins.title, columns, rows)
