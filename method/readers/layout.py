"""Where the wavelengths stand: in which row or column, under which spelling."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from method.readers.errors import ReadError
from method.readers.text import Row

LEAST_BANDS = 8
SHORTEST, LONGEST = 200, 1100  # nm
HEAD = 700  # rows looked at; a 1 nm axis of 200 to 830 nm fits
_USUAL_STEPS = (5, 10, 20)  # nm
_MOST_WITH_STRAY = 250
_PREFIXES = ("", "SPECTRAL", "SPEC", "R", "REFLECTANCE")
# "SPECTRAL_NM380", "SPECTRAL_380", "SPEC_380", "nm380", "380nm", "380", "R380", "R(380)", ...:
# anything without digits, three or four digits, perhaps decimals, perhaps "nm"
_NAME = re.compile(
    r"([^\d]*?)(?:NM[ _]*)?(\d{3,4})(?:[.,](\d+))?\s*(?:NM)?\s*[)\]]?", re.IGNORECASE
)


class Band(NamedTuple):
    """One wavelength name: its prefix in capitals, nm, zero-based cell, text as written."""

    prefix: str
    nm: float
    cell: int
    text: str


@dataclass(frozen=True)
class Layout:
    """One place where wavelengths were found.

    kind: ``rows`` (one reading per row, wavelengths in row ``at``) or ``columns`` (one reading per
    column, wavelengths in column ``at``, readings' names in the row before). bands: in the order
    of the file, their ``cell`` counting cells (rows) or rows of the table (columns).
    """

    kind: str
    at: int
    prefix: str
    bands: tuple[Band, ...]


def band(text: str, index: int) -> Band | None:
    """Return what wavelength a cell names, or None."""
    if len(text) > 40:
        return None
    name = text.split("#", 1)[0].rstrip() if "#" in text[1:] else text  # a remark may follow
    found = _NAME.fullmatch(name)
    if not found:
        return None
    prefix, whole, part = found.groups()
    nm = float(f"{whole}.{part or 0}")
    if not SHORTEST <= nm <= LONGEST or prefix.strip() in ("-", "+"):
        return None
    return Band(prefix.upper().strip(" _-[("), nm, index, text)


def _monotone(bands: Sequence[Band]) -> bool:
    steps = [b.nm - a.nm for a, b in pairwise(bands)]
    return all(step >= 0 for step in steps) or all(step <= 0 for step in steps)


def in_order(layout: Layout) -> bool:
    """Tell whether a layout's wavelengths rise or fall throughout."""
    return _monotone(layout.bands)


def _without_stray(bands: list[Band]) -> list[Band]:
    """Return bands without the one that does not belong to them, such as a brightness at 457 nm.

    It lies between the others, at none of them, and they go in one usual step without it.
    """
    if len(bands) <= LEAST_BANDS or len(bands) > _MOST_WITH_STRAY or _usual_step(bands):
        return bands
    for at, one in enumerate(bands):
        rest = bands[:at] + bands[at + 1 :]
        if _usual_step(rest):
            found = [other.nm for other in rest]
            inside = min(found) < one.nm < max(found) and one.nm not in found
            return rest if inside else bands
    return bands


def _usual_step(bands: Sequence[Band]) -> bool:
    """Tell whether bands go in one step of 5, 10 or 20 nm."""
    step = bands[1].nm - bands[0].nm
    return abs(step) in _USUAL_STEPS and all(b.nm - a.nm == step for a, b in pairwise(bands))


def _grouped(found: Iterable[Band | None]) -> dict[str, list[Band]]:
    groups: dict[str, list[Band]] = {}
    for one in found:
        if one is not None:
            groups.setdefault(one.prefix, []).append(one)
    return groups


def _in_rows(head: Sequence[Row], *, rising: bool) -> list[Layout]:
    """Return the sets of wavelength columns of the first row that has any.

    rising: ask that the wavelengths rise or fall; without, a row out of order is found as well.
    """
    for at, row in enumerate(head):
        groups = _grouped(band(text, index) for index, text in enumerate(row.cells))
        groups = {prefix: _without_stray(bands) for prefix, bands in groups.items()}
        layouts = [
            Layout("rows", at, prefix, tuple(bands))
            for prefix, bands in groups.items()
            if len(bands) >= LEAST_BANDS and (_monotone(bands) or not rising)
        ]
        if layouts:
            return layouts
    return []


def _runs(head: Sequence[Row], column: int) -> Iterator[list[Band]]:
    """Yield the unbroken runs of wavelengths down a column."""
    run: list[Band] = []
    for index, row in enumerate(head):
        one = band(row.cells[column], index) if column < len(row.cells) > 1 else None
        if one is None or (run and (one.prefix != run[0].prefix or _begins_again(run, one))):
            yield run
            run = []
        if one is not None:
            run.append(one)
    yield run


def _begins_again(run: Sequence[Band], one: Band) -> bool:
    """Tell whether a run of wavelengths that rises or falls begins anew here, as it began."""
    return len(run) >= LEAST_BANDS and one.nm == run[0].nm and _monotone(run)


def _in_columns(head: Sequence[Row]) -> list[Layout]:
    """Return the longest run of wavelengths down one of the first three columns."""
    best: Layout | None = None
    for column in range(3):
        for run in _runs(head, column):
            longer = best is None or len(run) > len(best.bands)
            if len(run) >= LEAST_BANDS and _monotone(run) and longer:
                best = Layout("columns", column, run[0].prefix, tuple(run))
    return [best] if best else []


def _visible(layout: Layout) -> bool:
    """Tell whether a layout's wavelengths span most of the visible range."""
    found = [one.nm for one in layout.bands]
    return min(found) <= 420 and max(found) >= 680


def _plainness(layout: Layout) -> tuple[bool, bool, bool]:
    """Rank how plainly these are wavelengths: visible range, usual step, usual spelling."""
    steps = {abs(b.nm - a.nm) for a, b in pairwise(layout.bands)}
    return _visible(layout), len(steps) == 1 and steps <= {5, 10, 20}, layout.prefix in _PREFIXES


def layouts(head: Sequence[Row]) -> list[Layout]:
    """Return every layout that the first rows of a table allow, the likeliest first.

    Specimens numbered 301, 302, ... or S301, S302, ... look like wavelengths too: of rows and
    columns, what is less plainly a wavelength axis gives way. Wavelengths out of order come last,
    so that the fault is named.
    """
    by_row, by_column = _in_rows(head, rising=True), _in_columns(head)
    if by_row and by_column:
        one, other = max(map(_plainness, by_row)), max(map(_plainness, by_column))
        by_row, by_column = by_row if one >= other else [], by_column if other >= one else []
    return by_row + by_column or _in_rows(head, rising=False)


def grid_of(layout: Layout, name: str, line_of: Sequence[int]) -> list[int]:
    """Return the whole, even wavelengths in the order of the file, or raise ReadError.

    line_of: the line of each row of the table.
    """
    bands = layout.bands
    for one in bands:
        if one.nm != int(one.nm):
            params = {"wavelength": f"{one.nm:g}"}
            line, column = _place(layout, one, line_of)
            raise ReadError("grid-fractional", name, line=line, column=column, params=params)
    whole = [int(one.nm) for one in bands]
    step = whole[1] - whole[0]
    for before, after in pairwise(bands):
        if after.nm - before.nm != step or step == 0:
            params = {"before": f"{before.nm:g}", "after": f"{after.nm:g}"}
            line, column = _place(layout, after, line_of)
            raise ReadError("grid-uneven", name, line=line, column=column, params=params)
    return whole


def _place(layout: Layout, one: Band, line_of: Sequence[int]) -> tuple[int, int]:
    """Return line and column, from 1, of a wavelength name."""
    if layout.kind == "rows":
        return line_of[layout.at], one.cell + 1
    return line_of[one.cell], layout.at + 1
