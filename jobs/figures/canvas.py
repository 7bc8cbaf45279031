"""A sheet on which a figure is drawn: plots with scales, marks with data, texts, one SVG out.

The plotting library places lines, areas and marks; texts stand beside its work, since it would
read a `$` in them as a formula and look for Chinese signs in fonts that it does not know.
"""

from __future__ import annotations

import io
import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any
from xml.etree import ElementTree

from django.utils.safestring import SafeString, mark_safe

from jobs.figures import bubbles, library, tree
from jobs.figures.bubbles import Datum
from jobs.figures.drawing import Number, Setting
from jobs.figures.letters import SIZE
from jobs.figures.looks import GREYS, MARKS, Look, Tone
from jobs.figures.tree import plain

FAMILY = "'DejaVu Sans', 'Noto Sans SC', sans-serif"
MOST_STOPS = 12  # with more data a tab stop at each would be a burden: the table serves
MOST_WORDS = 250  # with more data a mark is a mark and no more: the file would grow too large

Span = tuple[float, float]


@dataclass(frozen=True)
class Text:
    """A text at a place of the sheet; `y` is its base line."""

    x: float
    y: float
    said: str
    anchor: str = "start"
    tone: Tone = Tone.INK
    size: float = SIZE

    def element(self) -> ElementTree.Element:
        made = ElementTree.Element("text", {"x": plain(self.x), "y": plain(self.y)})
        if self.anchor != "start":
            made.set("text-anchor", self.anchor)
        if self.size != SIZE:
            made.set("font-size", f"{self.size:g}")
        made.set("class", self.tone)
        made.set("fill", GREYS[self.tone])
        made.text = self.said
        return made


@dataclass
class Layer:
    """One group of the SVG: what the library draws under `name`, in one look, with its texts."""

    name: str
    look: Look
    data: Sequence[Datum] = ()
    texts: list[Text] = field(default_factory=list)
    extra: dict[str, str] = field(default_factory=dict)


class Canvas:
    """One figure in the making. `height` in units of the viewBox."""

    def __init__(self, setting: Setting, height: float) -> None:
        self.setting = setting
        self.width, self.height = setting.width, height
        self._library = library.load()
        size = (self.width / library.DPI, height / library.DPI)
        self._figure = self._library.Figure(figsize=size, dpi=library.DPI)
        self._figure.patch.set_visible(False)
        self._layers: list[Layer] = []
        self._writing: list[Text] = []
        self.sheet = Plot(self, (0, 0, self.width, height), (0, self.width), (height, 0))

    def plot(self, box: tuple[float, float, float, float], x: Span, y: Span) -> Plot:
        """A field of the sheet with its own scales.

        `box`: left, top, right, bottom in units; `x`, `y`: what stands at left and right, at
        bottom and top.
        """
        return Plot(self, box, x, y)

    def text(
        self,
        x: float,
        y: float,
        said: str,
        *,
        anchor: str = "start",
        tone: Tone = Tone.INK,
        size: float = SIZE,
    ) -> None:
        """A text on its base line `y`; `anchor`: start, middle or end."""
        self._writing.append(Text(x, y, said, anchor, tone, size))

    def add(self, artist: Any, look: Look, data: Sequence[Datum] = (), part: str = "") -> Layer:
        """One group of what an artist of the library draws, each of its shapes with its datum.

        `part` names what is no datum: limit, zone, curve.
        """
        layer = Layer(f"g{len(self._layers)}", look, data)
        if part:
            layer.extra["data-part"] = part
        artist.set_gid(layer.name)
        self._figure.add_artist(artist)
        self._layers.append(layer)
        return layer

    def finish(self, title: str, description: str) -> SafeString:
        """The SVG as text; the same calls give the same bytes."""
        shapes = tree.geometry(self._drawn())
        data = [datum for layer in self._layers for datum in layer.data]
        stops = self.setting.interactive and len(data) <= MOST_STOPS
        key = self.setting.key
        root = ElementTree.Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "class": "plot",
                "viewBox": f"0 0 {self.width} {plain(self.height)}",
                # An image has no parts for assistive technology; with tab stops it is a group.
                "role": "group" if stops and data else "img",
                "aria-labelledby": f"{key}-title",
                "aria-describedby": f"{key}-desc",
                "font-family": FAMILY,
                "font-size": f"{SIZE:g}",
            },
        )
        ElementTree.SubElement(root, "title", {"id": f"{key}-title"}).text = title
        ElementTree.SubElement(root, "desc", {"id": f"{key}-desc"}).text = description
        marks = Markers(key, ElementTree.SubElement(root, "defs"))
        titled = self.setting.interactive and not stops
        crowded = len(data) > MOST_WORDS
        for layer in self._layers:
            root.append(_group(layer, shapes.get(layer.name, []), marks, titled, crowded))
        root.extend(text.element() for text in self._writing)
        if stops and data:
            root.append(bubbles.layer(data, self.width, self.height))
        if not len(marks.defs):
            root.remove(marks.defs)
        text = ElementTree.tostring(root, encoding="unicode").replace(" />", "/>")
        return mark_safe(text)  # noqa: S308  (escaped by the tree, `>` in texts too)

    def _drawn(self) -> str:
        file = io.StringIO()
        nothing = dict.fromkeys(("Creator", "Date", "Format", "Type"))
        self._library.FigureCanvasSVG(self._figure).print_svg(file, metadata=nothing)
        return file.getvalue()


class Markers:
    """Each shape of mark once, under an id that begins with the figure's key."""

    def __init__(self, key: str, defs: ElementTree.Element) -> None:
        self.key, self.defs = key, defs
        self._ids: dict[str, str] = {}

    def id(self, d: str) -> str:
        """The id of a mark's path."""
        if d not in self._ids:
            self._ids[d] = f"{self.key}-m{len(self._ids)}"
            ElementTree.SubElement(self.defs, "path", {"id": self._ids[d], "d": d})
        return self._ids[d]


def _group(
    layer: Layer, shapes: list[tree.Shape], marks: Markers, titled: bool, crowded: bool
) -> ElementTree.Element:
    """A layer as group; where it has data, a group for each with its numbers."""
    if layer.data and len(shapes) != len(layer.data):
        raise ValueError(f"{len(layer.data)} data were drawn as {len(shapes)} shapes")
    group = ElementTree.Element("g", layer.look.attributes())
    for place, shape in enumerate(shapes):
        inner = group
        if layer.data and not crowded:
            inner = ElementTree.SubElement(group, "g", {"class": "mark", **layer.data[place].data})
            if titled:
                ElementTree.SubElement(inner, "title").text = layer.data[place].said
        inner.append(_shape(shape, marks))
    if not (layer.texts or layer.extra):
        return group
    # Texts stand beside the lines, not below them: they would take over the stroke.
    whole = ElementTree.Element("g", layer.extra)
    whole.append(group)
    whole.extend(text.element() for text in layer.texts)
    return whole


def _shape(shape: tree.Shape, marks: Markers) -> ElementTree.Element:
    if shape.x is None or shape.y is None:
        return ElementTree.Element("path", {"d": shape.d})
    at = {"x": plain(shape.x), "y": plain(shape.y)}
    return ElementTree.Element("use", {"href": f"#{marks.id(shape.d)}", **at})


class Plot:
    """A field of a canvas in which things are placed by their numbers."""

    def __init__(
        self, canvas: Canvas, box: tuple[float, float, float, float], x: Span, y: Span
    ) -> None:
        self.canvas, self.box, self.x, self.y = canvas, box, x, y
        left, top, right, bottom = box
        self._library = canvas._library
        data = self._library.Bbox([[x[0], y[0]], [x[1], y[1]]])
        # The library counts upwards from the lower edge of the sheet.
        place = [[left, canvas.height - bottom], [right, canvas.height - top]]
        self._to_sheet = self._library.BboxTransform(data, self._library.Bbox(place))

    def at(self, x: Number, y: Number) -> tuple[float, float]:
        """The place of a number on the sheet, for texts."""
        across, up = self._to_sheet.transform((float(x), float(y)))
        return float(across), float(self.canvas.height - up)

    def line(self, xs: Iterable[Number], ys: Iterable[Number], look: Look, part: str = "") -> Layer:
        """Points joined by straight lines; a NaN lifts the pen."""
        across, up = [float(x) for x in xs], [float(y) for y in ys]
        line = self._library.Line2D(across, up, transform=self._to_sheet)
        return self.canvas.add(line, look, part=part)

    def segments(
        self, ends: Iterable[tuple[Number, Number, Number, Number]], look: Look, part: str = ""
    ) -> Layer:
        """Straight lines from (x, y) to (x, y), in one group."""
        xs: list[Number] = []
        ys: list[Number] = []
        for x0, y0, x1, y1 in ends:
            xs += [x0, x1, math.nan]
            ys += [y0, y1, math.nan]
        return self.line(xs, ys, look, part)

    def areas(
        self, boxes: Iterable[tuple[Number, Number, Number, Number]], look: Look, part: str = ""
    ) -> Layer:
        """Rectangles from (x, y) to (x, y), in one group."""
        path = self._library.Path
        corners = [
            path([(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)], closed=True)
            for x0, y0, x1, y1 in (tuple(map(float, box)) for box in boxes)
        ]
        whole = path.make_compound_path(*corners)
        return self.canvas.add(
            self._library.PathPatch(whole, transform=self._to_sheet), look, part=part
        )

    def polygon(self, points: Iterable[tuple[Number, Number]], look: Look, part: str = "") -> Layer:
        """An area bounded by straight lines from point to point."""
        places = [(float(x), float(y)) for x, y in points]
        artist = self._library.Polygon(places, closed=True, transform=self._to_sheet)
        return self.canvas.add(artist, look, part=part)

    def ellipse(
        self,
        middle: tuple[Number, Number],
        axes: tuple[float, float],
        look: Look,
        *,
        degrees: float = 0.0,
        part: str = "",
    ) -> Layer:
        """An ellipse by its middle and its two half axes, turned by an angle."""
        x, y = float(middle[0]), float(middle[1])
        artist = self._library.Ellipse(
            (x, y), 2 * axes[0], 2 * axes[1], angle=degrees, transform=self._to_sheet
        )
        return self.canvas.add(artist, look, part=part)

    def marks(
        self, shape: str, data: Sequence[Datum], points: Iterable[tuple[Number, Number]]
    ) -> None:
        """One mark of `looks.MARKS` per datum, its middle at (x, y)."""
        places = [(float(x), float(y)) for x, y in points]
        if places:
            placed = [
                datum.placed(*self.at(*place)) for datum, place in zip(data, places, strict=True)
            ]
            self._marks(shape, places, placed, "")

    def columns(
        self, shape: str, data: Sequence[Datum], points: Sequence[tuple[Number, Number]]
    ) -> None:
        """Marks along a curve, each hit anywhere in its column: half way to its neighbours."""
        places = [(float(x), float(y)) for x, y in points]
        at = [self.at(*place)[0] for place in places]
        left, top, right, bottom = self.box
        edges = [left, *((a + b) / 2 for a, b in itertools.pairwise(at)), right]
        placed = [
            datum.over(start, top, end - start, bottom - top)
            for datum, (start, end) in zip(data, itertools.pairwise(edges), strict=True)
        ]
        self._marks(shape, places, placed, "")

    def signs(self, shape: str, points: Iterable[tuple[Number, Number]], part: str) -> None:
        """Marks that stand for no datum: samples beside words."""
        self._marks(shape, [(float(x), float(y)) for x, y in points], (), part)

    def _marks(self, shape: str, places: Sequence[Span], data: Sequence[Datum], part: str) -> None:
        mark = MARKS[shape]
        artist = self._library.Line2D(
            [x for x, _ in places],
            [y for _, y in places],
            linestyle="none",
            marker=mark.sign,
            markersize=mark.size,
            transform=self._to_sheet,
        )
        self.canvas.add(artist, mark.look, data, part)

    def area(
        self,
        x: tuple[Number, Number],
        y: tuple[Number, Number],
        look: Look,
        datum: Datum | None = None,
        part: str = "",
    ) -> Layer:
        """A rectangle between two numbers on each axis; with a datum it is a bar."""
        left, bottom = float(x[0]), float(y[0])
        across, up = float(x[1]) - left, float(y[1]) - bottom
        artist = self._library.Rectangle((left, bottom), across, up, transform=self._to_sheet)
        data: list[Datum] = []
        if datum is not None:
            (x0, y0), (x1, y1) = self.at(x[0], y[0]), self.at(x[1], y[1])
            data = [datum.over(min(x0, x1), min(y0, y1), abs(x1 - x0), abs(y1 - y0))]
        return self.canvas.add(artist, look, data, part)
