"""What goes into every figure and what comes out: setting, conditions, table, drawing."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import Enum
from typing import TypeVar

from django.utils.safestring import SafeString
from django.utils.translation import gettext

Number = Decimal | float | int
Data = TypeVar("Data")

MOST_PRINTED = 120  # rows of a table on paper
FEW_ROWS, MOST_PARTS, MOST_COLUMNS = 12, 3, 12  # of a table folded for paper
WIDE, NARROW = 680, 340  # units of the viewBox; text of 12 units is legible at these pixels
_KEY = re.compile(r"[a-z][a-z0-9-]*")


@dataclass(frozen=True)
class Setting:
    """How one figure is set.

    `key` begins every id in it: unlike for each figure of a page. `interactive`: tooltips and, for
    at most `canvas.MOST_STOPS` data, a tab stop at each (pages); without, for paper. `narrow`: half
    the width, for phones. Raises ValueError for a key that could not begin an id.
    """

    key: str
    interactive: bool = True
    narrow: bool = False

    def __post_init__(self) -> None:
        if not _KEY.fullmatch(self.key):
            raise ValueError(
                f"a figure's key is a small letter, then a-z, 0-9, -: not {self.key!r}"
            )

    @property
    def width(self) -> int:
        """Width of the viewBox."""
        return NARROW if self.narrow else WIDE


@dataclass(frozen=True)
class Conditions:
    """Under which conditions the numbers hold, each already in words, "" where it has no meaning.

    `formula` (ΔE00), `illuminant` (D65), `observer` (10°), `geometry` (45°:0°), `other` (whatever
    else a reader must know). Raises ValueError where nothing is said.
    """

    formula: str = ""
    illuminant: str = ""
    observer: str = ""
    geometry: str = ""
    other: str = ""

    def __post_init__(self) -> None:
        if not self.words:
            raise ValueError("a figure says under which conditions its numbers hold")

    @property
    def words(self) -> str:
        """All of them, for the description."""
        return ", ".join(
            filter(None, (self.formula, self.illuminant, self.observer, self.geometry, self.other))
        )

    def after(self, *sentences: str) -> str:
        """A description: what is shown, then the conditions."""
        return " ".join((*sentences, gettext("Conditions: %(words)s.") % {"words": self.words}))

    def axis(self, quantity: str) -> str:
        """A quantity with the conditions beside it, for the label of an axis."""
        said = ", ".join(filter(None, (self.illuminant, self.observer, self.geometry)))
        return f"{quantity} ({said})" if said else quantity


class Standing(Enum):
    """On which side of its limit a value lies: told by the shape of its mark."""

    WITHIN = "disc"
    BETWEEN = "diamond"
    BEYOND = "cross"


def standing(value: Number, limit: Number, uncertainty: Number) -> Standing:
    """Within up to limit − U, beyond above limit + U, between otherwise. One unit for all."""
    value, limit, uncertainty = exact(value), exact(limit), exact(uncertainty)
    if value <= limit - uncertainty:
        return Standing.WITHIN
    return Standing.BEYOND if value > limit + uncertainty else Standing.BETWEEN


@dataclass(frozen=True)
class Column:
    """A head with its unit; `number`: set to the right."""

    head: str
    number: bool = True


@dataclass(frozen=True)
class Table:
    """The numbers behind a figure, as texts that are shown as they are."""

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]

    def __post_init__(self) -> None:
        if any(len(row) != len(self.columns) for row in self.rows):
            raise ValueError("a row of a table has one text per column")

    @property
    def fits_paper(self) -> bool:
        """Whether it is short enough to be printed."""
        return len(self.rows) <= MOST_PRINTED

    def folded(self) -> Table:
        """For paper: a long and slender one as columns side by side, each read to its foot."""
        across, count = len(self.columns), len(self.rows)
        words = any(not column.number for column in self.columns[1:])
        most = 2 if words else MOST_PARTS  # words need room
        parts = max(1, min(most, MOST_COLUMNS // across, math.ceil(count / FEW_ROWS)))
        height = math.ceil(count / parts)
        filled = [*self.rows, *[("",) * across] * (height * parts - count)]
        rows = tuple(
            tuple(text for part in range(parts) for text in filled[place + part * height])
            for place in range(height)
        )
        return replace(self, columns=self.columns * parts, rows=rows)

    def lines(self) -> Iterator[list[tuple[str, bool]]]:
        """Row by row: (text, whether it is a number), for the template."""
        for row in self.rows:
            yield [(text, column.number) for text, column in zip(row, self.columns, strict=True)]


@dataclass(frozen=True)
class Drawing:
    """A figure: SVG for wide screens and paper, perhaps another for phones, and its table."""

    svg: SafeString
    title: str
    description: str
    table: Table
    narrow: SafeString | None = None

    def __html__(self) -> str:
        return self.svg


def for_page(draw: Callable[[Data, Setting], Drawing], data: Data, key: str) -> Drawing:
    """A figure with tooltips in both widths, of which the style sheet shows one."""
    wide = draw(data, Setting(key))
    slim = draw(data, Setting(f"{key}-narrow", narrow=True))
    return replace(wide, narrow=slim.svg)


def for_paper(draw: Callable[[Data, Setting], Drawing], data: Data, key: str) -> Drawing:
    """A figure without anything that asks for a pointer or a keyboard."""
    return draw(data, Setting(key, interactive=False))


def finite(*numbers: Number) -> None:
    """Raise ValueError for a number that is none or has no end."""
    for number in numbers:
        if not math.isfinite(number):
            raise ValueError(f"the numbers of a figure are finite, not {number}")


def not_negative(*numbers: Number) -> None:
    """Raise ValueError for a number that is not finite or below zero."""
    finite(*numbers)
    if any(number < 0 for number in numbers):
        raise ValueError("values, limits and uncertainties are finite and not negative")


def some(rows: Iterable[object], what: str) -> None:
    """Raise ValueError where there is nothing to draw."""
    if not any(True for _ in rows):
        raise ValueError(f"a figure needs {what}")


def exact(number: Number) -> Decimal:
    """A number as it is printed: a float by its shortest decimal form."""
    return number if isinstance(number, Decimal) else Decimal(str(number))


def shown(number: Number) -> str:
    """A number as every figure and table prints it: plain digits, a true minus sign."""
    return format(exact(number), "f").replace("-", "−")


def rounded(number: Number, decimals: int) -> Decimal:
    """A computed number cut to what is printed; mark and table are both made from this one."""
    finite(number)
    return exact(number).quantize(Decimal(1).scaleb(-decimals))
