"""Wavelengths written oddly: two sets side by side, strays, remarks, rounded and cut names."""

import math

import numpy as np
import pytest

from method.readers import ReadError, read, resolve

NM = list(range(400, 701, 10))
VALUES = (0.05 + np.arange(31) / 50).round(3)


def by_row(names, rows, separator="\t", first="SAMPLE_ID"):
    lines = [[first, *map(str, names)], *([label, *map(str, cells)] for label, cells in rows)]
    return "\n".join(separator.join(line) for line in lines).encode() + b"\n"


@pytest.mark.parametrize("separator", ["\t", ",", ";"])
@pytest.mark.parametrize("spelling", ["{} {}", "{} {} nm"])
def test_two_sets_named_with_blanks_are_asked_about(separator, spelling):
    names = [spelling.format(mode, nm) for mode in ("SCI", "SCE") for nm in NM]
    rows = [("A 1", [*VALUES, *(VALUES / 2).round(4)]), ("B 2", [*VALUES, *(VALUES / 4).round(4)])]
    reading = read(by_row(names, rows, separator), "a")
    assert [one.id for one in reading.questions] == ["columns"]
    assert [one.value for one in reading.questions[0].choices] == ["SCI", "SCE"]
    excluded = resolve(reading, {"columns": "SCE"})
    assert excluded.labels == ("A 1", "B 2")
    assert np.array_equal(excluded.values, [(VALUES / 2).round(4), (VALUES / 4).round(4)])


@pytest.mark.parametrize("separator", ["\t", ",", ";"])
def test_a_remark_behind_the_header_leaves_blanks_in_labels(separator):
    names = [*NM[:-1], "700 # reflectance"]
    reading = read(by_row(names, [("Al pha", VALUES), ("Be ta", VALUES)], separator), "a")
    assert resolve(reading, {}).labels == ("Al pha", "Be ta")
    assert reading.wavelengths == tuple(NM)


def names_of(true, how):
    return [math.floor(nm + 0.5) if how == "rounded" else math.floor(nm + 1e-9) for nm in true]


@pytest.mark.parametrize("how", ["rounded", "cut"])
@pytest.mark.parametrize("start", [350, 350 + 10 / 3, 350 + 20 / 3])
@pytest.mark.parametrize("count", [109, 110, 111])
@pytest.mark.parametrize("falling", [False, True])
def test_steps_of_a_third_of_ten_are_recognised_wherever_they_begin(how, start, count, falling):
    true = [start + i * 10 / 3 for i in range(count)]
    values = np.linspace(0.05, 0.9, count).round(4)
    if falling:
        true, values = true[::-1], values[::-1]
    reading = read(by_row(names_of(true, how), [("A", values), ("B", values)]), "a")
    assert [one.id for one in reading.questions] == ["bands"]
    spectra = resolve(reading, {"bands": "whole"})
    at = {round(nm): value for nm, value in zip(true, values, strict=True)}
    assert {nm % 10 for nm in spectra.wavelengths} == {0}
    assert len(spectra.wavelengths) >= count // 3
    assert [at[nm] for nm in spectra.wavelengths] == list(spectra.values[0])


def test_one_wavelength_left_out_is_still_refused():
    names = [nm for nm in NM if nm != 550]
    with pytest.raises(ReadError) as caught:
        read(by_row(names, [("A", VALUES[:-1])]), "a")
    assert caught.value.id == "grid-uneven"


@pytest.mark.parametrize("spelling", ["R{}", "{}", "nm{}"])
@pytest.mark.parametrize("place", [0, 6, 31])
@pytest.mark.parametrize("first", ["SAMPLE_ID", "Farbe"])
def test_a_stray_band_is_set_aside_and_said(spelling, place, first):
    names, values = [spelling.format(nm) for nm in NM], list(VALUES)
    names.insert(place, spelling.format(457))
    values.insert(place, 0.777)
    reading = read(by_row(names, [("A", values), ("B", values)], first=first), "a")
    assert reading.questions == ()
    assert np.array_equal(resolve(reading, {}).values, [VALUES, VALUES])
    said = {one.id: dict(one.params) for one in reading.oddities}
    assert said == {"band-aside": {"name": spelling.format(457)}}


def test_a_band_named_twice_or_beyond_the_end_is_still_refused():
    for extra in (550, 750):
        with pytest.raises(ReadError) as caught:
            read(by_row([*NM, extra], [("A", [*VALUES, 0.7])]), "a")
        assert caught.value.id == "grid-uneven"


def test_a_second_block_by_column_without_header_is_asked_about():
    lines = ["nm\tA", *(f"{nm}\t{v}" for nm, v in zip(NM, VALUES, strict=True))]
    lines += [f"{nm}\t{v / 2:.4f}" for nm, v in zip(NM, VALUES, strict=True)]
    reading = read("\n".join(lines).encode() + b"\n", "a")
    assert [one.id for one in reading.questions] == ["table"]
    second = resolve(reading, {"table": "2"})
    assert np.allclose(second.values, [VALUES / 2], atol=1e-4)
