"""Colours that a file states, against those of its own spectra."""

import importlib.resources
import time

import numpy as np
import pytest

from colorimetry import Grid, lab, weights, white, xyz
from method.readers import read
from method.readers.condition import said as pieces_said
from method.readers.found import Found, Stated
from method.readers.stated import MOST_SETS, compare, folded, stated_columns
from tests.method import odd_files
from tests.method.dialects import Dialect, write
from tests.method.odd_files import (
    LABELS,
    WAVELENGTHS,
    colours,
    framed,
    named,
    rows_of,
    smooth,
    with_colours,
)

FILES = odd_files.odd_files()
D50 = ['WEIGHTING_FUNCTION "ILLUMINANT, D50"', 'WEIGHTING_FUNCTION "OBSERVER, 2 degree"']


def compared(name):
    """The one comparison of a file, and its oddities about colours."""
    reading = read(FILES[name], name)
    (one,) = reading.comparisons
    odd = {o.id: o.params for o in reading.oddities if o.id.startswith("stated")}
    return one, odd


def test_colours_that_agree_are_shown_with_figures_and_raise_no_oddity():
    one, odd = compared("stated colours that agree")
    assert (one.illuminant, one.observer, one.agrees, one.best) == ("D50", "2", True, "D50/2°")
    assert one.largest <= 0.01 and odd == {}  # two decimals


def test_colours_of_another_light_are_said_with_the_light_that_fits():
    one, odd = compared("stated colours of another light")
    assert not one.agrees and one.best == "D65/10°" and one.best_agrees
    assert odd["stated-unlike"]["condition"] == "D50/2°"
    assert float(odd["stated-unlike"]["mean"]) > 1
    assert odd["stated-fits"]["best"] == "D65/10°" and float(odd["stated-fits"]["largest"]) < 0.01


def test_where_the_light_is_unsaid_the_fitting_one_is_said_and_not_assumed():
    one, odd = compared("stated colours, light unsaid")
    assert one.agrees is None and one.mean is None and one.illuminant is None
    assert list(odd) == ["stated-fits"] and odd["stated-fits"]["best"] == "D65/10°"
    assert "illuminant" in read(FILES["stated colours, light unsaid"], "a").unknown


def test_the_white_of_the_other_observer_is_found_out():
    one, odd = compared("stated colours with the other observer's white")
    assert one.best == "D50/10°, white of 2°" and one.best_agrees and not one.agrees
    assert odd["stated-fits"]["best"] == "D50/10°, white of 2°"


def test_colours_that_fit_no_light_are_said_to_be_unlike():
    one, odd = compared("stated colours of nothing")
    assert not one.agrees and not one.best_agrees
    assert "stated-unlike" in odd and "stated-fits" not in odd


def test_averaged_chroma_is_said_and_recomputed_from_a_and_b():
    reading = read(FILES["averaged chroma and hue"], "a")
    (note,) = [one for one in reading.oddities if one.id == "chroma-disagrees"]
    agreed = colours(smooth())
    gap = 0.2 * np.hypot(agreed[:, 1], agreed[:, 2]).max()
    assert note.params["count"] == "3" and float(note.params["largest"]) == pytest.approx(gap, 0.01)


def test_figures_of_the_comparison_are_no_part_of_the_frozen_mapping():
    reading = read(FILES["stated colours of another light"], "a")
    mapping = reading.mapping({}).decode()
    assert "stated-unlike" not in mapping and '"fields":["LAB_L","LAB_A","LAB_B"]' in mapping


def test_rounding_of_what_is_stated_explains_a_difference():
    coarse = read(with_colours(colours(smooth()), digits=0, keywords=D50).encode(), "a")
    assert coarse.comparisons[0].agrees and coarse.comparisons[0].largest > 0.05


def test_two_sets_with_their_conditions_in_the_names_are_compared_each_with_its_own():
    one, other = colours(smooth()), colours(smooth(), "D65", 10)
    names = [f"{letter}*(2°/D50)" for letter in "Lab"] + [f"{letter}*(10°/D65)" for letter in "Lab"]
    text = with_colours(np.hstack([one, other]), names, digits=3)
    reading = read(text.encode(), "a")
    found = [(c.illuminant, c.observer, c.agrees) for c in reading.comparisons]
    assert found == [("D50", "2", True), ("D65", "10", True)] and reading.oddities == ()
    assert reading.known("illuminant") is None  # they speak of these colours only


def test_colours_below_a_table_by_column_are_taken_as_stated():
    lines = write(Dialect(layout="columns"), LABELS, WAVELENGTHS, smooth()).decode()
    for letter, values in zip("Lab", colours(smooth()).T, strict=True):
        lines += f"{letter}*," + ",".join(f"{value:.3f}" for value in values) + "\n"
    reading = read(("Illuminant: D50; observer: 2°\n" + lines).encode(), "a.csv")
    (one,) = reading.comparisons
    assert one.agrees and one.readings == 3 and reading.labels == tuple(LABELS)
    assert reading.grid == (380, 730, 10)


@pytest.mark.parametrize("step", [5, 10])
def test_colours_of_5_nm_data_may_have_been_computed_by_the_weights_for_10_nm(step):
    nm = list(range(380, 731, 5))
    table = smooth(3, nm)
    table[:, 20] += 0.1  # so that the two ways differ
    grid = Grid(380, 730, step)
    factors, reference = weights("A", 2, grid), white("A", 2, grid)
    stated = lab(xyz(table[:, :: step // 5], factors), reference)
    head = ["SAMPLE_ID", "L*", "a*", "b*", *(f"nm{one}" for one in nm)]
    rows = [
        [label, *(f"{value:.4f}" for value in colour), *(f"{value:.4f}" for value in row)]
        for label, colour, row in zip(LABELS, stated, table, strict=True)
    ]
    (one,) = read(framed(head, rows, keywords=["NOTE A/2°"]).encode(), "a").comparisons
    assert one.agrees and one.largest < 0.002


def test_xyz_is_compared_as_well():
    values = xyz(smooth(), weights("D65", 2, Grid.of(WAVELENGTHS)))
    text = with_colours(values, ("XYZ_X", "XYZ_Y", "XYZ_Z"), digits=4, keywords=["NOTE D65/2°"])
    (one,) = read(text.encode(), "a").comparisons
    assert one.agrees and one.best == "D65/2°"


@pytest.mark.parametrize("grid", [Grid(380, 730, 10), Grid(400, 700, 20), Grid(360, 780, 5)])
@pytest.mark.parametrize("observer", [2, 10])
def test_folding_gives_the_weights_that_verdicts_take_where_those_exist(grid, observer):
    """ASTM E308: weights of missing wavelengths are added to the outermost measured ones."""
    for illuminant in ("D50", "D65", "A"):
        mine, theirs = folded(illuminant, observer, grid), weights(illuminant, observer, grid)
        assert np.abs(mine - theirs).max() < 1e-12


def test_a_real_file_that_stops_at_680_agrees_as_was_measured_elsewhere():
    """144 objects with L*a*b* beside the spectrum: mean 0.058, largest 0.153 (CIEDE2000)."""
    folder = importlib.resources.files("colour_cxf") / "tests" / "resources"
    (path,) = [one for one in folder.iterdir() if one.name.endswith(".cxf")]
    reading = read(path.read_bytes(), path.name)
    (one,) = reading.comparisons
    assert one.readings == 144 and (one.illuminant, one.observer) == ("D50", "2")
    assert (round(one.mean, 3), round(one.largest, 3)) == (0.058, 0.153)
    assert one.best == "D50/2°" and reading.grid == (380, 680, 10)
    assert [o.id for o in reading.oddities] == ["grid-without-weights"]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("OBSERVER_ANGLE 10", {"observer": "10"}),
        ("10° observer, D65", {"observer": "10", "illuminant": "D65"}),
        ("CIE 1931 observer", {"observer": "2"}),
        ("Illuminant: A", {"illuminant": "A"}),
        ("FL11/10°", {"illuminant": "F11", "observer": "10"}),
        ("d/8 specular excluded", {"geometry": "d:8", "specular": "excluded"}),
        (
            "di:8, aperture 4,5 mm, UV cut",
            {"geometry": "di:8", "aperture": "4.5", "uv": "excluded"},
        ),
        ("white backing", {"backing": "white"}),
        ("Created 1/2/2003 10:08 by M1", {}),
        ("series A-2, batch C 10, 45 pieces", {}),
        ("0/5 rejected, 8/10 passed", {}),
        ("D65, 10°", {"illuminant": "D65", "observer": "10"}),
        ("2°", {"observer": "2"}),
        ("Geometry 0:45", {"geometry": "0:45"}),
        ("ISO 13655:2017 M2 mode", {"uv": "M2"}),
        ("CREATED 1/2/2020 0:45", {}),
        ("MEASURED 3 March 2020, 0:45", {}),
        ("Measured on D65, 10 samples", {}),
        ("Illuminant D65, 2 readings each", {"illuminant": "D65"}),
        ("Observer: 2 people, room 5", {}),
        ("Observers: 2, male", {}),
        ("Lot C/10", {}),
        ("Batch D50 no 7", {}),
        ("BATCH D50", {}),
        ("series D65-10 no 4", {}),
        ("Illumination: A new xenon flash", {}),
        ("MEASURED BY M1 Miller", {}),
        ("Aperture: 30 mm x 20 mm", {}),
        ("aperture 4 mm and 8 mm", {}),
        ("UV filter: none", {}),
        ("measured without UV filter", {}),
    ],
)
def test_words_of_the_condition_are_taken_and_others_left(text, found):
    assert dict(pieces_said(text)) == found


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("specular component included and excluded", "specular"),
        ("UV included/excluded", "uv"),
        ("conditions M0 and M1", "uv"),
        ("Illuminants: D50 and D65", "illuminant"),
        ("observer 2 and 10", "observer"),
    ],
)
def test_of_two_things_said_in_one_breath_neither_is_taken(text, key):
    assert len({value for found, value in pieces_said(text) if found == key}) == 2
    data = framed(named(), rows_of(), keywords=[f'NOTE "{text}"'])
    assert read(data.encode(), "a").known(key) is None


@pytest.mark.parametrize(
    ("names", "spaces"),
    [
        (["L*", "a*", "b*"], ["lab"]),
        (["LAB_L", "LAB_A", "LAB_B", "XYZ_X", "XYZ_Y", "XYZ_Z"], ["lab", "xyz"]),
        (["CIE-L*", "CIE-a*", "CIE-b*"], ["lab"]),
        (["x", "y", "Y"], []),
        (["label", "batch", "L"], []),
        (["LAB_L", "LAB_A"], []),
    ],
)
def test_columns_of_colours_are_told_by_their_names(names, spaces):
    assert [one.space for one in stated_columns(names)] == spaces


def test_of_many_sets_the_first_are_compared_quickly_and_the_others_are_said():
    one = colours(smooth())
    names = [f"{letter}*({number})" for number in range(150) for letter in "Lab"]
    data = with_colours(np.hstack([one] * 150), names, keywords=D50).encode()
    start = time.process_time()
    reading = read(data, "a")
    assert time.process_time() - start < 1.0
    assert len(reading.stated) == 150 and len(reading.comparisons) == MOST_SETS
    assert all(each.agrees for each in reading.comparisons)
    (note,) = [each for each in reading.oddities if each.id == "stated-left"]
    assert note.params == {"count": str(150 - MOST_SETS)}
    assert "stated-left" not in reading.mapping({}).decode()


def test_sets_that_lack_different_readings_are_each_compared_with_their_own():
    one, other = colours(smooth()), colours(smooth(), "D65", 10)
    rows = read(with_colours(one, keywords=D50).encode(), "a")
    gone, half = one.copy(), other.copy()
    gone[0], half[1:] = np.nan, np.nan
    made = [Stated("lab", values, ("L", "a", "b"), *under) for values, under in (
        (gone, ("D50", "2")), (half, ("D65", "10")), (one, ("D50", "2")), (one, ("D65", "10")),
    )]  # fmt: skip
    found = Found("", "reflectance", rows.wavelengths, rows.labels, rows.values, stated=tuple(made))
    compared = compare(found, smooth())
    assert [(each.readings, each.agrees) for each in compared] == [
        (len(one) - 1, True), (1, True), (len(one), True), (len(one), False),
    ]  # fmt: skip
