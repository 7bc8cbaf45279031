"""What standards ask of viewing conditions, as data with edition and the mark of its source.

Only limits that were seen may decide anything; what is remembered, or was read in somebody else's
summary, is there to be shown beside a figure with its mark, and an agreement states its own limit.
ISO 3668 speaks of a simulator's category and of no colour temperature: none is invented here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from colorimetry.arrays import name, number
from colorimetry.errors import DomainError

Mark = Literal["seen", "secondary", "memory"]
Quantity = Literal[
    "illuminance",
    "interior L*",
    "interior |a*| or |b*|",
    "category, visible",
    "category, ultraviolet",
    "index, visible",
    "index, ultraviolet",
    "chromaticity distance u'10 v'10",
    "colour rendering Ra",
    "special rendering R1 to R8",
    "uniformity, least to most",
]
CATEGORIES = ("A", "B", "C", "D", "E")
WORDS: dict[Mark, str] = {
    "seen": "seen in an excerpt of the standard",
    "secondary": "from a secondary source: check your copy of the standard",
    "memory": "from memory: check your copy of the standard",
}


@dataclass(frozen=True)
class Limit:
    """One limit of one edition: low and high ends (None: open), letters for categories."""

    standard: str
    edition: str
    use: str
    quantity: Quantity
    low: float | str | None
    high: float | str | None
    unit: str
    mark: Mark

    @property
    def may_decide(self) -> bool:
        """Whether the limit was seen; others are never a criterion by themselves."""
        return self.mark == "seen"

    def holds(self, value: float | str) -> bool:
        """Return whether a value lies in the limit, ends included; "A" is the best category.

        Categories are one letter from A to E; amounts are finite and not negative.
        DomainError for anything else, and where number and letter meet.
        """
        if isinstance(value, str):
            name(value, self.quantity, CATEGORIES)
        else:
            value = number(value, self.quantity, low=0.0)
        ends = [end for end in (self.low, self.high) if end is not None]
        if any(isinstance(end, str) != isinstance(value, str) for end in ends):
            raise DomainError(self.quantity, "type", detail=f"{value!r} beside {ends}")
        above = self.low is None or value >= self.low  # type: ignore[operator]
        return above and (self.high is None or value <= self.high)  # type: ignore[operator]


def _iso_3668(
    use: str, quantity: Quantity, low: float | str | None, high: float | str | None, unit: str = ""
) -> Limit:
    return Limit("ISO 3668", "2017, 5.2", use, quantity, low, high, unit, "seen")


def _print_viewing(
    use: str,
    quantity: Quantity,
    low: float | None,
    high: float | None,
    mark: Mark,
    unit: str = "",
) -> Limit:
    return Limit("ISO 3664", "2009", use, quantity, low, high, unit, mark)


LIMITS: tuple[Limit, ...] = (
    _iso_3668("booth", "illuminance", 1000.0, 4000.0, "lx"),
    _iso_3668("booth", "category, visible", None, "B"),
    _iso_3668("booth", "category, ultraviolet", None, "C"),
    _iso_3668("booth", "interior L*", 45.0, 55.0),
    _iso_3668("booth, light and near-white colours", "interior L*", 65.0, None),
    _iso_3668("booth", "interior |a*| or |b*|", None, 10.0),
    Limit("ASTM D1729", "2016", "critical", "illuminance", 1080.0, 1340.0, "lx", "memory"),
    Limit("ASTM D1729", "2016", "general", "illuminance", 810.0, 1880.0, "lx", "memory"),
    Limit("ASTM D1729", "2016", "critical", "category, visible", None, "B", "", "secondary"),
    Limit("ASTM D1729", "2016", "critical", "category, ultraviolet", None, "C", "", "secondary"),
    _print_viewing("P1", "illuminance", 1500.0, 2500.0, "memory", "lx"),
    _print_viewing("P2", "illuminance", 375.0, 625.0, "memory", "lx"),
    _print_viewing("P1", "chromaticity distance u'10 v'10", None, 0.005, "memory"),
    _print_viewing("P1", "colour rendering Ra", 90.0, None, "memory"),
    _print_viewing("P1", "special rendering R1 to R8", 80.0, None, "memory"),
    _print_viewing("P1", "index, visible", None, 1.0, "secondary"),
    _print_viewing("P1", "index, ultraviolet", None, 1.5, "secondary"),
    _print_viewing("P1, up to 1 m²", "uniformity, least to most", 0.75, None, "memory"),
    _print_viewing("P1, larger", "uniformity, least to most", 0.60, None, "memory"),
    Limit("ISO 105-A01", "unsaid", "grey scales", "illuminance", 600.0, None, "lx", "secondary"),
)
# a later edition whose limits were not found: ISO 3664:2009 is not the last word
REPLACED: dict[tuple[str, str], str] = {("ISO 3664", "2009"): "ISO 3664:2025 (limits not found)"}


def limits(standard: str, quantity: Quantity | None = None) -> tuple[Limit, ...]:
    """Return the limits of a standard (as in LIMITS), of one quantity or all; empty if none."""
    return tuple(
        limit
        for limit in LIMITS
        if limit.standard == standard and quantity in (None, limit.quantity)
    )
