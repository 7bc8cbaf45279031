"""From the plotting library's SVG to ours: geometry by group, without styles, ids and metadata.

A page's content policy forbids style attributes; several figures share a page, so ids may not
clash; and a page recolours by class. So only the geometry is taken over, the looks are ours.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree import ElementTree

_SVG = "{http://www.w3.org/2000/svg}"
_HREF = "{http://www.w3.org/1999/xlink}href"
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e[-+]?\d+)?")
_SPACES = re.compile(r"\s+")
_AROUND = re.compile(r" ?([A-Za-z]) ?")


@dataclass(frozen=True)
class Shape:
    """A path, by itself or set at (x, y)."""

    d: str
    x: float | None = None
    y: float | None = None


def geometry(text: str) -> dict[str, list[Shape]]:
    """The shapes of each group by its id, in the order in which they were drawn.

    `text`: an SVG as the library writes it. Raises ValueError for an element that no figure of
    ours asks for: it would be lost without a word.
    """
    root = ElementTree.fromstring(text)  # noqa: S314  (made by the library in this process)
    figure = root.find(f"{_SVG}g")
    if figure is None:
        raise ValueError("the plotting library drew nothing")
    # A marker is written once, where the first group needs it.
    markers = {
        path.get("id", ""): compact(path.get("d", ""))
        for defs in figure.iter(f"{_SVG}defs")
        for path in defs
    }
    groups = figure.findall(f"{_SVG}g")
    return {group.get("id", ""): list(_shapes(group, markers)) for group in groups}


def _shapes(group: ElementTree.Element, markers: dict[str, str]) -> Iterator[Shape]:
    """Paths and uses below a group; a path inside `defs` is a marker that a use refers to."""
    for element in group:
        tag = element.tag.removeprefix(_SVG)
        if tag == "use":
            at = markers[element.get(_HREF, "#")[1:]]
            yield Shape(at, float(element.get("x", "0")), float(element.get("y", "0")))
        elif tag == "path":
            yield Shape(compact(element.get("d", "")))
        elif tag == "g":
            yield from _shapes(element, markers)
        elif tag != "defs":
            raise ValueError(f"the plotting library drew a {tag}")


def plain(number: float) -> str:
    """A coordinate to a hundredth of a unit, as short as it can be written."""
    text = f"{number:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def compact(d: str) -> str:
    """Path data with coordinates to a hundredth and no needless spaces."""
    short = _NUMBER.sub(lambda found: plain(float(found[0])), d)
    return _AROUND.sub(r"\1", _SPACES.sub(" ", short)).strip()
