"""Units that exports write among the readings: a row of them below the header, a sign in each cell.

They are taken off, so that numbers remain, and heard: what they say of the scale counts like a
keyword. Only where they stand throughout; a sign in some cells stays a fault of these.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from method.readers.text import Row
from method.readers.values import like_number

_UNIT = re.compile(
    r"[\[(]?\s*(?:%\s*(?:[RT]|refl\w*\.?)?|[RT]\s*%|per ?cent|pct\.?|(?:refl\w*\.? ?)?factor"
    r"|refl\w*\.?|K/S|abs\w*\.?|nm)\s*[\])]?",
    re.IGNORECASE,
)


def units_row(row: Row, bands: Sequence[int]) -> str:
    """Return the unit that a row gives for all bands alike, or nothing. bands: cells from 0."""
    if max(bands) >= len(row.cells):
        return ""
    said = {row.cells[i] for i in bands}
    one = said.pop()
    return one if not said and _UNIT.fullmatch(one) else ""


def without_signs(body: Sequence[Row], bands: Sequence[int]) -> list[Row] | None:
    """Return the rows without the percent signs behind their values; None unless all have one."""
    wanted = set(bands)
    found = []
    for row in body:
        cells = list(row.cells)
        for index in wanted:
            text = cells[index] if index < len(cells) else ""
            if not text.endswith("%") or not like_number(text[:-1].rstrip()):
                return None
            cells[index] = text[:-1].rstrip()
        found.append(Row(row.line, cells, row.width))
    return found
