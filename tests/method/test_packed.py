"""Packed sets: one byte form, and nothing else is taken for one."""

import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from ledger.canonical import canonical_bytes
from method.packed import PackedError, PackedSet, pack, unpack

GOOD = PackedSet(
    (400, 410, 420),
    ("1-A", "1-A", "Muster ž 白"),
    np.array([[0.1, 0.2, 0.3], [0.1, 0.2, 0.31], [1.2, -0.001, 5e-324]]),
    {"geometry": "di:8", "specular": "included", "aperture": "8 mm"},
)
LABEL = st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=30).filter(
    str.strip
)
NUMBER = st.floats(allow_nan=False, allow_infinity=False)


@st.composite
def sets(draw):
    """Any set that may be packed."""
    wavelengths = sorted(draw(st.sets(st.integers(200, 1100), min_size=1, max_size=8)))
    labels = draw(st.lists(LABEL, min_size=1, max_size=6))
    values = draw(arrays(np.float64, (len(labels), len(wavelengths)), elements=NUMBER))
    keys = st.sampled_from(("geometry", "specular", "uv", "aperture", "backing"))
    return PackedSet(
        tuple(wavelengths), tuple(labels), values, draw(st.dictionaries(keys, LABEL, max_size=3))
    )


@given(sets())
def test_what_is_packed_comes_back_to_the_bit_and_has_one_byte_form(spectra):
    data = pack(spectra)
    again = unpack(data)
    assert again == spectra and pack(again) == data
    assert again.wavelengths == spectra.wavelengths and again.labels == spectra.labels
    assert np.array_equal(again.values, spectra.values) and again.condition == spectra.condition


def test_the_form_is_a_canonical_header_line_and_little_endian_values():
    header, values = pack(GOOD).split(b"\n", 1)
    assert header == canonical_bytes(json.loads(header))
    assert json.loads(header)["axes"] == ["reading", "wavelength"]
    assert json.loads(header)["scale"] == "factor"
    assert np.frombuffer(values, "<f8").tolist() == GOOD.values.ravel().tolist()
    assert GOOD.rows_of("1-A") == [0, 1] and GOOD.rows_of("none") == []


def test_values_are_copied_frozen_and_free_of_minus_zero():
    source = np.array([[-0.0, 1.0]])
    spectra = PackedSet((400, 410), ("a",), source)
    source[0, 1] = 9.0
    assert spectra.values.tolist() == [[0.0, 1.0]] and not np.signbit(spectra.values).any()
    with pytest.raises(ValueError, match="read-only"):
        spectra.values[0, 0] = 1.0


@pytest.mark.parametrize(
    ("wavelengths", "labels", "values", "condition", "id"),
    [
        ((400, 410), ("a",), [[0.1, float("nan")]], {}, "not-finite"),
        ((400, 410), ("a",), [[0.1, float("inf")]], {}, "not-finite"),
        ((400, 410), ("a",), [[0.1]], {}, "shape"),
        ((400, 410), (), np.empty((0, 2)), {}, "labels"),
        ((400, 410), (" ",), [[0.1, 0.2]], {}, "labels"),
        ((400, 410), ("a" * 201,), [[0.1, 0.2]], {}, "labels"),
        ((410, 400), ("a",), [[0.1, 0.2]], {}, "wavelengths"),
        ((400, 400), ("a",), [[0.1, 0.2]], {}, "wavelengths"),
        ((400.0, 410.0), ("a",), [[0.1, 0.2]], {}, "wavelengths"),
        ((), ("a",), np.empty((1, 0)), {}, "wavelengths"),
        ((400, 410), ("a",), [[0.1, 0.2]], {"mood": "good"}, "condition"),
        ((400, 410), ("a",), [[0.1, 0.2]], {"uv": ""}, "condition"),
    ],
)
def test_parts_that_do_not_fit_are_refused(wavelengths, labels, values, condition, id):
    with pytest.raises(PackedError) as caught:
        PackedSet(wavelengths, labels, np.array(values), condition)
    assert caught.value.id == id


@pytest.mark.parametrize("text", ["a\0b", "a\ud800b"])
def test_labels_without_a_canonical_form_cannot_be_packed(text):
    with pytest.raises(PackedError):
        pack(PackedSet((400,), (text,), np.array([[0.1]])))


def changed(**parts):
    """The good set's bytes with header fields replaced (None: removed)."""
    header, values = pack(GOOD).split(b"\n", 1)
    fields = {**json.loads(header), **parts}
    kept = {key: value for key, value in fields.items() if value is not None}
    return canonical_bytes(kept) + b"\n" + values


@pytest.mark.parametrize(
    ("data", "id"),
    [
        (b"", "header"),
        (pack(GOOD)[:-1], "length"),
        (pack(GOOD) + b"\0", "length"),
        (pack(GOOD).replace(b'{"axes"', b'{ "axes"', 1), "header"),
        (pack(GOOD)[:-8] + np.array([np.nan]).tobytes(), "not-finite"),
        (pack(GOOD)[:-8] + np.array([-0.0]).tobytes(), "minus-zero"),
        (changed(v=2), "header"),
        (changed(v=True), "header"),
        (changed(kind="gloss"), "header"),
        (changed(scale="percent"), "header"),
        (changed(axes=["wavelength", "reading"]), "header"),
        (changed(condition=None), "header"),
        (changed(extra=1), "header"),
        (changed(condition=[]), "header"),
        (changed(labels="abc"), "header"),
        (changed(labels=["a", "b", 3]), "labels"),
        (changed(labels=["a", "b"]), "length"),
        (changed(wavelengths=[400, 410, True]), "wavelengths"),
        (changed(wavelengths=[400, 420, 410]), "wavelengths"),
        (changed(wavelengths=["400", "410", "420"]), "wavelengths"),
        (b"[]\n", "header"),
        (b"[" * 100_000 + b"\n", "header"),
        (b"\xff\n", "header"),
    ],
)
def test_bytes_that_pack_never_writes_are_refused(data, id):
    with pytest.raises(PackedError) as caught:
        unpack(data)
    assert caught.value.id == id


@given(st.integers(0, 8 * len(pack(GOOD)) - 1))
def test_a_flipped_bit_is_refused_or_gives_another_set_with_its_own_bytes(bit):
    data = bytearray(pack(GOOD))
    data[bit // 8] ^= 1 << bit % 8
    try:
        again = unpack(bytes(data))
    except PackedError:
        return
    assert again != GOOD and pack(again) == bytes(data)


@given(st.binary(max_size=200))
def test_any_bytes_are_refused_in_one_way(data):
    with pytest.raises(PackedError):
        unpack(data)
