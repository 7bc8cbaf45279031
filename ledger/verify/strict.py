"""Strict reading: JSON without duplicates, floats or depth; base64 that re-encodes to itself."""

from __future__ import annotations

import base64
import binascii
import json
import re
from collections.abc import Mapping
from datetime import datetime
from typing import Any, NoReturn

from ledger.verify.report import Refusal

MAX_DEPTH = 64
MAX_DIGITS = 16
MAX_INTEGER = 2**53 - 1

_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z", re.ASCII)
HEX = re.compile(r"[0-9a-f]{64}")


class _Strict(ValueError):
    """Raised inside the JSON reader's hooks."""


class _Twice(_Strict):
    """The same key twice in one object."""


class TwiceError(Refusal):
    """JSON in which one object has the same key twice."""


def read_json(data: bytes) -> Any:
    """The value of strict JSON; raises Refusal with the offset where it is known."""
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise Refusal("json.utf8", "text is not UTF-8", offset=error.start, length=1) from None
    if data.count(b"[") + data.count(b"{") > MAX_DEPTH:
        _check_depth(data)
    try:
        return _DECODER.decode(text)
    except _Twice as error:
        raise TwiceError("json.strict", str(error)) from None
    except _Strict as error:
        raise Refusal("json.strict", str(error)) from None
    except json.JSONDecodeError as error:
        where = len(text[: error.pos].encode("utf-8", "surrogatepass"))
        raise Refusal("json.syntax", f"not JSON: {error.msg}", offset=where) from None
    except (RecursionError, ValueError):
        raise Refusal("json.strict", "JSON that cannot be read") from None


Fields = Mapping[str, type | tuple[type, ...]]


def read_object(data: bytes, fields: Fields, optional: Fields = {}) -> dict[str, Any]:  # noqa: B006
    """A canonical JSON object with exactly these fields of these types, some of them optional."""
    value = read_json(data)
    if type(value) is not dict:
        raise Refusal("json.object", "not a JSON object")
    for name in value:
        if name not in fields and name not in optional:
            raise Refusal("field.unknown", "unknown field", field=shown(name))
    for name, kinds in (*fields.items(), *optional.items()):
        if name not in value:
            if name in optional:
                continue
            raise Refusal("field.missing", "field is missing", field=name)
        found = value[name]
        if not isinstance(found, kinds) or isinstance(found, bool):
            raise _at_field(data, name, "field.type", "field has the wrong type")
    if canonical(value) != data:
        raise Refusal("json.canonical", "JSON is not in canonical form")
    return value


def canonical(value: Any) -> bytes:
    """Canonical bytes of a value read by `read_json` (RFC 8785, as long as keys are ASCII)."""
    text = json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return text.encode("utf-8", "surrogatepass")


def in_field(data: bytes, name: str, id: str, message: str) -> Refusal:
    """A refusal that points at a field of a canonical JSON object."""
    return _at_field(data, name, id, message)


def hex_digest(data: bytes, value: dict[str, Any], name: str) -> str:
    """The field as 64 lowercase hexadecimal characters."""
    found = value[name]
    if not isinstance(found, str) or not HEX.fullmatch(found):
        raise _at_field(data, name, "field.digest", "not a SHA-256 digest in lowercase hex")
    return found


def is_time(text: str) -> bool:
    """Whether the text is a real moment in the one form of this record."""
    if not _TIME.fullmatch(text):
        return False
    try:
        datetime.fromisoformat(text)
    except ValueError:
        return False
    return True


def moment(text: str) -> datetime:
    """The moment of a text for which `is_time` holds."""
    return datetime.fromisoformat(text)


def b64(text: str) -> bytes:
    """Bytes of standard base64 that re-encodes to itself."""
    try:
        data = base64.b64decode(text.encode("ascii"), validate=True)
    except (ValueError, binascii.Error):
        raise Refusal("base64", "not base64") from None
    if base64.b64encode(data).decode("ascii") != text:
        raise Refusal("base64", "base64 that does not re-encode to itself")
    return data


def b64url(text: str) -> bytes:
    """Bytes of unpadded base64url that re-encodes to itself."""
    try:
        data = base64.b64decode(text.encode("ascii") + b"=" * (-len(text) % 4), b"-_", True)
    except (ValueError, binascii.Error):
        raise Refusal("base64url", "not base64url") from None
    if b64url_text(data) != text:
        raise Refusal("base64url", "base64url that does not re-encode to itself")
    return data


def b64url_text(data: bytes) -> str:
    """Unpadded base64url of bytes."""
    return base64.urlsafe_b64encode(data).decode("ascii").rstrip("=")


def shown(text: str) -> str:
    """A text from a record made safe to print: escaped and cut."""
    return ascii(text)[1:-1][:80]


def _at_field(data: bytes, name: str, id: str, message: str) -> Refusal:
    start = data.find(b'"' + name.encode("ascii", "replace") + b'":')
    if start < 0:
        return Refusal(id, message, field=name)
    end = data.find(b',"', start)
    length = (end if end > 0 else len(data)) - start
    return Refusal(id, message, field=name, offset=start, length=length)


def _check_depth(data: bytes) -> None:
    """Refuse nesting beyond MAX_DEPTH, brackets inside texts not counted."""
    depth = 0
    bare = re.sub(rb'"(?:[^"\\]|\\.)*"', lambda found: b" " * len(found.group()), data, flags=re.S)
    for found in re.finditer(rb"[\[{\]}]", bare):
        depth += 1 if found.group() in b"[{" else -1
        if depth > MAX_DEPTH:
            raise Refusal(
                "json.depth", f"nested deeper than {MAX_DEPTH}", offset=found.start(), length=1
            )


def _unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    result = dict(pairs)
    if len(result) != len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise _Twice(f"key {shown(twice)} appears twice")
    return result


def _integer(text: str) -> int:
    if len(text) > MAX_DIGITS + 1:
        raise _Strict(f"integer of {len(text)} digits")
    value = int(text)
    if abs(value) > MAX_INTEGER:
        raise _Strict("integer beyond 2**53 - 1")
    return value


def _no_number(text: str) -> NoReturn:
    raise _Strict(f"{shown(text)} is not an integer")


_DECODER = json.JSONDecoder(
    object_pairs_hook=_unique,
    parse_int=_integer,
    parse_float=_no_number,
    parse_constant=_no_number,
)
