"""The canonical form: what has one, what is refused, and that parsing demands it."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.canonical import (
    MAX_DEPTH,
    CanonicalError,
    canonical_bytes,
    decimal_text,
    digest,
    parse,
)

TEXT = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"))
KEYS = st.text(st.characters(max_codepoint=126, min_codepoint=1), max_size=8)
VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53) + 1, 2**53 - 1) | TEXT,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEYS, inner, max_size=4),
    max_leaves=12,
)


@given(VALUES)
def test_parsing_canonical_bytes_gives_the_same_bytes_again(value):
    data = canonical_bytes(value)
    assert canonical_bytes(parse(data)) == data


def test_keys_are_sorted_and_text_is_utf8():
    assert canonical_bytes({"b": 1, "a": ["é\n\x01", True, None]}) == (
        b'{"a":["\xc3\xa9\\n\\u0001",true,null],"b":1}'
    )


def test_text_is_brought_to_nfc():
    assert canonical_bytes("e\u0301") == canonical_bytes("\u00e9")


@pytest.mark.parametrize(
    ("value", "message"),
    [
        (1.5, "decimals as strings"),
        (Decimal("1.5"), "decimals as strings"),
        ({"a": [0, 2**53]}, r"\$\.a\[1\]: integer beyond"),
        ({"é": 1}, "not ASCII"),
        ({1: 1}, "not ASCII"),
        ({"a": "x\0"}, r"\$\.a: text contains NUL"),
        ("\ud800", "lone surrogate"),
        (b"bytes", "bytes has no canonical form"),
    ],
)
def test_what_has_no_canonical_form_is_refused_with_its_place(value, message):
    with pytest.raises(CanonicalError, match=message):
        canonical_bytes(value)


def nested(depth: int) -> bytes:
    return b"[" * depth + b"]" * depth


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b'{"a":1,"a":2}', "'a' appears twice"),
        (b"[1.0]", "1.0 is not an integer"),
        (b"[1e3]", "is not an integer"),
        (b"[NaN]", "NaN is not an integer"),
        (b"[-Infinity]", "is not an integer"),
        (nested(100_000), "deeper"),
        (nested(MAX_DEPTH + 1), "deeper"),
        (b"[" + b"9" * 5000 + b"]", "5000 digits"),
        (b"[9007199254740992]", "integer beyond"),
        (b"[1 ]", "canonical form: differs at byte 2"),
        (b'{"b":1,"a":2}', "canonical form: differs at byte 2"),
        (b"-0", "canonical form"),
        (b'"\\u00e9"', "canonical form"),
        ('"e\u0301"'.encode(), "canonical form"),
        (b'"\xff"', "not UTF-8 at byte 1"),
        (b'"\\ud800"', "lone surrogate"),
        (b"", "not JSON at byte 0"),
        (b"{} {}", "not JSON at byte 3"),
    ],
)
def test_bytes_in_another_form_are_refused(data, message):
    with pytest.raises(CanonicalError, match=message):
        parse(data)


def test_the_deepest_nesting_that_is_allowed_is_read():
    assert canonical_bytes(parse(nested(MAX_DEPTH))) == nested(MAX_DEPTH)


def test_decimals_keep_their_resolution():
    assert decimal_text(Decimal("1.10")) == "1.10"
    assert decimal_text(Decimal("1E+3")) == "1000"
    with pytest.raises(CanonicalError):
        decimal_text(Decimal("NaN"))


def test_the_digest_is_sha256_in_lowercase_hex():
    # FIPS 180-4's example for "abc".
    assert digest(b"abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
