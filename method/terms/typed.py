"""Values as people type them, read by the kind of their field."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Sequence
from typing import Any

from method.terms.describe import FieldInfo, Kind
from method.terms.models.base import DECIMAL_PATTERN

Typed = str | bool | None | Sequence[str]

_YES = {"yes", "on", "true", "1"}
_NO = {"", "no", "off", "false", "0"}


def read(field: FieldInfo, value: Typed) -> tuple[Any, str]:
    """The JSON value of what was typed, and a problem's id or "".

    Nothing typed is unsaid. Text is brought to normal form C with plain line feeds and no space
    around it. Limits and choices are checked by the models afterwards.
    """
    if field.kind == "items":
        return None, "is_a_list"
    if field.kind in ("choices", "days"):
        return _many(field, value)
    if not isinstance(value, (str, bool)) and value is not None:
        return None, "not_valid"
    if field.kind == "yes_no":
        return _yes_no(value)
    if isinstance(value, bool):
        return None, "not_valid"
    return _READERS[field.kind](_plain(value or ""))


def _plain(text: str) -> str:
    """Text as it is kept."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    return unicodedata.normalize("NFC", lines).strip()


def _yes_no(value: str | bool | None) -> tuple[Any, str]:
    if isinstance(value, bool):
        return value, ""
    word = (value or "").strip().lower()
    return (word in _YES, "") if word in _YES | _NO else (None, "not_yes_or_no")


def _integer(text: str) -> tuple[Any, str]:
    if not text:
        return None, ""
    if not re.fullmatch(r"[+-]?[0-9]{1,12}", text):
        return None, "not_an_integer"
    return int(text), ""


def _decimal(text: str) -> tuple[Any, str]:
    """Plain decimal text; a comma is not guessed at (1,500 reads two ways)."""
    if not text:
        return None, ""
    if not re.fullmatch(DECIMAL_PATTERN, text):
        return None, "not_a_decimal"
    return text, ""


def _or_unsaid(text: str) -> tuple[Any, str]:
    return text or None, ""


def _text(text: str) -> tuple[Any, str]:
    return text, ""


def _many(field: FieldInfo, value: Typed) -> tuple[Any, str]:
    """A set of choices or of days: a list, or text with one a line or with commas between."""
    if isinstance(value, bool):
        return None, "not_valid"
    rows = re.split(r"[\n,;]", _plain(value)) if isinstance(value, str) else list(value or ())
    words = sorted({row.strip() for row in rows if row.strip()})
    if field.kind == "choices" and not set(words) <= {choice for choice, _ in field.choices}:
        return None, "not_a_choice"
    return words, ""


_READERS: dict[Kind, Callable[[str], tuple[Any, str]]] = {
    "integer": _integer,
    "decimal": _decimal,
    "choice": _or_unsaid,
    "day": _or_unsaid,
    "text": _text,
}
