"""Several geometries: each under its own label, none left out, none compared with another."""

import numpy as np
import pytest

from colorimetry import DomainError, components
from colorimetry.difference_formulas import difference
from colorimetry.geometry_differences import differences_by_geometry
from tests.colorimetry.test_difference import sample

LABELS = ("45°:as-15°", "45°:as15°", "45°:as110°")
FIRST, SECOND = (np.split(part[:36], 3) for part in sample(60, 21))
REFERENCE, SPECIMEN = dict(zip(LABELS, FIRST, strict=True)), dict(zip(LABELS, SECOND, strict=True))


@pytest.mark.parametrize(
    ("formula", "parameters"),
    [("CIEDE2000", {"k_l": 2.0}), ("CMC", {"l_weight": 2, "c_weight": 1})],
)
def test_each_geometry_gives_what_it_gives_alone(formula, parameters):
    backwards = dict(reversed(SPECIMEN.items()))
    found = differences_by_geometry(formula, reference=REFERENCE, specimen=backwards, **parameters)
    assert list(found) == list(LABELS)
    for label, part in found.items():
        pair = {"reference": REFERENCE[label], "specimen": SPECIMEN[label]}
        assert np.array_equal(part.difference, difference(formula, **pair, **parameters))
        alone = components(REFERENCE[label], SPECIMEN[label])
        assert all(np.array_equal(a, b) for a, b in zip(part.components, alone, strict=True))


def test_one_reference_per_geometry_serves_all_specimens():
    single = {label: table[0] for label, table in REFERENCE.items()}
    found = differences_by_geometry("CIELAB", reference=single, specimen=SPECIMEN)
    assert {len(part.difference) for part in found.values()} == {12}


def test_a_geometry_that_one_side_lacks_is_named():
    partial = {label: SPECIMEN[label] for label in LABELS[:2]}
    with pytest.raises(DomainError, match=r"specimen: missing: geometry 45°:as110° not") as caught:
        differences_by_geometry("CIELAB", reference=REFERENCE, specimen=partial)
    assert caught.value.problem == "missing"
    with pytest.raises(DomainError, match=r"reference: missing: geometry 45°:as110° not"):
        differences_by_geometry("CIELAB", reference=partial, specimen=SPECIMEN)
    with pytest.raises(DomainError, match="no geometry"):
        differences_by_geometry("CIELAB", reference={}, specimen={})


def test_labels_that_differ_in_a_letter_are_different_geometries():
    renamed = {label.upper(): table for label, table in SPECIMEN.items()}
    with pytest.raises(DomainError, match="as-15°"):
        differences_by_geometry("CIELAB", reference=REFERENCE, specimen=renamed)


def test_a_fault_is_named_with_its_geometry_row_and_band():
    faulty = {label: table.copy() for label, table in SPECIMEN.items()}
    faulty[LABELS[1]][4, 2] = np.nan
    with pytest.raises(DomainError, match=r"\(45°:as15°\)") as caught:
        differences_by_geometry("CIELAB", reference=REFERENCE, specimen=faulty)
    error = caught.value
    assert (error.problem, error.row, error.band) == ("nan", 4, 2)
    assert error.what == "specimen Lab (45°:as15°)"


def test_every_geometry_has_the_same_specimens():
    fewer = SPECIMEN | {LABELS[2]: SPECIMEN[LABELS[2]][:5]}
    single = {label: table[:1] for label, table in REFERENCE.items()}
    with pytest.raises(DomainError, match="5 specimens where the first geometry has 12") as caught:
        differences_by_geometry("CIELAB", reference=single, specimen=fewer)
    assert (caught.value.what, caught.value.problem) == ("specimen Lab (45°:as110°)", "shape")
