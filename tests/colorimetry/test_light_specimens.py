"""Import of virtual specimens: what matches is taken, everything else named by row and column."""

from pathlib import Path

import numpy as np
import pytest

from colorimetry import DomainError, GridError
from colorimetry.light import virtual_specimens
from colorimetry.light.virtual_specimens import read_ultraviolet, read_visible
from tests.colorimetry.virtual_pairs import (
    text,
    ultraviolet,
    ultraviolet_texts,
    visible,
)

STANDARDS, COMPARISONS = visible()


def changed(table, row, band, cell):
    """The text of a table with one cell replaced."""
    lines = text(table).splitlines()
    cells = lines[row + 1].split(",")
    cells[band + 1] = cell
    lines[row + 1] = ",".join(cells)
    return "\n".join(lines)


@pytest.mark.parametrize("illuminant", ["D50", "D55", "D65", "D75"])
def test_pairs_that_match_under_their_illuminant_are_taken_as_they_stand(illuminant):
    standards, comparisons = visible(illuminant)
    pairs = read_visible(text(standards), text(comparisons), illuminant)
    assert pairs.illuminant == illuminant
    assert pairs.standards == pytest.approx(standards, abs=6e-8)
    assert pairs.comparisons == pytest.approx(comparisons, abs=6e-8)


@pytest.mark.parametrize(
    "dialect",
    [
        lambda whole: whole.replace(",", ";").replace(".", ","),
        lambda whole: whole.replace(",", "\t"),
        lambda whole: "\ufeff# typed from our copy\r\n" + whole.replace("\n", "\r\n"),
        lambda whole: "\n".join(line.partition(",")[2] for line in whole.splitlines()[1:]),
        lambda whole: "\n\n".join(whole.splitlines()[1:]),
    ],
    ids=["decimal comma", "tabs", "comment and CRLF", "no wavelengths", "no heading, empty lines"],
)
def test_the_text_may_be_written_in_several_ways(dialect):
    pairs = read_visible(dialect(text(STANDARDS)), dialect(text(COMPARISONS)), "D65")
    assert pairs.standards == pytest.approx(STANDARDS, abs=6e-8)


@pytest.mark.parametrize(
    ("cell", "problem"),
    [
        ("nan", "nan"),
        ("inf", "inf"),
        ("-0.01", "range"),
        ("1.01", "range"),
        ("43.2", "range"),
        ("", "type"),
        ("=A1", "type"),
        ("0_1", "type"),
        ("0.1.2", "type"),
    ],
)
def test_a_value_that_is_no_reflectance_is_named_by_table_row_and_column(cell, problem):
    with pytest.raises(DomainError) as caught:
        read_visible(text(STANDARDS), changed(COMPARISONS, 7, 3, cell), "D65")
    assert caught.value.what == "comparison specimens"
    assert (caught.value.problem, caught.value.row, caught.value.band) == (problem, 7, 3)


def test_rows_and_columns_must_be_complete():
    lines = text(STANDARDS).splitlines()
    for wrong in ("", lines[0], "\n".join(lines[:-1]), "\n".join([*lines, "785,0,0,0,0,0"])):
        with pytest.raises(DomainError, match="81 rows"):
            read_visible(wrong, text(COMPARISONS), "D65")
    for cut in (lines[40].rpartition(",")[0], lines[40] + ",0.1"):
        with pytest.raises(DomainError) as caught:
            read_visible("\n".join([*lines[:40], cut, *lines[41:]]), text(COMPARISONS), "D65")
        assert (caught.value.problem, caught.value.row) == ("shape", 39)
    with pytest.raises(DomainError, match="columns"):
        read_visible(text(STANDARDS[:4]), text(COMPARISONS), "D65")
    with pytest.raises(DomainError, match="characters"):
        read_visible("0" * 200_000, text(COMPARISONS), "D65")


def test_another_wavelength_than_the_next_is_refused():
    with pytest.raises(DomainError) as caught:
        read_visible(changed(STANDARDS, 5, -1, "406"), text(COMPARISONS), "D65")
    assert (caught.value.problem, caught.value.row) == ("range", 5)
    with pytest.raises(DomainError, match="380 nm expected"):
        read_visible(text(STANDARDS, np.arange(400, 801, 5)), text(COMPARISONS), "D65")


def test_pairs_that_do_not_match_under_the_named_illuminant_are_refused():
    for illuminant in ("D50", "D55", "D75"):
        with pytest.raises(DomainError, match="under the named illuminant"):
            read_visible(text(STANDARDS), text(COMPARISONS), illuminant)
    exchanged = COMPARISONS[[0, 2, 1, 3, 4]]
    with pytest.raises(DomainError) as caught:
        read_visible(text(STANDARDS), text(exchanged), "D65")
    assert caught.value.band == 1
    # typed upside down, without wavelengths
    upside_down = ["\n".join(text(table).splitlines()[:0:-1]) for table in (STANDARDS, COMPARISONS)]
    bare = ["\n".join(line.partition(",")[2] for line in t.splitlines()) for t in upside_down]
    with pytest.raises(DomainError, match="under the named illuminant"):
        read_visible(*bare, "D65")


@pytest.mark.parametrize(("off", "taken"), [(0.0002, True), (0.002, False)])
def test_pairs_may_be_off_by_the_rounding_of_a_printed_table_only(off, taken):
    shifted = COMPARISONS + off
    if taken:
        read_visible(text(STANDARDS), text(shifted), "D65")
    else:
        with pytest.raises(DomainError, match="under the named illuminant"):
            read_visible(text(STANDARDS), text(shifted), "D65")


def test_the_same_table_given_twice_is_refused_though_it_matches_perfectly():
    with pytest.raises(DomainError, match="twice"):
        read_visible(text(STANDARDS), text(STANDARDS), "D65")


def test_other_illuminants_have_no_simulator_category():
    with pytest.raises(GridError, match="illuminant"):
        read_visible(text(STANDARDS), text(COMPARISONS), "D60")


def test_ultraviolet_pairs_are_taken_with_reflection_excitation_and_emission():
    for illuminant in ("D50", "D65"):
        pairs = read_ultraviolet(*ultraviolet_texts(illuminant), illuminant)
        for ours, made in zip(
            (pairs.standards, pairs.reflected, pairs.excitation, pairs.emission),
            ultraviolet(illuminant),
            strict=True,
        ):
            assert ours == pytest.approx(made, abs=6e-8)
    with pytest.raises(DomainError, match="under the named illuminant"):
        read_ultraviolet(*ultraviolet_texts("D50"), "D65")


@pytest.mark.parametrize("place", range(4))
def test_each_ultraviolet_table_is_checked(place):
    names = ["ultraviolet standards", "reflected radiance factors", "excitation", "emission"]
    texts = list(ultraviolet_texts())
    lines = texts[place].splitlines()
    texts[place] = "\n".join([*lines[:-1], lines[-1].rpartition(",")[0] + ",-1"])
    with pytest.raises(DomainError) as caught:
        read_ultraviolet(*texts, "D65")
    assert caught.value.what == names[place]
    assert (caught.value.row, caught.value.band) == (len(lines) - 2, 2)
    texts[place] = "\n".join(lines[:-1])
    with pytest.raises(DomainError, match="rows expected"):
        read_ultraviolet(*texts, "D65")


@pytest.mark.parametrize("place", [2, 3])
def test_a_fluorescent_specimen_that_does_not_fluoresce_is_refused(place):
    tables = [table.copy() for table in ultraviolet()]
    tables[place][1] = 0.0
    nm = [np.arange(380, 781, 5)] * 4
    nm[2] = np.arange(300, 461, 5)
    texts = [text(table, w) for table, w in zip(tables, nm, strict=True)]
    with pytest.raises(DomainError, match="zeros") as caught:
        read_ultraviolet(*texts, "D65")
    assert caught.value.band == 1


def test_no_table_of_the_standard_is_shipped():
    folder = Path(virtual_specimens.__file__).parent
    data = [path.name for path in folder.iterdir() if path.is_file() and path.suffix != ".py"]
    assert data == ["light.json"]
