"""Figures as inline SVG, for pages and PDFs: grey, by shape and number, never by colour alone.

Only presentation attributes are used: the pages' content policy allows no style attributes, and
the PDF typesetter reads the same form.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Sequence
from decimal import Decimal
from html import escape

from django.utils.safestring import SafeString, mark_safe

Row = tuple[str, Decimal, Decimal, Decimal, str]

WIDTH = 680
TOP, ROW, BOTTOM = 8, 20, 40
LABEL_END, PLOT_START, PLOT_END, STATE_START = 136, 148, 424, 436
FONT = 11
ROWS_PER_FIGURE = 40  # fits an A4 page; a longer list is cut into several figures by the caller
INK, MIDDLE, PALE = "#1a1a1a", "#767676", "#d9d9d9"


def margins(rows: Sequence[Row], *, title: str, desc: str, unit_text: str) -> SafeString:
    """Each specimen's value against its limit: a horizontal dot plot, one row per specimen.

    `rows`: (label, value, limit, uncertainty U, state in words), all of one unit; texts are
    already translated. The band limit ± U is shaded, the limit is a line, and the mark says by
    its shape on which side it lies: a disc up to limit − U, a cross above limit + U, an open
    diamond between. Value and state stand beside it. Raises ValueError for no or too many rows,
    or numbers that are negative or not finite.
    """
    if not 0 < len(rows) <= ROWS_PER_FIGURE:
        raise ValueError(f"a figure takes 1 to {ROWS_PER_FIGURE} rows, not {len(rows)}")
    numbers = [number for row in rows for number in row[1:4]]
    if not all(number.is_finite() and number >= 0 for number in numbers):
        raise ValueError("values, limits and uncertainties are finite and not negative")
    step = _tick_step(max(max(value, limit + u) for _, value, limit, u, _ in rows))
    last = max(math.ceil(max(value, limit + u) / step) for _, value, limit, u, _ in rows) or 1
    top = step * last
    height = TOP + ROW * len(rows) + BOTTOM
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" role="img"'
        f" font-family=\"'DejaVu Sans', 'Noto Sans SC', sans-serif\" font-size=\"{FONT}\">",
        f"<title>{escape(title)}</title><desc>{escape(desc)}</desc>",
        # All bands first: each would cover half of the neighbouring row's limit line.
        *(_band(row, TOP + ROW * index, top) for index, row in enumerate(rows)),
        *(_row(row, TOP + ROW * index, top) for index, row in enumerate(rows)),
        _axis(step, last, TOP + ROW * len(rows), unit_text),
        "</svg>",
    ]
    return mark_safe("".join(parts))  # noqa: S308  (every text in it was escaped above)


def _x(value: Decimal, top: Decimal) -> float:
    return round(PLOT_START + (PLOT_END - PLOT_START) * float(value / top), 2)


def _tick_step(greatest: Decimal) -> Decimal:
    """1, 2 or 5 times a power of ten, giving three to seven intervals."""
    if greatest == 0:
        return Decimal(1)
    power = Decimal(10) ** (greatest.adjusted())
    for factor in (Decimal("0.2"), Decimal("0.5"), Decimal(1), Decimal(2)):
        if greatest / (power * factor) <= 7:
            return power * factor
    return power * 5


def _band(row: Row, y: int, top: Decimal) -> str:
    """The zone limit ± U in which neither side has proof."""
    _, _, limit, uncertainty, _ = row
    left, right = _x(max(limit - uncertainty, Decimal(0)), top), _x(limit + uncertainty, top)
    width = round(right - left, 2)
    return f'<rect x="{left}" y="{y}" width="{width}" height="{ROW}" fill="{PALE}"/>'


def _row(row: Row, y: int, top: Decimal) -> str:
    """Limit, mark, and the same in words and numbers."""
    label, value, limit, uncertainty, state = row
    at = _x(limit, top)
    middle, base = y + ROW / 2, y + ROW / 2 + 4
    return (
        f'<path d="M{PLOT_START} {middle}H{PLOT_END}" stroke="{PALE}"/>'
        f'<path d="M{at} {y}V{y + ROW}" stroke="{INK}" stroke-width="1.5"/>'
        f"{_mark(_x(value, top), middle, _shape(value, limit, uncertainty))}"
        f'<text x="{LABEL_END}" y="{base}" text-anchor="end" fill="{INK}">'
        f"{escape(_fitted(label, LABEL_END))}</text>"
        f'<text x="{STATE_START}" y="{base}" fill="{INK}">{format(value, "f")}</text>'
        f'<text x="{STATE_START + 52}" y="{base}" fill="{INK}">'
        f"{escape(_fitted(state, WIDTH - STATE_START - 52))}</text>"
    )


def _shape(value: Decimal, limit: Decimal, uncertainty: Decimal) -> str:
    if value <= limit - uncertainty:
        return "disc"
    return "cross" if value > limit + uncertainty else "diamond"


def _mark(x: float, y: float, shape: str) -> str:
    """A disc, an open diamond or a cross around (x, y)."""
    if shape == "disc":
        return f'<circle cx="{x}" cy="{y}" r="4.5" fill="{INK}"/>'
    if shape == "diamond":
        edge = f"M{x} {y - 6}l6 6l-6 6l-6 -6Z"
        return f'<path d="{edge}" fill="#ffffff" stroke="{INK}" stroke-width="1.5"/>'
    lines = f"M{round(x - 5, 2)} {y - 5}l10 10m0 -10l-10 10"
    return f'<path d="{lines}" fill="none" stroke="{INK}" stroke-width="2.5"/>'


def _axis(step: Decimal, last: int, y: int, unit_text: str) -> str:
    """The line below the rows with its ticks, numbers and unit."""
    parts = [f'<path d="M{PLOT_START} {y}H{PLOT_END}" stroke="{MIDDLE}"/>']
    for count in range(last + 1):
        x = _x(step * count, step * last)
        parts.append(
            f'<path d="M{x} {y}v4" stroke="{MIDDLE}"/>'
            f'<text x="{x}" y="{y + 16}" text-anchor="middle" fill="{INK}">'
            f"{format((step * count).normalize(), 'f')}</text>"
        )
    middle = (PLOT_START + PLOT_END) // 2
    parts.append(
        f'<text x="{middle}" y="{y + 32}" text-anchor="middle" fill="{INK}">'
        f"{escape(unit_text)}</text>"
    )
    return "".join(parts)


def _fitted(text: str, room: float) -> str:
    """Cut a text that would run over its neighbour; wide (Chinese) signs count double."""
    widths = [FONT * (1.0 if unicodedata.east_asian_width(sign) in "WF" else 0.64) for sign in text]
    if sum(widths) <= room:
        return text
    used, kept = FONT * 1.0, ""
    for sign, width in zip(text, widths, strict=True):
        used += width
        if used > room:
            break
        kept += sign
    return kept.rstrip() + "…"
