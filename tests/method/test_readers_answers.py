"""What answers bring to light: colours compared, oddities of values, and light that is refused."""

import numpy as np
import pytest

from ledger.canonical import parse
from method.readers import ReadError, read, replay, resolve
from tests.method.odd_files import colours, framed, named, rows_of, smooth, with_colours

BRIGHT = (smooth() + 0.1).round(4)  # nothing dark: percent and factors are both possible
D50 = ["ILLUMINANT D50", "OBSERVER 2"]


def open_scale(keywords=(), under=("D50", 2)):
    """A file whose scale must be asked, with the colours of its factors."""
    values = BRIGHT
    rows = [
        [f"s{at}", *(f"{one:.3f}" for one in stated), *(f"{one:.4f}" for one in row)]
        for at, (stated, row) in enumerate(zip(colours(values, *under), values, strict=True))
    ]
    head = named("SPECTRAL_NM{}")
    return framed([head[0], "LAB_L", "LAB_A", "LAB_B", *head[1:]], rows, keywords=keywords).encode()


def ids(reading):
    return [one.id for one in reading.oddities]


def asked(reading):
    return [one.id for one in reading.questions]


def test_stated_colours_are_compared_under_the_scale_that_is_answered():
    reading = read(open_scale(D50), "a")
    assert asked(reading) == ["scale"] and reading.comparisons == ()
    factor, percent = (reading.again({"scale": scale}) for scale in ("factor", "percent"))
    assert factor.comparisons[0].agrees and "stated-unlike" not in ids(factor)
    assert percent.comparisons[0].agrees is False and "stated-unlike" in ids(percent)
    assert factor.scale == reading.scale and asked(factor) == ["scale"]


def test_oddities_of_values_under_the_scale_answered_are_frozen_and_replayed():
    values = BRIGHT.copy()
    values[1, 5:12] = 0.0
    rows = [[f"s{at}", *(f"{one:.4f}" for one in row)] for at, row in enumerate(values)]
    data = framed(named("SPECTRAL_NM{}"), rows).encode()
    reading = read(data, "a")
    assert asked(reading) == ["scale"] and "zeros" not in ids(reading)
    assert "zeros" in ids(reading.again({"scale": "factor"}))
    mapping = reading.mapping({"scale": "factor"})
    assert "zeros" in [one["id"] for one in parse(mapping)["oddities"]]
    packed = resolve(reading, {"scale": "factor"})
    assert replay(data, mapping) == packed and np.array_equal(packed.values, values.round(4))


@pytest.mark.parametrize("scale", ["percents", "", "none"])
def test_an_answer_that_is_no_scale_changes_nothing_and_is_refused(scale):
    reading = read(open_scale(D50), "a")
    assert reading.again({"scale": scale}).comparisons == ()
    with pytest.raises(ReadError) as caught:
        resolve(reading, {"scale": scale})
    assert caught.value.id == "answer-invalid"


LAMP = 'DESCRIPTOR "emission of the lamp"'


@pytest.mark.parametrize("answers", [{}, {"scale": "factor"}])
def test_light_is_refused_as_light_without_asking_for_its_scale(answers):
    reading = read(open_scale([LAMP]), "a")
    assert asked(reading) == ["scale", "surface"] and reading.comparisons == ()
    assert asked(reading.again({"surface": "emission"})) == ["surface"]
    with pytest.raises(ReadError) as caught:
        resolve(reading, {"surface": "emission", **answers})
    assert caught.value.id == "not-reflectance"


def test_a_surface_in_a_file_that_speaks_of_lamps_is_compared_once_that_is_said():
    reading = read(open_scale([LAMP, *D50]), "a")
    said = {"surface": "surface", "scale": "factor"}
    assert reading.again(said).comparisons[0].agrees
    assert resolve(reading, said).labels == reading.labels
    with pytest.raises(ReadError) as caught:
        resolve(reading, {"surface": "surface"})
    assert (caught.value.id, caught.value.field) == ("answer-missing", "scale")


def test_colours_that_no_scale_settles_are_read_without_a_comparison():
    rows = rows_of()
    assert read(with_colours(colours(smooth()), keywords=D50).encode(), "a").comparisons
    assert not read(framed(named(), rows).encode(), "a").comparisons
