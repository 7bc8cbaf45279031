"""The words of the trade and our own, each with its source: shown as a page and beside fields."""

from __future__ import annotations

from method.glossary import agreeing, measuring, seeing
from method.glossary.entry import Entry

ENTRIES: dict[str, Entry] = {
    entry.id: entry for part in (seeing, measuring, agreeing) for entry in part.ENTRIES
}

__all__ = ["ENTRIES", "Entry"]
