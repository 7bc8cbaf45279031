"""What stands behind a verdict gives the verdict's own numbers, computed by a library."""

from __future__ import annotations

import random

import numpy as np
import pytest

from method.behind import Behind, behind
from method.judge import JudgeError
from tests.colorimetry.references import colour
from tests.method.cases import Case, spectrum, tolerance, visual_case


def of(case: Case) -> Behind:
    return behind(*case.inputs)


def case_of(seed: int) -> Case:
    """Readings with slopes, two or three a specimen."""
    drawn = random.Random(seed)
    rows = {
        label: [
            spectrum(0.4 + drawn.uniform(-0.02, 0.02), drawn.uniform(-0.03, 0.03))
            for _ in range(drawn.choice((2, 3)))
        ]
        for label in ("1", "2", "3")
    }
    return Case(rows=rows, target=spectrum(0.41, drawn.uniform(-0.02, 0.02)))


@pytest.mark.parametrize("seed", range(5))
def test_the_colours_give_the_printed_differences(seed):
    case = case_of(seed)
    items = case.judged()["instrument"]["items"]
    found = of(case).colours
    assert [one.item.id for one in found] == [item["item"] for item in items]
    for one, item in zip(found, items, strict=True):
        places = np.array(list(one.specimens.values()))
        target = np.broadcast_to(np.array(one.target), places.shape)
        differences = colour.delta_E(target, places, method="CIE 2000")
        printed = {row["specimen"]: float(row["value"]) for row in item["values"]}
        assert list(one.specimens) == list(printed)
        assert differences == pytest.approx(list(printed.values()), abs=0.005 + 1e-9)
        assert one.item.illuminant == item["illuminant"]


@pytest.mark.parametrize("seed", range(3))
def test_the_spectra_are_the_means_of_the_readings(seed):
    case = case_of(seed)
    [found] = of(case).reflectances
    assert (found.geometry, found.wavelengths) == ("di:8", tuple(range(400, 701, 10)))
    assert found.target == pytest.approx(case.target, abs=1e-15)
    for label, readings in case.rows.items():
        assert found.specimens[label] == pytest.approx(np.mean(readings, axis=0), abs=1e-12)


def test_pieces_among_each_other_have_no_target():
    terms = {**Case().terms, "tolerances": {"items": [tolerance(1, compared_with="among_pieces")]}}
    found = of(Case(terms=terms))
    assert found.colours == ()
    assert found.reflectances[0].target is None and set(found.reflectances[0].specimens) == {
        "1",
        "2",
    }


def test_a_target_of_numbers_has_a_colour_and_no_spectrum():
    numbers = {
        "id": "tgt-aaaaa1",
        "illuminant": "D65",
        "observer": "10",
        "l_star": "70",
        "a_star": "0",
        "b_star": "1",
    }
    case = Case(targets=()).with_terms("references", target="numbers", target_values=[numbers])
    found = of(case)
    assert [one.target for one in found.colours] == [(70.0, 0.0, 1.0)]
    assert found.reflectances[0].target is None


def test_an_agreement_by_eye_has_nothing_behind_it_but_the_sample():
    found = of(visual_case())
    assert (found.reflectances, found.colours) == ((), ())
    assert found.sample is not None and found.sample.lot == 500


def test_the_sample_is_that_of_a_lot_alone():
    sample = of(Case()).sample
    assert sample is not None
    assert (sample.kind, sample.lot, sample.pieces, sample.acceptance) == ("fixed", 500, 2, 0)
    assert of(Case().first_article()).sample is None
    assert of(Case().rejection()).sample is None


def test_readings_at_another_geometry_give_nothing():
    other = Case().condition.model_copy(update={"geometry": "45:0"})
    found = of(Case(condition=other))
    assert (found.reflectances, found.colours) == ((), ())


def test_what_judging_refuses_is_refused():
    terms, submission, _ = Case().inputs
    with pytest.raises(JudgeError, match="blob_missing"):
        behind(terms, submission, {})
    with pytest.raises(JudgeError, match="terms_unlike"):
        behind(b"{}", submission, Case().blobs)
