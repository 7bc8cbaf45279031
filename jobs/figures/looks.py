"""How lines, areas and marks look: greys of paper, which a page's style sheet sets anew."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

SHEET = "#ffffff"


class Tone(StrEnum):
    """What something is for, as class; the style sheet has a custom property for each.

    QUIET is not called quiet there: pages set such text smaller, whatever the figure says.
    """

    INK = "ink"
    QUIET = "soft"
    RULE = "rule"
    ZONE = "zone"


GREYS = {Tone.INK: "#1c1c1c", Tone.QUIET: "#464646", Tone.RULE: "#b8b8b8", Tone.ZONE: "#dedede"}


class Fill(StrEnum):
    """Solid in its tone, hollow in the colour of the sheet, or nothing."""

    SOLID = "solid"
    HOLLOW = "hollow"
    NONE = ""


@dataclass(frozen=True)
class Look:
    """Tone, fill, width of the stroke in units (0: none), and its dashes."""

    tone: Tone = Tone.INK
    fill: Fill = Fill.NONE
    width: float = 1.0
    dash: str = ""

    def attributes(self, *classes: str) -> dict[str, str]:
        """Class and presentation attributes: what paper and a page without style sheet show."""
        stroked = "" if self.width else "bare"
        named = filter(None, (*classes, self.tone, self.fill, stroked))
        grey = GREYS[self.tone]
        fills = {Fill.SOLID: grey, Fill.HOLLOW: SHEET, Fill.NONE: "none"}
        made = {"class": " ".join(named), "fill": fills[self.fill]}
        if self.width:
            made |= {"stroke": grey, "stroke-width": f"{self.width:g}"}
        if self.dash:
            made["stroke-dasharray"] = self.dash
        return made


AREA = Look(Tone.ZONE, Fill.SOLID, 0)
RULE = Look(Tone.RULE)
AXIS = Look(Tone.QUIET)
LIMIT = Look(Tone.INK, width=1.5)
THIN = Look(Tone.QUIET)


@dataclass(frozen=True)
class Mark:
    """A mark of the plotting library: its sign, size in units, and look."""

    sign: str
    size: float
    look: Look


MARKS = {
    "disc": Mark("o", 8, Look(fill=Fill.SOLID)),
    "diamond": Mark("D", 8.5, Look(fill=Fill.HOLLOW, width=1.5)),
    "cross": Mark("x", 10, Look(width=2.5)),
    "ring": Mark("o", 8, Look(fill=Fill.HOLLOW, width=1.5)),
    "square": Mark("s", 8, Look(fill=Fill.HOLLOW, width=1.5)),
    "plus": Mark("+", 16, Look(width=1.5)),
    "speck": Mark("o", 2, Look(fill=Fill.SOLID)),
    "dot": Mark("o", 4, Look(fill=Fill.SOLID)),
}
