"""A translation that wraps every message in ⟦…⟧, and a reader of what a page shows outside them.

What people typed, codes, numbers and units stand outside; words of ours must not.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from html.parser import HTMLParser
from typing import Any

from django.utils.translation.trans_real import CONTEXT_SEPARATOR, DjangoTranslation

OPEN, CLOSE = "⟦", "⟧"
SHOWN_ATTRIBUTES = {"alt", "title", "aria-label", "placeholder"}
BUTTONS = {"submit", "button", "reset"}
SILENT = {"script", "style"}
VOID = {"input", "meta", "link", "br", "img", "hr", "wbr", "source", "col", "area"}
# Names and signs that are the same in every language: standards, illuminants, units.
SAME = re.compile(
    r"""
    [0-9a-f]{12,64}                             # digests and fingerprints
    | [0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}
    | \b[A-Z]-[A-Z0-9]{2,}\b | \b[A-Z]{2}-\w+\b # codes of people, firms and things
    | \bCountershade\b | \bSHA-256\b | \bJSON\b | \bPDF\b | \bCIEDE2000\b | \bUTC\b
    | \b(?:D65|D50|F2|F11|F12|LED-B3|A|C)\b | \bdi:8\b | \bΔE\*?\w* | \bL\*|\ba\*|\bb\*
    | \b(?:nm|mm|lx|lux|h|K|min|U|k|T)\b | °C | utf-8 | \b[A-Z][a-z]+/[A-Z][A-Za-z_]+\b
    """,
    re.VERBOSE,
)
IDENTIFIER = re.compile(r"\b[a-z]+(?:_[a-z0-9]+)+\b")
LETTERS = re.compile(r"[^\W\d_]{2,}")


class Pseudo(DjangoTranslation):
    """English, every message between ⟦ and ⟧."""

    def gettext(self, message: str) -> str:
        """The message, marked; its context is left away as trans_real expects."""
        found: str = super().gettext(message)
        return f"{OPEN}{found.rpartition(CONTEXT_SEPARATOR)[2]}{CLOSE}"

    def ngettext(self, one: str, many: str, number: Any) -> str:
        """The form for the number, marked."""
        found: str = super().ngettext(one, many, number)
        return f"{OPEN}{found.rpartition(CONTEXT_SEPARATOR)[2]}{CLOSE}"


class Shown(HTMLParser):
    """Collects what a page shows outside the marks: text and the attributes that are read out."""

    def __init__(self) -> None:
        super().__init__()
        self.depth = 0
        self.skipped: list[str] = []
        self.everything: list[str] = []
        self.outside: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Attributes that people read; what is code or says translate="no" is left out."""
        values = dict(attrs)
        if not self.skipped:
            for name, value in attrs:
                button = name == "value" and tag == "input" and values.get("type") in BUTTONS
                if value and (name in SHOWN_ATTRIBUTES or button):
                    self.take(value)
        if tag in VOID:
            return
        left_out = tag in SILENT or tag == "code" or values.get("translate") == "no"
        if self.skipped or left_out:
            self.skipped.append(tag)

    def handle_endtag(self, tag: str) -> None:
        """Out of what was left out."""
        if self.skipped and self.skipped[-1] == tag:
            self.skipped.pop()

    def handle_data(self, data: str) -> None:
        """Text; a marked message may hold elements, so the depth goes on from text to text."""
        if not self.skipped:
            self.depth = self.take(data, self.depth)

    def take(self, text: str, depth: int = 0) -> int:
        """Keep what stands outside the marks; returns how many are still open."""
        kept = ""
        for sign in text:
            depth += sign == OPEN
            if not depth:
                kept += sign
            depth -= sign == CLOSE
        if depth and text.rstrip().endswith("…"):
            depth = 0  # a long message was shortened on purpose
        self.everything.append(text)
        if kept.strip():
            self.outside.append(" ".join(kept.split()))
        return depth


def untranslated(html: str, typed: Iterable[str]) -> list[str]:
    """Texts of a page with words outside the marks, and identifiers anywhere.

    `typed`: what people entered (names, titles, remarks …), which is nobody's to translate.
    """
    shown = Shown()
    shown.feed(html)
    own = sorted({" ".join(one.split()) for one in typed if one.strip()}, key=len, reverse=True)
    found = [text for text in shown.outside if LETTERS.search(_without(text, own))]
    for text in shown.everything:
        if IDENTIFIER.search(_without(text, own)):
            found.append(" ".join(text.split()))
    if shown.depth:
        found.append("a mark is not closed: a message was cut")
    return found


def _without(text: str, typed: list[str]) -> str:
    for one in typed:
        text = text.replace(one, " ")
    return SAME.sub(" ", text)
