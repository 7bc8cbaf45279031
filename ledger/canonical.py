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

import rfc8785

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
    return rfc8785.dumps(_plain(value, "$", 0))


def parse(data: bytes) -> Any:
    """The value of canonical bytes; anything that would not serialise to the same is refused.

    Raises CanonicalError: not UTF-8 JSON, duplicate keys, floats, NaN, too deep, too many
    digits, or not in canonical form.
    """
    value = parse_json(data)
    again = canonical_bytes(value)
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


def _plain(value: Any, path: str, depth: int) -> Any:
    """The value with text in NFC, checked; `path` names the place in messages."""
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, str):
        return _text(value, path)
    if isinstance(value, int):
        if abs(value) > MAX_INTEGER:
            raise CanonicalError(f"{path}: integer beyond 2**53 - 1")
        return int(value)
    if depth >= MAX_DEPTH:
        raise CanonicalError(f"{path}: nested deeper than {MAX_DEPTH}")
    if isinstance(value, Mapping):
        return {
            _key(key, path): _plain(item, f"{path}.{key}", depth + 1) for key, item in value.items()
        }
    if isinstance(value, (list, tuple)):
        return [_plain(item, f"{path}[{n}]", depth + 1) for n, item in enumerate(value)]
    hint = "; carry decimals as strings" if isinstance(value, (float, Decimal)) else ""
    raise CanonicalError(f"{path}: {type(value).__name__} has no canonical form{hint}")


def _key(key: Any, path: str) -> str:
    if not isinstance(key, str) or not key.isascii() or "\0" in key:
        raise CanonicalError(f"{path}: key {key!r} is not ASCII text")
    return str(key)


def _text(value: str, path: str) -> str:
    if "\0" in value:
        raise CanonicalError(f"{path}: text contains NUL")
    if not value.isascii() and any("\ud800" <= char <= "\udfff" for char in value):
        raise CanonicalError(f"{path}: text contains a lone surrogate")
    return unicodedata.normalize("NFC", value)


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
