"""The canonical form beside a library of RFC 8785, and the short way of reading beside the long."""

from __future__ import annotations

import json

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from ledger import canonical
from ledger.canonical import MAX_DEPTH, MAX_INTEGER, CanonicalError, canonical_bytes, parse

KEYS = st.text(st.characters(min_codepoint=1, max_codepoint=126), max_size=6)
TEXTS = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=8)
INTEGERS = st.integers(-MAX_INTEGER, MAX_INTEGER)
VALUES = st.recursive(
    st.none() | st.booleans() | INTEGERS | TEXTS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEYS, inner, max_size=4),
    max_leaves=20,
)
PUT = ['"', "\\", "\\u0000", "\\u001f", "\\ud800", "\\u00e9", "0", " ", "[", "{", ","]
PLAIN = {"a": [1, "x\ty", {"b": None, "c": True}], "d": '\x1f\x7f"\\/'}


@given(VALUES)
def test_the_form_is_that_of_a_library_of_rfc_8785(value):
    written = canonical_bytes(value)
    assert written == rfc8785.dumps(json.loads(written))
    assert canonical_bytes(parse(written)) == written


@given(st.dictionaries(KEYS, INTEGERS, min_size=2))
def test_keys_stand_in_the_order_of_rfc_8785(value):
    assert canonical_bytes(value) == rfc8785.dumps(value)


def long_way(data: bytes) -> bool:
    """Whether the bytes are canonical, decided by checking and writing the value anew."""
    try:
        return canonical_bytes(canonical.parse_json(data)) == data
    except CanonicalError:
        return False


def accepted(data: bytes) -> bool:
    try:
        parse(data)
    except CanonicalError:
        return False
    return True


@given(
    VALUES.map(lambda value: json.dumps(value, ensure_ascii=True, separators=(",", ":"))),
    st.integers(0, 400),
    st.sampled_from(
        ['"', "\\", "\\u0000", "\\u001f", "\\ud800", "\\u00e9", "0", " ", "[", "{", ","]
    ),
    st.booleans(),
)
def test_the_short_way_of_reading_decides_as_the_long_one(text, at, put, insert):
    at = min(at, len(text))
    data = (text[:at] + put + text[at if insert else at + 1 :]).encode()
    assert accepted(data) == long_way(data)


def nested(depth: int, inner: str = "1") -> bytes:
    return ("[" * depth + inner + "]" * depth).encode()


@pytest.mark.parametrize(
    ("data", "well"),
    [
        (nested(MAX_DEPTH), True),
        (nested(MAX_DEPTH + 1), False),
        (nested(MAX_DEPTH, "{}"), False),
        (b'{"a":' * MAX_DEPTH + b"1" + b"}" * MAX_DEPTH, True),
        (b'{"a":' * (MAX_DEPTH + 1) + b"1" + b"}" * (MAX_DEPTH + 1), False),
        (str(MAX_INTEGER).encode(), True),
        (str(MAX_INTEGER + 1).encode(), False),
        (f"[{MAX_INTEGER + 1}]".encode(), False),
        (f'{{"a":-{MAX_INTEGER + 1}}}'.encode(), False),
        (nested(MAX_DEPTH, str(MAX_INTEGER + 1)), False),
        (b'"\\u0000"', False),
        (b'"\\ud800"', False),
        (b'"\\u001f"', True),
        (b'"\\u001F"', False),
        (b'{"b":1,"a":1}', False),
        (b"-0", False),
        (b'"e\\u0301"', False),
        (canonical_bytes(PLAIN), True),
    ],
)
def test_at_the_bounds_both_ways_agree(data, well):
    assert accepted(data) is well
    assert long_way(data) is well


def test_a_fault_is_placed(subtests):
    for value, place in (
        ({"a": [1, {"b": 2.5}]}, "$.a[1].b"),
        ([["x", "\0"]], "$[0][1]"),
        ({"a": {"é": 1}}, "$.a"),
        ([MAX_INTEGER + 1], "$[0]"),
    ):
        with subtests.test(place), pytest.raises(CanonicalError) as raised:
            canonical_bytes(value)
        assert str(raised.value).startswith(f"{place}: ")
