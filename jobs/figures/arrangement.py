"""The errors of a hue arrangement, cap by cap, around a circle. It shows; it does not judge."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext

from jobs.figures import axes
from jobs.figures.bubbles import Datum
from jobs.figures.canvas import Canvas, Text
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
    some,
)
from jobs.figures.letters import SMALL, wrapped
from jobs.figures.looks import AXIS, LIMIT, RULE, THIN, Tone

HOLE = 0.35  # radius of the error-free circle, of the whole: a short spoke still has its angle
GAP = 3  # places left free at the top, where the scale stands
NAMED = 5  # every fifth cap has its number outside
FEWEST = 3


@dataclass(frozen=True)
class Arrangement:
    """One number per cap, cap 1 first (`errors`), and the number of a cap that lies right
    (`least`). `words`: lines beside the figure, such as an axis that the caller computed.
    Texts are translated. Raises ValueError for fewer than three caps or an error below `least`."""

    title: str
    conditions: Conditions
    errors: Sequence[Number]
    least: Number = 0
    words: Sequence[str] = ()

    def __post_init__(self) -> None:
        some(self.errors, "caps")
        finite(self.least, *self.errors)
        if len(self.errors) < FEWEST:
            raise ValueError(f"an arrangement has {FEWEST} caps or more")
        if any(exact(error) < exact(self.least) for error in self.errors):
            raise ValueError(f"no cap has an error below {self.least}")


def draw(arrangement: Arrangement, setting: Setting) -> Drawing:
    """A spoke per cap, clockwise from the top, outwards from the circle on which a cap without
    error lies; further circles are the scale."""
    narrow = setting.narrow
    side = setting.width if narrow else 440
    room = setting.width - 16 if narrow else setting.width - side - 16
    lines = [line for words in arrangement.words for line in wrapped(words, room)]
    height = side + (18 * len(lines) + 8 if narrow and lines else 0)
    canvas = Canvas(setting, height)
    radius = side / 2 - 30
    scale = axes.scale(
        [arrangement.least, max(arrangement.errors), float(arrangement.least) + 1], most=4
    )
    circle = _Circle(
        side / 2, radius, float(arrangement.least), scale.high, len(arrangement.errors)
    )
    rings = [tick for tick in scale.ticks if tick > exact(arrangement.least)]
    middle = circle.middle
    for tick in rings:
        canvas.sheet.ellipse((middle, middle), (circle.radius(tick),) * 2, RULE, part="ring")
    inner = circle.radius(arrangement.least)
    canvas.sheet.ellipse((middle, middle), (inner, inner), LIMIT, part="least")
    _scale(canvas, circle, [arrangement.least, *rings])
    _spokes(canvas, circle, arrangement)
    words = wrapped(gettext("thick circle: no error"), 1.7 * inner, SMALL)
    for place, line in enumerate(words):
        base = middle + 4 + 15 * (place - (len(words) - 1) / 2)
        canvas.text(middle, base, line, anchor="middle", size=SMALL, tone=Tone.QUIET)
    left, top = (8, side + 12) if narrow else (side + 8, 48)
    for place, line in enumerate(lines):
        canvas.text(left, top + 18 * place, line)
    description = arrangement.conditions.after(
        gettext("The error of each cap, outwards from the circle of no error; cap 1 at the top."),
        gettext("A screening, not a diagnosis."),
        *(f"{words}." for words in arrangement.words),
    )
    svg = canvas.finish(arrangement.title, description)
    columns = (Column(gettext("Cap")), Column(gettext("Error")))
    rows = tuple((str(cap), shown(error)) for cap, error in enumerate(arrangement.errors, 1))
    return Drawing(svg, arrangement.title, description, Table(arrangement.title, columns, rows))


@dataclass(frozen=True)
class _Circle:
    """Where an error of a cap stands on the sheet."""

    middle: float
    outer: float
    least: float
    most: float
    caps: int

    def radius(self, error: Number) -> float:
        """From the middle."""
        share = (float(error) - self.least) / (self.most - self.least)
        return self.outer * (HOLE + (1 - HOLE) * share)

    def at(self, cap: int, radius: float) -> tuple[float, float]:
        """The place of a cap (from 1) at a distance from the middle."""
        angle = 2 * math.pi * (cap - 1 + (GAP + 1) / 2) / (self.caps + GAP)
        return self.middle + radius * math.sin(angle), self.middle - radius * math.cos(angle)


def _scale(canvas: Canvas, circle: _Circle, ticks: Sequence[Number]) -> None:
    """Numbers upwards in the gap at the top."""
    at = [circle.middle - circle.radius(tick) for tick in ticks]
    x = circle.middle
    layer = canvas.sheet.segments([(x - 4, y, x + 4, y) for y in at], AXIS)
    layer.extra["data-axis"] = "y"
    layer.texts += [
        Text(x, y - 3, shown(tick), "middle", Tone.QUIET, SMALL)
        for tick, y in zip(ticks, at, strict=True)
    ]


def _spokes(canvas: Canvas, circle: _Circle, arrangement: Arrangement) -> None:
    inner = circle.radius(arrangement.least)
    spokes, data, ends = [], [], []
    for cap, error in enumerate(arrangement.errors, 1):
        end = circle.at(cap, circle.radius(error))
        spokes.append((*circle.at(cap, inner), *end))
        ends.append(end)
        said = gettext("cap %(cap)s: error %(error)s") % {"cap": cap, "error": shown(error)}
        data.append(Datum(said, arrangement.conditions.words, {"cap": str(cap), "y": shown(error)}))
        if cap % NAMED == 0 or cap == 1:
            x, y = circle.at(cap, circle.outer + 16)
            canvas.text(x, y + 4, str(cap), anchor="middle", size=SMALL, tone=Tone.QUIET)
    canvas.sheet.segments(spokes, THIN, "spoke")
    canvas.sheet.marks("dot", data, ends)
