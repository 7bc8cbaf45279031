"""Reads a finished figure back: its axes from the ticks, the places of its marks, its texts.

Nothing here knows how a figure was drawn: scales come from where the printed ticks stand.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree import ElementTree

from fontTools.ttLib import TTFont
from PIL import ImageFont

from jobs import fonts

SVG = "{http://www.w3.org/2000/svg}"
Box = tuple[float, float, float, float]


def parsed(svg: str) -> ElementTree.Element:
    """The root of a figure; an error where it is not well formed."""
    return ElementTree.fromstring(svg)  # noqa: S314  (our own text)


def number(text: str) -> float:
    """A printed number."""
    return float(text.replace("−", "-"))


def corners(d: str) -> list[tuple[float, float]]:
    """The points of a path, control points left out."""
    found = []
    for command, rest in re.findall(r"([MLCQz])([^MLCQz]*)", d):
        values = [float(x) for x in rest.split()]
        if command in "ML":
            found += list(zip(values[::2], values[1::2], strict=True))
        elif command in "CQ":
            found.append((values[-2], values[-1]))
    return found


def bounds(points: list[tuple[float, float]]) -> Box:
    """Left, top, right, bottom."""
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


@dataclass(frozen=True)
class Axis:
    """Places and numbers of the ticks of one axis."""

    places: list[float]
    texts: list[str]

    def place(self, value: float) -> float:
        """Where a number stands, by a straight line through the first and the last tick."""
        first, last = number(self.texts[0]), number(self.texts[-1])
        unit = (self.places[-1] - self.places[0]) / (last - first)
        return self.places[0] + (value - first) * unit

    def length(self, value: float) -> float:
        """How long a difference is."""
        return abs(self.place(value) - self.place(0))


def axis(root: ElementTree.Element, name: str) -> Axis:
    """An axis by its name; x… run across, y… upwards. Its ticks stand beside their texts."""
    found = next(g for g in root.iter(f"{SVG}g") if g.get("data-axis") == name)
    points = corners(next(found.iter(f"{SVG}path")).get("d", ""))
    way = 0 if name.startswith("x") else 1
    return Axis(
        [point[way] for point in points[::2]], [t.text or "" for t in found.iter(f"{SVG}text")]
    )


@dataclass(frozen=True)
class Seen:
    """A mark: its data, its middle, its bounds, and the shape of its path."""

    data: dict[str, str]
    box: Box
    d: str

    @property
    def x(self) -> float:
        return (self.box[0] + self.box[2]) / 2

    @property
    def y(self) -> float:
        return (self.box[1] + self.box[3]) / 2


def marks(root: ElementTree.Element) -> list[Seen]:
    """Every mark that stands for a datum."""
    paths = {
        path.get("id"): path.get("d", "") for path in root.iter(f"{SVG}path") if path.get("id")
    }
    found = []
    for group in root.iter(f"{SVG}g"):
        if group.get("class") == "mark":
            data = {k.removeprefix("data-"): v for k, v in group.attrib.items() if k != "class"}
            shape = next(node for node in group if node.tag in (f"{SVG}use", f"{SVG}path"))
            found.append(_seen(shape, paths, data))
    return found


def _seen(shape: ElementTree.Element, paths: dict[str | None, str], data: dict[str, str]) -> Seen:
    if shape.tag == f"{SVG}path":
        return Seen(data, bounds(corners(shape.get("d", ""))), shape.get("d", ""))
    d = paths[shape.get("href", "#")[1:]]
    x, y = float(shape.get("x", "nan")), float(shape.get("y", "nan"))
    left, top, right, bottom = bounds(corners(d))
    return Seen(data, (x + left, y + top, x + right, y + bottom), d)


def named(root: ElementTree.Element, part: str) -> list[list[tuple[float, float]]]:
    """The paths of a part of the figure that is no datum (limit, zone, curve), as points."""
    return [
        corners(f"M{piece}")
        for group in root.iter(f"{SVG}g")
        if group.get("data-part") == part
        for path in group.iter(f"{SVG}path")
        for piece in path.get("d", "").split("M")[1:]
    ]


def texts(root: ElementTree.Element) -> list[str]:
    """All texts but those of the bubbles."""
    return [text.text or "" for text, _ in _written(root)]


def _written(
    node: ElementTree.Element, size: str = "", bubbles: bool = False
) -> Iterator[tuple[ElementTree.Element, Box]]:
    """Texts with the size that they inherit: those always seen, or with those of the bubbles."""
    size = node.get("font-size", size)
    if node.tag == f"{SVG}text":
        yield node, text_box(node, float(size))
    if bubbles or node.get("class") != "tip":
        for child in node:
            yield from _written(child, size, bubbles)


def text_boxes(root: ElementTree.Element) -> list[tuple[str, Box]]:
    """Each text that is always seen, with the room it takes by the metrics of the fonts."""
    return [(text.text or "", box) for text, box in _written(root)]


def all_text_boxes(root: ElementTree.Element) -> list[Box]:
    """The room of each text, those of the bubbles too."""
    return [box for _, box in _written(root, bubbles=True)]


def text_box(text: ElementTree.Element, size: float) -> Box:
    """The room of a text: its advance across, from capitals down to the base line."""
    across = _length(text.text or "") * size / 100
    x, y = float(text.get("x", "nan")), float(text.get("y", "nan"))
    left = x - across * {"start": 0, "middle": 0.5, "end": 1}[text.get("text-anchor", "start")]
    return left, y - 0.73 * size, left + across, y + 0.1 * size


def _length(text: str) -> float:
    """The advance of a text at 100 pixels, sign by sign from the font that has it."""
    return sum(map(_advance, text))


@functools.cache
def _advance(sign: str) -> float:
    latin, chinese, known = _faces()
    return (latin if ord(sign) in known else chinese).getlength(sign)


@functools.cache
def _faces() -> tuple[ImageFont.FreeTypeFont, ImageFont.FreeTypeFont, frozenset[int]]:
    files = {file.name: file for file in fonts.set_up()}
    latin, chinese = files["DejaVuSans.ttf"], files["NotoSansSC-Regular.otf"]
    with TTFont(latin, lazy=True) as font:
        known = frozenset(font.getBestCmap())
    return ImageFont.truetype(latin, 100), ImageFont.truetype(chinese, 100), known
