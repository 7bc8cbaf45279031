"""The operating characteristic of a sampling plan: how likely a lot is accepted."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
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
from jobs.figures.letters import SMALL, fitted, width
from jobs.figures.looks import Look, Tone

TOP, HEIGHT = 36, 250
MOST_ROOM = 180  # for words to the right of the last point
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
    """The curve, and marks at the points that have names, with guides to both axes."""
    named = characteristic.named
    percents = [x for x, _ in characteristic.curve] + [one.percent for one in named]
    entries = [
        labels.Said(words, shape) for words, shape in zip(_words(named), _shapes(), strict=False)
    ]
    beside = not setting.narrow
    key = 0 if beside else labels.key_height(entries, setting.width)
    canvas = Canvas(setting, TOP + HEIGHT + 48 + key)
    scale = axes.scale([0, max(percents)], most=4 if setting.narrow else 8)
    up = axes.scale([0, 1], most=5)
    left = 8 + axes.BESIDE + up.widest()
    # The curve falls and guides run to the left: to the right of a point there is room.
    room = max((width(words, SMALL) for words in _words(named)), default=0) if beside else 0
    right = setting.width - 16 - min(room, MOST_ROOM)
    plot = canvas.plot((left, TOP, right, TOP + HEIGHT), scale.span, up.span)
    axes.upwards(plot, up.ticks, up.texts(), gettext("Probability of acceptance"))
    axes.across(plot, scale.ticks, scale.texts(), gettext("Nonconforming pieces (%)"))
    _guides(plot, named)
    plot.line(*zip(*characteristic.curve, strict=True), CURVE, "curve")
    _marks(plot, characteristic)
    if beside:
        places = [plot.at(one.percent, one.probability) for one in named]
        said = [fitted(words, MOST_ROOM, SMALL) for words in _words(named)]
        labels.beside(canvas, places, said, (left, TOP - 6, setting.width - 2, TOP + HEIGHT))
    else:
        labels.key(canvas, entries, TOP + HEIGHT + 46)
    description = characteristic.conditions.after(
        gettext(
            "How likely a lot is accepted, by the percentage of its pieces that do not conform."
        )
    )
    svg = canvas.finish(characteristic.title, description)
    return Drawing(svg, characteristic.title, description, _table(characteristic))


def _shapes() -> Iterator[str]:
    return itertools.cycle(("disc", "diamond", "square", "cross"))


def _words(named: Sequence[Named]) -> list[str]:
    return [f"{one.words}: {shown(one.probability)}" for one in named]


def _guides(plot: Plot, named: Sequence[Named]) -> None:
    """From each point to both axes."""
    level = [(0, one.probability, one.percent, one.probability) for one in named]
    upright = [(one.percent, 0, one.percent, one.probability) for one in named]
    if named:
        plot.segments(level + upright, GUIDE, "guide")


def _marks(plot: Plot, characteristic: Characteristic) -> None:
    for one, shape in zip(characteristic.named, _shapes(), strict=False):
        said = f"{one.words}: {shown(one.percent)} %, {shown(one.probability)}"
        numbers = {"x": shown(one.percent), "y": shown(one.probability)}
        datum = Datum(said, characteristic.conditions.words, numbers)
        plot.marks(shape, [datum], [(one.percent, one.probability)])


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
