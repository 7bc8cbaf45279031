"""The operating characteristic of a sampling plan: how likely a lot is accepted."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

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
    Table,
    exact,
    finite,
    shown,
)
from jobs.figures.looks import Look, Tone

TOP, HEIGHT = 36, 250
CURVE = Look(width=2)
GUIDE = Look(Tone.QUIET, dash="3 3")


@dataclass(frozen=True)
class Named:
    """A point of the curve that has a name (AQL, limiting quality), in words."""

    words: str
    percent: Number
    probability: Number


@dataclass(frozen=True)
class Characteristic:
    """Points (percent nonconforming, probability of acceptance 0 to 1) with rising percent, and
    named ones. `conditions.other` states the plan. Texts are translated. Raises ValueError for
    fewer than two points, percent that does not rise or lies beyond 0 to 100, a probability
    beyond 0 to 1."""

    title: str
    conditions: Conditions
    curve: Sequence[tuple[Number, Number]]
    named: Sequence[Named]

    def __post_init__(self) -> None:
        points = [*self.curve, *((one.percent, one.probability) for one in self.named)]
        finite(*(number for point in points for number in point))
        if any(not (0 <= x <= 100 and 0 <= y <= 1) for x, y in points):
            raise ValueError("percent lie between 0 and 100, probabilities between 0 and 1")
        pairs = itertools.pairwise(self.curve)
        if len(self.curve) < 2 or any(exact(a) >= exact(b) for (a, _), (b, _) in pairs):
            raise ValueError("a curve has two points or more, with rising percent")


def draw(characteristic: Characteristic, setting: Setting) -> Drawing:
    """The curve, and discs at the points that have names, with guides to both axes."""
    named = characteristic.named
    percents = [x for x, _ in characteristic.curve] + [one.percent for one in named]
    canvas = Canvas(setting, TOP + HEIGHT + 48)
    scale = axes.scale([0, max(percents)], most=4 if setting.narrow else 8)
    up = axes.scale([0, 1], most=5)
    left = 8 + axes.BESIDE + up.widest()
    box = (left, TOP, setting.width - 16, TOP + HEIGHT)
    plot = canvas.plot(box, scale.span, up.span)
    axes.upwards(plot, up.ticks, up.texts(), gettext("Probability of acceptance"))
    axes.across(plot, scale.ticks, scale.texts(), gettext("Nonconforming pieces (%)"))
    guides = [
        line
        for one in named
        for line in (
            (0, one.probability, one.percent, one.probability),
            (one.percent, 0, one.percent, one.probability),
        )
    ]
    if guides:
        plot.segments(guides, GUIDE, "guide")
    plot.line(*zip(*characteristic.curve, strict=True), CURVE, "curve")
    _named(plot, characteristic)
    description = characteristic.conditions.after(
        gettext(
            "How likely a lot is accepted, by the percentage of its pieces that do not conform."
        )
    )
    svg = canvas.finish(characteristic.title, description)
    return Drawing(svg, characteristic.title, description, _table(characteristic))


def _named(plot: Plot, characteristic: Characteristic) -> None:
    data = [
        Datum(
            f"{one.words}: {shown(one.percent)} %, {shown(one.probability)}",
            characteristic.conditions.words,
            {"x": shown(one.percent), "y": shown(one.probability)},
        )
        for one in characteristic.named
    ]
    points = [(one.percent, one.probability) for one in characteristic.named]
    plot.marks("disc", data, points)
    # The curve falls, and guides run level: above and to the right there is room.
    words = [f"{one.words}: {shown(one.probability)}" for one in characteristic.named]
    left, top, right, bottom = plot.box
    field = (left, top - 6, right, bottom)
    labels.beside(plot.canvas, [plot.at(*at) for at in points], words, field, above=True)


def _table(characteristic: Characteristic) -> Table:
    columns = (
        Column(gettext("Nonconforming pieces (%)")),
        Column(gettext("Probability of acceptance")),
        Column(gettext("Point"), number=False),
    )
    rows = [(x, y, "") for x, y in characteristic.curve]
    rows += [(one.percent, one.probability, one.words) for one in characteristic.named]
    rows.sort(key=lambda row: (exact(row[0]), row[2]))
    return Table(
        characteristic.title, columns, tuple((shown(x), shown(y), words) for x, y, words in rows)
    )
