"""The one byte form of every document that is hashed or signed (RFC 8785, restricted).

Restrictions on top of RFC 8785, so that every reader in every language agrees: keys are ASCII,
numbers are integers below 2**53 in magnitude (decimals travel as strings, see `decimal_text`),
text is in Unicode normal form C and free of NUL and lone surrogates, nesting is limited.
"""

from __future__ import annotations

import hashlib
import json
import unicodedata
from collections.abc import Mapping
from decimal import Decimal
from typing import Any, NoReturn

MAX_DEPTH = 64
MAX_BYTES = 64 * 1024 * 1024
MAX_INTEGER = 2**53 - 1
MAX_DIGITS = 16  # 2**53 has sixteen


class CanonicalError(ValueError):
    """A value has no canonical form, or bytes are not in it. The message names the place."""


def canonical_bytes(value: Any) -> bytes:
    """The canonical bytes of a JSON value (dict, list, tuple, str, int, bool, None).

    Text is brought to NFC. Raises CanonicalError for floats, Decimals, integers of 2**53 and
    more, keys that are not ASCII, NUL, lone surrogates, and nesting beyond MAX_DEPTH.
    """
    try:
        return _written(_plain(value, 0))
    except _Fault as fault:
        raise CanonicalError(f"{fault.place()}: {fault.problem}") from None


def parse(data: bytes) -> Any:
    """The value of canonical bytes; anything that would not serialise to the same is refused.

    Raises CanonicalError: not UTF-8 JSON, duplicate keys, floats, NaN, too deep, too many
    digits, or not in canonical form.
    """
    value = parse_json(data)
    again = _written(value) if _is_plain(data, value) else canonical_bytes(value)
    if again != data:
        where = _first_difference(data, again)
        raise CanonicalError(f"not in canonical form: differs at byte {where}")
    return value


def parse_json(data: bytes) -> Any:
    """The value of strict JSON bytes that need not be canonical; same refusals otherwise."""
    if len(data) > MAX_BYTES:
        raise CanonicalError(f"document of {len(data)} bytes; at most {MAX_BYTES} are read")
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise CanonicalError(f"not UTF-8 at byte {error.start}") from None
    try:
        return json.loads(
            text,
            object_pairs_hook=_unique,
            parse_int=_integer,
            parse_float=_no_number,
            parse_constant=_no_number,
        )
    except json.JSONDecodeError as error:
        where = len(text[: error.pos].encode("utf-8", "surrogatepass"))
        raise CanonicalError(f"not JSON at byte {where}: {error.msg}") from None
    except RecursionError:
        raise CanonicalError(f"nested deeper than {MAX_DEPTH}") from None


def digest(data: bytes) -> str:
    """SHA-256 of the bytes, 64 lowercase hexadecimal characters."""
    return hashlib.sha256(data).hexdigest()


def decimal_text(value: Decimal) -> str:
    """A Decimal as documents carry it: plain notation that keeps the resolution ("1.10")."""
    if not value.is_finite():
        raise CanonicalError(f"{value} is not a finite number")
    return format(value, "f")


def _written(value: Any) -> bytes:
    """The bytes of a value that `_plain` has checked.

    Within the restrictions the standard library's encoder gives the form of RFC 8785: ASCII keys
    sort alike by code point and by UTF-16 unit, numbers are plain integers, and the short escapes
    and \\u00xx are the same. A property test compares it with a library of that standard.
    """
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"), sort_keys=True)
    return text.encode("utf-8")


class _Fault(Exception):
    """What is wrong with a value, and the way to it, gathered from the inside out."""

    def __init__(self, problem: str) -> None:
        super().__init__(problem)
        self.problem = problem
        self.trail: list[str] = []

    def place(self) -> str:
        return "$" + "".join(reversed(self.trail))


def _plain(value: Any, depth: int) -> Any:
    """The value with text in NFC, checked; raises _Fault."""
    if isinstance(value, str):
        return _text(value)
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, int):
        if abs(value) > MAX_INTEGER:
            raise _Fault("integer beyond 2**53 - 1")
        return int(value)
    if depth >= MAX_DEPTH:
        raise _Fault(f"nested deeper than {MAX_DEPTH}")
    if isinstance(value, Mapping):
        return _plain_mapping(value, depth + 1)
    if isinstance(value, (list, tuple)):
        return _plain_list(value, depth + 1)
    hint = "; carry decimals as strings" if isinstance(value, (float, Decimal)) else ""
    raise _Fault(f"{type(value).__name__} has no canonical form{hint}")


def _plain_mapping(value: Mapping[Any, Any], depth: int) -> dict[str, Any]:
    result = {}
    for key, item in value.items():
        if not isinstance(key, str) or not key.isascii() or "\0" in key:
            raise _Fault(f"key {key!r} is not ASCII text")
        try:
            result[str(key)] = _plain(item, depth)
        except _Fault as fault:
            fault.trail.append(f".{key}")
            raise
    return result


def _plain_list(value: list[Any] | tuple[Any, ...], depth: int) -> list[Any]:
    result: list[Any] = []
    try:
        for item in value:
            result.append(_plain(item, depth))
    except _Fault as fault:
        fault.trail.append(f"[{len(result)}]")
        raise
    return result


def _text(value: str) -> str:
    if "\0" in value:
        raise _Fault("text contains NUL")
    if value.isascii():
        return str(value)
    if any("\ud800" <= char <= "\udfff" for char in value):
        raise _Fault("text contains a lone surrogate")
    return unicodedata.normalize("NFC", value)


def _is_plain(data: bytes, value: Any) -> bool:
    """Whether a value just read from `data` can be written again as it is, unchecked.

    ASCII bytes without an escaped NUL hold no text that `_text` would change or refuse (an escaped
    surrogate cannot be written again); left are integers and nesting. A False only costs time.
    """
    if not data.isascii() or b"\\u0" in data or b"\\uD" in data or b"\\ud" in data:
        return False
    level = [value] if type(value) in (dict, list) else []
    for _ in range(MAX_DEPTH):
        inner: list[Any] = []
        for one in level:
            for item in one.values() if type(one) is dict else one:
                kind = type(item)
                if kind is dict or kind is list:
                    inner.append(item)
                elif kind is int and abs(item) > MAX_INTEGER:
                    return False
        level = inner
    return not level and (type(value) is not int or abs(value) <= MAX_INTEGER)


def _unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    result = dict(pairs)
    if len(result) != len(pairs):
        seen: set[str] = set()
        for key, _ in pairs:
            if key in seen:
                raise CanonicalError(f"key {key!r} appears twice")
            seen.add(key)
    return result


def _integer(text: str) -> int:
    if len(text) > MAX_DIGITS + 1:
        raise CanonicalError(f"integer of {len(text)} digits; at most {MAX_DIGITS}")
    return int(text)


def _no_number(text: str) -> NoReturn:
    raise CanonicalError(f"{text[:20]} is not an integer; decimals travel as strings")


def _first_difference(one: bytes, other: bytes) -> int:
    pairs = zip(one, other, strict=False)
    return next((n for n, (a, b) in enumerate(pairs) if a != b), min(len(one), len(other)))
