"""Colour differences of specimens under several illuminants, each against its limit."""

from __future__ import annotations

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
    Standing,
    Table,
    exact,
    not_negative,
    shown,
    some,
    standing,
)
from jobs.figures.letters import SMALL, fitted, width
from jobs.figures.looks import AREA, LIMIT, RULE, Tone

ROWS = 8  # specimens that have a line each; more are spread evenly over a lane of this height
STEP, SPACE = 14, 14
TOP, BOTTOM = 10, 48


@dataclass(frozen=True)
class Difference:
    """One specimen's difference."""

    label: str
    value: Number


@dataclass(frozen=True)
class Group:
    """All differences under one illuminant, with the limit and the expanded uncertainty U there."""

    illuminant: str
    limit: Number
    uncertainty: Number
    values: Sequence[Difference]

    def kind(self, one: Difference) -> Standing:
        """On which side of the limit a specimen lies."""
        return standing(one.value, self.limit, self.uncertainty)


@dataclass(frozen=True)
class Differences:
    """One group or more, in `unit` (ΔE00). Texts are translated. Raises ValueError for no group, a
    group without values, numbers that are negative or not finite."""

    title: str
    unit: str
    conditions: Conditions
    groups: Sequence[Group]

    def __post_init__(self) -> None:
        some(self.groups, "an illuminant")
        for group in self.groups:
            some(group.values, "a specimen under each illuminant")
            not_negative(group.limit, group.uncertainty, *(one.value for one in group.values))


def draw(differences: Differences, setting: Setting) -> Drawing:
    """A lane per illuminant: the band limit ± U is shaded, the limit a line; each specimen keeps
    its place from lane to lane, its mark tells by shape on which side it lies."""
    groups = differences.groups
    most = max(len(group.values) for group in groups)
    lane = STEP * min(most, ROWS) + 4
    head = 18 if setting.narrow else 0
    entries = labels.standings([group.kind(one) for group in groups for one in group.values])
    foot = TOP + (lane + head) * len(groups) + SPACE * (len(groups) - 1)
    canvas = Canvas(setting, foot + BOTTOM + labels.key_height(entries, setting.width))
    scale = axes.scale([0, *(number for group in groups for number in _numbers(group))], most=6)
    left, right = (16, 324) if setting.narrow else (148, 424)
    plot = canvas.plot((left, TOP, right, foot), scale.span, (foot, TOP))
    tops = [TOP + head + (lane + head + SPACE) * place for place in range(len(groups))]
    lanes = list(zip(groups, tops, strict=True))
    ends = [_ends(group) for group in groups]
    zones = [(low, top, high, top + lane) for (low, high), top in zip(ends, tops, strict=True)]
    plot.areas(zones, AREA, "zone")
    plot.segments([(scale.low, top + lane, scale.high, top + lane) for top in tops[:-1]], RULE)
    limits = [(group.limit, top, group.limit, top + lane) for group, top in lanes]
    plot.segments(limits, LIMIT, "limit")
    _marks(plot, differences, lanes, lane, most)
    for group, top in lanes:
        _words(canvas, group, top, lane)
    axes.across(plot, scale.ticks, scale.texts(), differences.conditions.axis(differences.unit))
    labels.key(canvas, entries, foot + BOTTOM - 4)
    description = differences.conditions.after(
        gettext("Each specimen's difference under each illuminant, the limit and ±U (k = 2).")
    )
    svg = canvas.finish(differences.title, description)
    return Drawing(svg, differences.title, description, _table(differences))


def _numbers(group: Group) -> list[Number]:
    return [exact(group.limit) + exact(group.uncertainty), *(one.value for one in group.values)]


def _ends(group: Group) -> tuple[Number, Number]:
    limit, uncertainty = exact(group.limit), exact(group.uncertainty)
    return max(limit - uncertainty, exact(0)), limit + uncertainty


def _marks(
    plot: Plot,
    differences: Differences,
    lanes: Sequence[tuple[Group, float]],
    lane: float,
    most: int,
) -> None:
    """All marks of one shape in one group, lane by lane."""
    for kind in Standing:
        data, places = [], []
        for group, top in lanes:
            for place, one in enumerate(group.values):
                if group.kind(one) is kind:
                    said = f"{one.label}, {group.illuminant}: {shown(one.value)} {differences.unit}"
                    numbers = {"x": shown(one.value), "group": group.illuminant}
                    data.append(Datum(said, differences.conditions.words, numbers))
                    places.append((one.value, top + lane * (place + 0.5) / most))
        plot.marks(kind.value, data, places)


def _words(canvas: Canvas, group: Group, top: float, lane: float) -> None:
    """The illuminant, and how many lie where."""
    kinds = [group.kind(one) for one in group.values]
    counts = gettext("%(within)s within, %(between)s between, %(beyond)s beyond") % {
        "within": kinds.count(Standing.WITHIN),
        "between": kinds.count(Standing.BETWEEN),
        "beyond": kinds.count(Standing.BEYOND),
    }
    if canvas.setting.narrow:
        room = canvas.width - 104
        left = canvas.width - 24 - min(width(counts, SMALL), room)
        canvas.text(8, top - 5, fitted(group.illuminant, left))
        canvas.text(
            canvas.width - 8, top - 5, fitted(counts, room, SMALL), anchor="end", size=SMALL,
            tone=Tone.QUIET,
        )  # fmt: skip
        return
    base = top + lane / 2 + 4
    canvas.text(136, base, fitted(group.illuminant, 132), anchor="end")
    canvas.text(436, base, fitted(counts, canvas.width - 440, SMALL), size=SMALL, tone=Tone.QUIET)


def _table(differences: Differences) -> Table:
    columns = (
        Column(gettext("Illuminant"), number=False),
        Column(gettext("Specimen"), number=False),
        Column(differences.unit),
        Column(gettext("Limit")),
        Column("U (k = 2)"),
    )
    rows = tuple(
        (group.illuminant, one.label, *map(shown, (one.value, group.limit, group.uncertainty)))
        for group in differences.groups
        for one in group.values
    )
    return Table(differences.title, columns, rows)
