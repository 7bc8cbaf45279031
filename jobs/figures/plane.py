"""Colours in the plane of a* and b*, L* beside it, with limits and uncertainty."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext

from jobs.figures import axes, labels
from jobs.figures.bubbles import Datum
from jobs.figures.canvas import Canvas, Plot, Span
from jobs.figures.drawing import (
    Column,
    Conditions,
    Drawing,
    Number,
    Setting,
    Standing,
    Table,
    finite,
    not_negative,
    shown,
    some,
)
from jobs.figures.looks import LIMIT, THIN, Look, Tone

CROSSES = 20  # specimens that are drawn with their uncertainty and, beside, by their shape
LABELS = 8
NAMES = ("L*", "a*", "b*")
UNCERTAIN = Look(Tone.QUIET, dash="3 2")


@dataclass(frozen=True)
class Colour:
    """L*, a*, b* of a specimen, on which side of the limit it lies, and that in words."""

    label: str
    lightness: Number
    a: Number
    b: Number
    standing: Standing
    words: str


@dataclass(frozen=True)
class Circle:
    """ΔE*ab at most `radius`: a circle around the target at its own lightness."""

    radius: Number


@dataclass(frozen=True)
class Box:
    """Limits of the components, counted from the target: (lowest, highest) Δa* and Δb*."""

    a: tuple[Number, Number]
    b: tuple[Number, Number]


@dataclass(frozen=True)
class Locus:
    """Points (a*, b*) at which a formula gives the limit at the target's lightness, in order round
    the target: for formulas whose limit is no circle. Computed by the caller."""

    points: Sequence[tuple[Number, Number]]


@dataclass(frozen=True)
class Uncertainty:
    """Expanded uncertainties U (k = 2) of L*, a*, b*, and the correlation of a* and b*."""

    lightness: Number
    a: Number
    b: Number
    correlation: float = 0.0


@dataclass(frozen=True)
class Zone:
    """Expanded uncertainty U (k = 2) of the difference itself: where the formula gives limit − U
    (`inner`; None where that is not above zero) and limit + U (`outer`); `lightness`: L* of the
    same, at the target's a* and b*."""

    inner: Locus | None
    outer: Locus
    lightness: Sequence[Number]

    @property
    def lines(self) -> list[Locus]:
        """Those that there are."""
        return [line for line in (self.inner, self.outer) if line is not None]


@dataclass(frozen=True)
class Plane:
    """A target, specimens and a limit. `limit_words` name the limit with its number (ΔE00 = 1.00);
    `lightness_limits`: lowest and highest L*; `uncertainty` of the colours, or of the difference.
    Texts are translated.

    Raises ValueError for no specimen, a number that is not finite, an uncertainty below zero, a
    correlation beyond ±1, a locus of fewer than three points.
    """

    title: str
    conditions: Conditions
    target: tuple[Number, Number, Number]
    specimens: Sequence[Colour]
    limit: Circle | Box | Locus | None = None
    limit_words: str = ""
    lightness_limits: tuple[Number, Number] | None = None
    uncertainty: Uncertainty | Zone | None = None

    def __post_init__(self) -> None:
        some(self.specimens, "a specimen")
        finite(*self.target, *(self.lightness_limits or ()))
        for one in self.specimens:
            finite(one.lightness, one.a, one.b)
        if isinstance(self.uncertainty, Zone):
            finite(*self.uncertainty.lightness)
        elif self.uncertainty is not None:
            not_negative(self.uncertainty.lightness, self.uncertainty.a, self.uncertainty.b)
            if not -1 <= self.uncertainty.correlation <= 1:
                raise ValueError("a correlation lies between −1 and 1")
        if any(len(line.points) < 3 for line in self.loci()):
            raise ValueError("a locus has three points or more")
        drawn = [*self.outline(), *(point for line in self.loci() for point in line.points)]
        finite(*(number for point in drawn for number in point))

    def loci(self) -> list[Locus]:
        """Limit and ends of U, as far as they are lines of points."""
        ends = self.uncertainty.lines if isinstance(self.uncertainty, Zone) else []
        return [*([self.limit] if isinstance(self.limit, Locus) else []), *ends]

    def outline(self) -> list[tuple[float, float]]:
        """Corners of the limit, or of the square around its circle."""
        _, a, b = map(float, self.target)
        if isinstance(self.limit, Locus):
            return [(float(x), float(y)) for x, y in self.limit.points]
        if isinstance(self.limit, Circle):
            radius = float(self.limit.radius)
            not_negative(radius)
            ends_a, ends_b = (a - radius, a + radius), (b - radius, b + radius)
        elif isinstance(self.limit, Box):
            ends_a = a + float(self.limit.a[0]), a + float(self.limit.a[1])
            ends_b = b + float(self.limit.b[0]), b + float(self.limit.b[1])
        else:
            return []
        return [(ends_a[i], ends_b[j]) for i, j in ((0, 0), (1, 0), (1, 1), (0, 1))]


def draw(plane: Plane, setting: Setting) -> Drawing:
    """The limit is a line, U an ellipse of dashes around each specimen (around the target where
    they are many) or dashes on both sides of the line; the mark tells by its shape on which side
    of the limit a specimen lies."""
    narrow = setting.narrow
    square = (44, 36, 236, 228) if narrow else (64, 36, 394, 366)
    strip = (292, 36, 328, 228) if narrow else (490, 36, 570, 366)
    entries = _entries(plane)
    foot = square[3] + 48
    canvas = Canvas(setting, foot + labels.key_height(entries, setting.width))
    across, up = _spans(plane)
    most = 4 if narrow else 6
    field = canvas.plot(square, across, up)
    for name, span, put in (("x", across, axes.across), ("y", up, axes.upwards)):
        scale = axes.within(*span, most=most)
        word = plane.conditions.axis("a*") if name == "x" else "b*"
        more = {"ruled": True} if name == "x" else {}
        put(field, scale.ticks, scale.texts(), word, name=name, **more)
    _limit(field, plane)
    _uncertain(field, plane)
    _marks(field, plane)
    if not narrow and len(plane.specimens) <= LABELS:
        places = [field.at(plane.target[1], plane.target[2])]
        places += [field.at(one.a, one.b) for one in plane.specimens]
        words = [gettext("target"), *(one.label for one in plane.specimens)]
        labels.beside(canvas, places, words, square)
    _lightness(canvas, plane, strip)
    labels.key(canvas, entries, foot)
    description = plane.conditions.after(
        gettext("Where target and specimens lie in a* and b*, and beside it in L*."),
        *([plane.limit_words + "."] if plane.limit_words else []),
        *([_apart()] if isinstance(plane.limit, Locus) else []),
    )
    svg = canvas.finish(plane.title, description)
    return Drawing(svg, plane.title, description, _table(plane))


def _apart() -> str:
    return gettext(
        "The line holds at the target's lightness: what differs in L* too can lie beyond the limit "
        "inside it; the shape of the mark tells."
    )


def _entries(plane: Plane) -> list[labels.Said]:
    found = [labels.Said(gettext("target"), "plus")]
    found += labels.standings([one.standing for one in plane.specimens])
    if plane.limit_words:
        found.append(labels.Said(plane.limit_words, LIMIT))
    if plane.lightness_limits is not None:
        low, high = map(shown, plane.lightness_limits)
        found.append(labels.Said(f"L* {low} … {high}", LIMIT))
    if isinstance(plane.uncertainty, Zone):
        found.append(labels.Said(gettext("limit ± U (k = 2)"), UNCERTAIN))
    elif plane.uncertainty is not None:
        found.append(labels.Said("U (k = 2)", UNCERTAIN))
    return found


def _spans(plane: Plane) -> tuple[Span, Span]:
    """Ends of both axes: of one length, so that a circle is one."""
    _, a, b = map(float, plane.target)
    ua, ub = _half(plane)
    places = [(a - ua, b - ub), (a + ua, b + ub), *plane.outline()]
    places += [(float(x), float(y)) for line in plane.loci() for x, y in line.points]
    for one in plane.specimens:
        x, y = float(one.a), float(one.b)
        places += [(x - ua, y - ub), (x + ua, y + ub)]
    xs, ys = zip(*places, strict=True)
    half = 0.54 * max(max(xs) - min(xs), max(ys) - min(ys), 0.01)
    middles = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    return (middles[0] - half, middles[0] + half), (middles[1] - half, middles[1] + half)


def _half(plane: Plane) -> tuple[float, float]:
    if isinstance(plane.uncertainty, Uncertainty):
        return float(plane.uncertainty.a), float(plane.uncertainty.b)
    return 0.0, 0.0


def _limit(field: Plot, plane: Plane) -> None:
    if isinstance(plane.limit, Circle):
        radius = float(plane.limit.radius)
        field.ellipse(plane.target[1:], (radius, radius), LIMIT, part="limit")
    elif plane.limit is not None:
        field.polygon(plane.outline(), LIMIT, part="limit")


def _uncertain(field: Plot, plane: Plane) -> None:
    """The ellipse of U by its half axes: those of [[a², ρab], [ρab, b²]]; or the ends of U."""
    if isinstance(plane.uncertainty, Zone):
        for line in plane.uncertainty.lines:
            field.polygon([(float(x), float(y)) for x, y in line.points], UNCERTAIN, part="u")
    if not isinstance(plane.uncertainty, Uncertainty):
        return
    a, b = _half(plane)
    shared = plane.uncertainty.correlation * a * b
    middle, reach = (a * a + b * b) / 2, math.hypot((a * a - b * b) / 2, shared)
    half = math.sqrt(middle + reach), math.sqrt(max(middle - reach, 0.0))
    degrees = math.degrees(0.5 * math.atan2(2 * shared, a * a - b * b))
    few = len(plane.specimens) <= CROSSES
    middles = [(one.a, one.b) for one in plane.specimens] if few else [plane.target[1:]]
    for place in middles:
        field.ellipse(place, half, UNCERTAIN, degrees=degrees, part="u")


def _said(label: str, numbers: Sequence[Number], words: str) -> str:
    said = ", ".join(
        f"{name} {shown(number)}"
        for name, number in zip(NAMES[-len(numbers) :], numbers, strict=True)
    )
    return f"{label}: {said}" + (f"; {words}" if words else "")


def _marks(field: Plot, plane: Plane) -> None:
    _, a, b = plane.target
    told = plane.conditions.words
    target = Datum(_said(gettext("target"), plane.target, ""), told, {"x": shown(a), "y": shown(b)})
    field.marks("plus", [target], [(a, b)])
    few = len(plane.specimens) <= CROSSES
    for kind in Standing:
        own = [one for one in plane.specimens if one.standing is kind]
        data = [
            Datum(
                _said(one.label, (one.lightness, one.a, one.b), one.words)
                if few
                else _said(one.label, (one.a, one.b), ""),
                told,
                {"x": shown(one.a), "y": shown(one.b)},
            )
            for one in own
        ]
        field.marks(kind.value, data, [(one.a, one.b) for one in own])


def _lightness(canvas: Canvas, plane: Plane, box: tuple[int, int, int, int]) -> None:
    """L* as a strip of its own: specimens side by side in their order."""
    scale = _lightness_scale(plane)
    few = len(plane.specimens) <= CROSSES
    count = len(plane.specimens)
    strip = canvas.plot(box, (-1, count), scale.span)
    axes.upwards(strip, scale.ticks, scale.texts(), "L*", name="y-lightness")
    for end in plane.lightness_limits or ():
        strip.segments([(-1, end, count, end)], LIMIT, part="lightness-limit")
    if isinstance(plane.uncertainty, Zone):
        zone = [(-1, end, count, end) for end in plane.uncertainty.lightness]
        strip.segments(zone, UNCERTAIN, part="lightness-zone")
    target = plane.target[0]
    strip.segments([(-1, target, count, target)], THIN if few else UNCERTAIN, "lightness-target")
    placed = list(enumerate(plane.specimens))
    if few:
        _lightness_marks(strip, plane)
    else:
        rug = [(x - 0.4, one.lightness, x + 0.4, one.lightness) for x, one in placed]
        strip.segments(rug, Look(), part="lightness")


def _lightness_scale(plane: Plane) -> axes.Scale:
    """Holds target and specimens with U, and the limits."""
    u = _lightness_u(plane)
    known = [plane.target[0], *(one.lightness for one in plane.specimens)]
    ends = [float(number) + side for number in known for side in (-u, u)]
    ends += [float(end) for end in plane.lightness_limits or ()]
    if isinstance(plane.uncertainty, Zone):
        ends += [float(end) for end in plane.uncertainty.lightness]
    spare = 0.08 * max(max(ends) - min(ends), 0.01)
    return axes.within(min(ends) - spare, max(ends) + spare, most=5)


def _lightness_u(plane: Plane) -> float:
    known = plane.uncertainty
    return float(known.lightness) if isinstance(known, Uncertainty) else 0.0


def _lightness_marks(strip: Plot, plane: Plane) -> None:
    placed, u = list(enumerate(plane.specimens)), _lightness_u(plane)
    if u:
        bars = [(x, float(one.lightness) - u, x, float(one.lightness) + u) for x, one in placed]
        strip.segments(bars, UNCERTAIN, part="lightness-u")
    for kind in Standing:
        own = [(x, one) for x, one in placed if one.standing is kind]
        data = [
            Datum(
                f"{one.label}: L* {shown(one.lightness)}",
                plane.conditions.words,
                {"l": shown(one.lightness)},
            )
            for _, one in own
        ]
        strip.marks(kind.value, data, [(x, one.lightness) for x, one in own])


def _table(plane: Plane) -> Table:
    columns = (
        Column(gettext("Specimen"), number=False),
        Column("L*"),
        Column("a*"),
        Column("b*"),
        Column(gettext("Finding"), number=False),
    )
    target = (gettext("target"), *map(shown, plane.target), "")
    rows = tuple(
        (one.label, shown(one.lightness), shown(one.a), shown(one.b), one.words)
        for one in plane.specimens
    )
    return Table(plane.title, columns, (target, *rows))
