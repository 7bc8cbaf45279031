"""What a page says of a datum under the pointer or the focus, without a script.

The bubbles lie above all marks, each in a group with an unseen field that the pointer hits: in one
group with its mark, a bubble would vanish under the marks drawn after it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from xml.etree import ElementTree

from jobs.figures.letters import SMALL, width, wrapped
from jobs.figures.tree import plain

REACH = 11  # half the side of a field that a finger can hit
LINE, PAD, GAP, EDGE = 15, 6, 8, 2
COLUMN = 100  # a field higher than this


@dataclass(frozen=True)
class Datum:
    """What a mark stands for.

    `said`: value with unit, in one or more short lines; `conditions` follow for who hears it
    instead of seeing the figure; `numbers`: as printed, by name: attributes of the mark.
    """

    said: str
    conditions: str = ""
    numbers: dict[str, str] = field(default_factory=dict)
    hit: tuple[float, float, float, float] = (0, 0, 0, 0)

    @property
    def data(self) -> dict[str, str]:
        """The numbers as attributes."""
        return {f"data-{name}": number for name, number in self.numbers.items()}

    def placed(self, x: float, y: float) -> Datum:
        """The same with its field around a point of the sheet."""
        return self.over(x - REACH, y - REACH, 2 * REACH, 2 * REACH)

    def over(self, x: float, y: float, across: float, down: float) -> Datum:
        """The same with its field over a rectangle of the sheet (left, top, width, height)."""
        return replace(self, hit=(x, y, across, down))

    @property
    def heard(self) -> str:
        """All of it in one line."""
        said = "; ".join(self.said.split("\n"))
        return f"{said} ({self.conditions})" if self.conditions else said


def layer(data: Sequence[Datum], sheet_width: float, sheet_height: float) -> ElementTree.Element:
    """A group that can be focused for each datum. What only the style sheet can show is left to
    it: no colours here."""
    whole = ElementTree.Element(
        "g", {"class": "data", "fill": "none", "pointer-events": "all", "font-size": f"{SMALL:g}"}
    )
    for datum in data:
        told = {"class": "datum", "tabindex": "0", "role": "img", "aria-label": datum.heard}
        group = ElementTree.SubElement(whole, "g", told)
        ElementTree.SubElement(group, "title").text = datum.said
        group.append(_field(datum, sheet_width, sheet_height))
        group.append(_bubble(datum, sheet_width, sheet_height))
    return whole


def _rect(x: float, y: float, across: float, down: float) -> ElementTree.Element:
    places = {"x": plain(x), "y": plain(y), "width": plain(across), "height": plain(down)}
    return ElementTree.Element("rect", places)


def _field(datum: Datum, sheet_width: float, sheet_height: float) -> ElementTree.Element:
    """The unseen field, kept within the sheet."""
    x, y, across, down = datum.hit
    right, bottom = min(x + across, sheet_width), min(y + down, sheet_height)
    x, y = max(x, 0), max(y, 0)
    return _rect(x, y, right - x, bottom - y)


def _bubble(datum: Datum, sheet_width: float, sheet_height: float) -> ElementTree.Element:
    """The words in a frame, above the field or, where there is no room, below or across it."""
    x, y, across, down = datum.hit
    room = sheet_width - 2 * (PAD + EDGE)
    lines = [line for said in datum.said.split("\n") for line in wrapped(said, room, SMALL)]
    wide = max(width(line, SMALL) for line in lines) + 2 * PAD
    high = LINE * len(lines) + PAD
    left = min(max(x + across / 2 - wide / 2, EDGE), sheet_width - wide - EDGE)
    top = y - GAP - high + REACH / 2
    if down > COLUMN:
        top = y + EDGE  # a column of a plot: in it, not over the axes
    elif top < EDGE:
        top = max(min(y + down + GAP - REACH / 2, sheet_height - high - EDGE), EDGE)
    group = ElementTree.Element("g", {"class": "tip", "visibility": "hidden"})
    group.append(_rect(left, top, wide, high))
    for place, line in enumerate(lines):
        at = {"x": plain(left + PAD), "y": plain(top + LINE * (place + 1) - 1)}
        ElementTree.SubElement(group, "text", at).text = line
    return group
