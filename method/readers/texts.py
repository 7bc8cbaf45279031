"""The tables of a text: one, several one below the other, or blocks framed as CGATS.17 has them."""

from __future__ import annotations

from dataclasses import replace

from method.readers.blocks import Block, across, axes, blocks_of, check_unbroken
from method.readers.errors import ReadError
from method.readers.framed import Frame, after_data, frames, paired, separator_of
from method.readers.layout import HEAD, LEAST_BANDS, Layout, layouts
from method.readers.remarks import with_header_by_column, with_header_by_row
from method.readers.stated import stated_columns
from method.readers.table import DELIMITERS, limited_rows, separate
from method.readers.text import Row
from method.readers.values import Note, like_number


def framed_blocks(text: str, name: str) -> tuple[list[Block], list[Note]]:
    """Return the blocks of a framed text that hold spectra or state colours, and what was left.

    Raises ReadError where none does.
    """
    framed, after = frames(text, name)
    made = [_framed_block(frame, name) for frame in framed]
    kept = [block for block in made if block.found or stated_columns(block.head[0].cells)]
    if not kept:
        line = made[0].head[0].line
        raise ReadError("no-wavelengths", name, line=line, params={"least": str(LEAST_BANDS)})
    notes = after_data(after)
    left = [block for block in made if not any(block is one for one in kept)]
    if left:
        params = {"count": str(len(left)), "line": str(left[0].head[0].line)}
        notes.append(("blocks-left", params))
    return kept, notes


def _framed_block(frame: Frame, name: str) -> Block:
    word = separator_of(frame, name)
    header, scale = paired(frame, word, name)
    found = layouts([header])
    said = [Row(one.line, [one.key, one.value]) for one in frame.keywords]
    titles = [
        one.value for one in frame.own if one.key in ("DESCRIPTOR", "TABLE_NAME") and one.value
    ]
    return Block(
        head=[header],
        found=found,
        delimiter=word,
        body=(frame.lines, frame.first),
        name=titles[0][:60] if titles else "",
        said=said,
        frame=frame,
        scale=scale,
    )


def plain_blocks(text: str, name: str) -> tuple[list[Block], Block | None]:
    """Return the blocks of a text without a frame, and the one block that may be all of it.

    Where the first rows hold one axis of wavelengths only, the whole text is taken for one table,
    which is not split into rows here; ``several`` looks further where that fails.
    Raises ReadError where there are neither wavelengths nor stated colours.
    """
    text, first = _begun(text)
    try:
        text, (delimiter, found, head), notes = _separated(text, name, first)
    except ReadError as error:
        if error.id == "no-wavelengths":
            colours = _colours(text, name, first)
            if colours:
                return colours, None
        raise
    seen = axes(head)
    check_unbroken(head, seen, name)
    if len(seen) > 1:
        rows = limited_rows(text, delimiter, name, first)
        return blocks_of(rows, name, delimiter=delimiter), None
    return [], Block(head, found, delimiter, text=text, first=first, notes=notes)


def _separated(
    text: str, name: str, first: int
) -> tuple[str, tuple[str, list[Layout], list[Row]], list[Note]]:
    """Return a text, its first rows and the places of wavelengths, a header behind # uncovered.

    Raises ReadError as ``separate`` does.
    """
    try:
        made = separate(text, name, first)
        shown = with_header_by_column(text, first, made[1][0], made[2], made[0])
    except ReadError as error:
        shown = with_header_by_row(text, first) if error.id == "no-wavelengths" else None
        if shown is None:
            raise
    if shown is None:
        return text, made, []
    return (
        shown[0],
        separate(shown[0], name, first),
        [("header-in-remark", {"line": str(shown[1])})],
    )


def _begun(text: str) -> tuple[str, int]:
    """Return a text without blank lines before its first row, and the number of that line."""
    start = text.rfind("\n", 0, len(text) - len(text.lstrip())) + 1
    return (text[start:], text.count("\n", 0, start) + 1) if start else (text, 1)


def several(block: Block, name: str) -> list[Block]:
    """Return the tables of a text that could not be read as one; [] where it is not several."""
    try:
        made = blocks_of(block.all_rows(name), name, delimiter=block.delimiter)
    except ReadError:
        return []
    if len(made) < 2:
        return []
    lines = (block.text or "").split("\n")
    return [replace(one, body=_body(one, lines, block.first)) for one in made]


def _body(block: Block, lines: list[str], first: int) -> tuple[list[str], int] | None:
    """Return the lines of readings of a table by row; first: number of the first of the lines."""
    if not block.found or block.found[0].kind != "rows" or not block.rows:
        return None
    header, last = block.head[block.found[0].at].line, block.rows[-1].line
    return lines[header - first + 1 : last - first + 1], header + 1


def _colours(text: str, name: str, first: int) -> list[Block]:
    """Return the tables of colours in a text that holds no spectra."""
    top = "\n".join(text.split("\n", HEAD)[:HEAD])
    for word in DELIMITERS:
        try:
            if not any(stated_columns(row.cells) for row in limited_rows(top, word, name)):
                continue
            made = blocks_of(limited_rows(text, word, name, first), name, delimiter=word)
        except ReadError:
            continue  # faults under a wrong delimiter mean nothing
        if made:
            return made
    return []


def remarks_like_readings(text: str) -> int:
    """Return how many remark lines hold as many numbers as a reading."""
    if "#" not in text:
        return 0
    count = 0
    for line in text.split("\n"):
        if line.lstrip().startswith("#"):
            cells = line.replace(";", " ").replace("\t", " ").replace(",", " ").split()
            numbers = sum(map(like_number, cells))
            count += numbers >= LEAST_BANDS and not across(Row(0, cells))
    return count
