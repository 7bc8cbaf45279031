"""CxF3 files that are wrong: one exception, naming line and column."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from method.readers import ReadError, words
from method.readers.cxf import NAMESPACE, read_cxf
from tests.method.cxf_files import colour, cxf, specification, spectrum, thing

GOOD = cxf([thing(spectrum(), "a"), thing(spectrum(), "b", "i2")])


def replaced(old, new, data=GOOD):
    """The good file with one piece replaced, which must be there."""
    assert old in data
    return data.replace(old, new, 1)


FAULTS = {
    "another root": (b"<a/>", "xml-root", 1, 1),
    "another version": (cxf([], namespace="http://x/v2"), "xml-namespace", 2, 1),
    "no namespace": (replaced(f' xmlns="{NAMESPACE}"'.encode(), b""), "xml-namespace", 2, 1),
    "no objects": (cxf([]), "cxf-no-objects", 2, None),
    "no resources": (f'<CxF xmlns="{NAMESPACE}"/>'.encode(), "cxf-no-objects", 1, None),
    "a word for a value": (replaced(b"0.0625", b"n/a"), "value-not-number", 4, 14),
    "not a number": (replaced(b"0.0625", b"NaN"), "value-not-number", 4, 14),
    "infinity": (replaced(b"0.0625", b"1e999"), "value-not-number", 4, 14),
    "a decimal comma": (replaced(b"0.0625", b"0,0625"), "value-not-number", 4, 14),
    "an underscore": (replaced(b"0.0625", b"0_1"), "value-not-number", 4, 14),
    "no such specification": (
        replaced(b'Specification="S1"', b'Specification="S9"'),
        "cxf-specification-missing",
        4,
        14,
    ),
    "a specification twice": (
        cxf([thing(spectrum())], [specification(), specification(increment=20)]),
        "cxf-specification-twice",
        6,
        1,
    ),
    "no wavelength range": (
        cxf([thing(spectrum())], [specification(increment=None)]),
        "cxf-range-missing",
        4,
        14,
    ),
    "a step of zero": (replaced(b'Increment="10"', b'Increment="0"'), "cxf-increment", 7, None),
    "a step that is no number": (replaced(b'"10"', b'"ten"'), "xml-not-number", 7, None),
    "a step far too large": (replaced(b'"10"', b'"100"'), "cxf-range", 4, 14),
    "a start in micrometres": (replaced(b'StartWL="400"', b'StartWL="0.4"'), "cxf-range", 4, 14),
    "an endless name": (
        replaced(b'Name="a"', b'Name="' + b"a" * 201 + b'"'),
        "label-too-long",
        3,
        1,
    ),
    "a Lab of two": (
        cxf([thing(colour((1, 2), letters="LA"))]),
        "number-missing",
        4,
        14,
    ),
    "a Lab of words": (cxf([thing(colour((1, 2, "blue")))]), "xml-not-number", 4, None),
    "too many values": (
        cxf([thing(spectrum([0.5] * 2001))]),
        "too-many-values",
        4,
        14,
    ),
    "an endless text": (
        cxf([thing(spectrum(["0.5 " * 60_000]))]),
        "xml-text",
        4,
        14,
    ),
    "a point twice": (
        cxf(
            [
                thing(
                    '<CustomSpectrum ColorSpecification="S1">'
                    + '<SpectralPoint WL="400">1</SpectralPoint>' * 2
                    + "</CustomSpectrum>"
                )
            ]
        ),
        "wavelength-twice",
        4,
        14,
    ),
    "cut": (GOOD[:-40], "xml-cut", None, None),
    "an entity": (
        replaced(b'<?xml version="1.0"?>', b'<!DOCTYPE a [<!ENTITY e "x">]>'),
        "xml-document-type",
        1,
        None,
    ),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_the_fault_is_named_by_place(fault):
    data, id, line, column = FAULTS[fault]
    with pytest.raises(ReadError) as caught:
        read_cxf(data, "bad.cxf")
    error = caught.value
    assert error.id == id
    assert line is None or error.line == line
    assert column is None or error.column == column
    assert str(error).startswith("bad.cxf") and "%(" not in str(error)


@given(st.integers(0, 10**6), st.binary(max_size=3))
@settings(deadline=None, max_examples=300)
def test_damage_is_refused_or_read_as_other_finite_values(place, damage):
    place %= len(GOOD)
    try:
        for table in read_cxf(GOOD[:place] + damage + GOOD[place + 1 :], "damaged").tables:
            assert np.isfinite(table.values).all()
            assert table.values.shape == (len(table.labels), len(table.wavelengths))
    except ReadError as error:
        assert error.id in words.MESSAGES
