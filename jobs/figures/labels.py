"""Words beside marks: a key below the figure, labels that do not run over each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext

from jobs.figures.canvas import Canvas
from jobs.figures.drawing import Standing
from jobs.figures.letters import SMALL, fitted, width
from jobs.figures.looks import Look

SAMPLE, GAP, BETWEEN, LINE, EDGE = 24, 6, 18, 18, 8
Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Said:
    """An entry of a key: words after a mark (named as in `looks.MARKS`), line, area or hatching."""

    words: str
    sample: str | Look
    area: bool = False


def standings(kinds: Sequence[Standing]) -> list[Said]:
    """Entries for the sides of a limit that occur."""
    words = {
        Standing.WITHIN: gettext("within the limit"),
        Standing.BETWEEN: gettext("within U of the limit"),
        Standing.BEYOND: gettext("beyond the limit"),
    }
    return [Said(words[kind], kind.value) for kind in Standing if kind in kinds]


def key_height(entries: Sequence[Said], sheet_width: float) -> float:
    """The room that `key` takes."""
    return LINE * (1 + max((row for _, _, row in _flow(entries, sheet_width)), default=-1)) + 4


def key(canvas: Canvas, entries: Sequence[Said], top: float) -> None:
    """The entries in lines from `top` downwards."""
    sheet = canvas.sheet
    for entry, x, row in _flow(entries, canvas.width):
        y = top + LINE * row + LINE / 2
        if entry.sample == "hatch":
            hatched(canvas, [(x, y - 5, x + SAMPLE, y + 5)], part="key")
        elif isinstance(entry.sample, str):
            sheet.signs(entry.sample, [(x + SAMPLE / 2, y)], "key")
        elif entry.area:
            sheet.areas([(x, y - 5, x + SAMPLE, y + 5)], entry.sample, "key")
        else:
            sheet.segments([(x, y, x + SAMPLE, y)], entry.sample, "key")
        room = canvas.width - EDGE - x - SAMPLE - GAP
        canvas.text(x + SAMPLE + GAP, y + 4, fitted(entry.words, room, SMALL), size=SMALL)


def _flow(entries: Sequence[Said], sheet_width: float) -> list[tuple[Said, float, int]]:
    """Each entry with its left end and its line."""
    placed: list[tuple[Said, float, int]] = []
    x, row = float(EDGE), 0
    for entry in entries:
        needed = SAMPLE + GAP + width(entry.words, SMALL)
        if x > EDGE and x + needed > sheet_width - EDGE:
            x, row = float(EDGE), row + 1
        placed.append((entry, x, row))
        x += needed + BETWEEN
    return placed


def hatched(canvas: Canvas, boxes: Sequence[Box], *, part: str) -> None:
    """Boxes of the sheet (left, top, right, bottom) filled with slanting lines, 4 units apart."""
    lines = []
    for left, top, right, bottom in boxes:
        height = bottom - top
        start = left - height + 4
        while start < right:
            # from (start, bottom) up to (start + height, top), cut to the box
            x0, x1 = max(start, left), min(start + height, right)
            if x1 > x0:
                lines.append((x0, bottom - (x0 - start), x1, bottom - (x1 - start)))
            start += 4
    if lines:
        canvas.sheet.segments(lines, Look(width=1), part)
    canvas.sheet.areas(boxes, Look(width=1), part)


def apart(places: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Places moved as little as needed so that neighbours are `gap` apart, between low and high."""
    order = sorted(range(len(places)), key=lambda index: places[index])
    moved = [0.0] * len(places)
    last = low - gap
    for index in order:
        last = moved[index] = max(places[index], last + gap)
    last = high + gap
    for index in reversed(order):
        last = moved[index] = min(moved[index], last - gap)
    return moved


def beside(
    canvas: Canvas,
    places: Sequence[tuple[float, float]],
    words: Sequence[str],
    field: Box,
) -> None:
    """A label next to each mark where one fits into the field without touching a mark or another
    label; elsewhere none, the table has it."""
    taken = [(x - 7, y - 7, x + 7, y + 7) for x, y in places]
    for (x, y), said in zip(places, words, strict=True):
        wide = width(said, SMALL)
        level = [(x + 10, y + 4), (x - 10 - wide, y + 4), (x - wide / 2, y - 11)]
        raised = [(x + 7, y - 8), (x - 7 - wide, y - 8)]
        lower = [(x - wide / 2, y + 19), (x + 7, y + 16), (x - 7 - wide, y + 16)]
        for left, base in level + raised + lower:
            box = (left, base - 9, left + wide, base + 3)
            inside = (
                field[0] <= box[0]
                and box[2] <= field[2]
                and field[1] <= box[1]
                and box[3] <= field[3]
            )
            if inside and not any(_touch(box, other) for other in taken):
                taken.append(box)
                canvas.text(left, base, said, size=SMALL)
                break


def rows(starts: Sequence[float], words: Sequence[str]) -> list[int]:
    """For texts that begin at `starts`: a line for each so that none runs over the next."""
    ends: list[float] = []
    found = []
    for start, said in zip(starts, words, strict=True):
        row = next((row for row, end in enumerate(ends) if end <= start), len(ends))
        end = start + width(said, SMALL) + BETWEEN / 2
        ends[row : row + 1] = [end]
        found.append(row)
    return found


def _touch(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
