"""Numbers in plain decimal form, and in elements of XML; each fault named by its place."""

from __future__ import annotations

import math
import re

import numpy as np

from method.readers.errors import ReadError
from method.readers.values import Floats
from method.readers.xml import Element

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)
_USUAL = re.compile(r"[0-9.eE+\-\s]*")  # of this, float() takes nothing that no file means


def plain_number(text: str) -> float | None:
    """Return the finite number that a text without blanks writes, or None.

    Only what files mean by a number: no underscores, no foreign digits, no ``nan`` and ``inf``,
    nothing beyond the range of a float. Minus zero is zero.
    """
    if not _NUMBER.fullmatch(text):
        return None
    number = float(text)
    return number + 0.0 if math.isfinite(number) else None


def element_number(element: Element, text: str, name: str, field: str = "") -> float:
    """Return the number in an element's text or attribute; ReadError names line and column.

    field: what is shown beside the place; the element's name without it.
    """
    plain, field = text.strip(), field or element.name
    line, column = element.line, element.column
    if not plain:
        raise ReadError("number-missing", name, line=line, column=column, field=field)
    number = plain_number(plain)
    if number is None:
        params = {"text": plain[:40]}
        raise ReadError(
            "xml-not-number", name, line=line, column=column, field=field, params=params
        )
    return number


def element_numbers(element: Element, name: str, most: int) -> Floats:
    """Return the numbers (n,), parted by blanks, of an element's text: none to ``most``."""
    if element.long:
        raise ReadError("xml-text", name, line=element.line, column=element.column)
    texts = element.text.split()
    if len(texts) > most:
        params = {"found": str(len(texts)), "limit": str(most)}
        line, column = element.line, element.column
        raise ReadError("too-many-values", name, line=line, column=column, params=params)
    if _USUAL.fullmatch(element.text):
        try:
            numbers = np.fromiter(map(float, texts), np.float64, len(texts)) + 0.0
        except ValueError:
            pass  # found again below, with its place
        else:
            if np.isfinite(numbers).all():
                return numbers
    return np.array([_numbered(element, text, at, name) for at, text in enumerate(texts, 1)])


def _numbered(element: Element, text: str, position: int, name: str) -> float:
    """Return one of an element's numbers, or raise ReadError with its position."""
    number = plain_number(text)
    if number is None:
        params = {"text": text[:40], "position": str(position)}
        line, column, field = element.line, element.column, element.name
        raise ReadError(
            "value-not-number", name, line=line, column=column, field=field, params=params
        )
    return number
