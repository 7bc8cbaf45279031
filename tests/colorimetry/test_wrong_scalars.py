"""Texts, lists, None and booleans in the place of a number or a name: one exception everywhere."""

import numpy as np
import pytest

from colorimetry import DomainError, Grid, ciede2000
from colorimetry.decision.guard import acceptance_zone, guard_band, guard_band_for_risk
from colorimetry.difference_formulas import difference
from colorimetry.directions import NeutralZone
from colorimetry.film import two_backings
from colorimetry.gloss import gloss_of_index
from colorimetry.grey_scale import grade, scale_deviations
from colorimetry.instruments.bias import bias_region
from colorimetry.instruments.drift import trend
from colorimetry.instruments.spectral_model import fit_spectral_model
from colorimetry.light import simulator
from colorimetry.light.daylight import daylight, named_daylight
from colorimetry.light.virtual_specimens import read_visible
from colorimetry.numbers import quantise
from colorimetry.observers.arrangement import arrangement_scores, from_trays
from colorimetry.observers.norms import AgeNorm, compared_with_age
from colorimetry.panels.alpha import alpha_interval, krippendorff_alpha
from colorimetry.panels.kappa import category_weights, cohen_kappa, cross_table
from colorimetry.panels.tolerance import ToleranceFit
from colorimetry.sampling import oc
from colorimetry.sampling.strata import allocate
from colorimetry.sampling.switching import standing
from colorimetry.saunderson import internal_reflection, measured
from colorimetry.spectral_power import SpectralPower
from colorimetry.weights import GridError
from colorimetry.whiteness import cie_whiteness, yellowness

LAB = (50.0, 1.0, 1.0)
PAIR = {"reference": LAB, "specimen": LAB}
RATINGS = [[1, 2, 1, 2], [1, 2, 2, 2]]
FIT = ToleranceFit(3.0, -2.0, *np.zeros((3, 2, 2)), 20, 4, 80, 30, 0.1, 3.0)
TABLES = {"reference": np.ones((5, 6)), "specimen": np.ones((5, 6))}
BACKED = {"over_white": [[0.6]], "over_black": [[0.4]], "thickness": 1.0}
BACKED |= {"white_backing": [[0.8]], "black_backing": [[0.0]]}
LAMP = SpectralPower(Grid(380, 780, 10), np.ones(41))
CALLS = {
    "k_l": lambda w: ciede2000(LAB, LAB, k_l=w),
    "l_weight": lambda w: difference("CMC", **PAIR, l_weight=w, c_weight=1),
    "formula": lambda w: difference(w, **PAIR),
    "application": lambda w: difference("CIE94", **PAIR, application=w),
    "start": lambda w: Grid(w, 700, 10),
    "multiple": lambda w: guard_band(1.0, multiple=w, coverage_factor=2),
    "risk": lambda w: guard_band_for_risk(1.0, risk=w),
    "rule": lambda w: acceptance_zone(w, 0.0, upper=1.0),
    "confidence": lambda w: bias_region(reference=[[1]], specimen=[[1]], confidence=w),
    "trend confidence": lambda w: trend(np.arange(6), np.ones((6, 1)), confidence=w),
    "resamples": lambda w: alpha_interval(RATINGS, level="nominal", seed=1, resamples=w),
    "alpha confidence": lambda w: alpha_interval(RATINGS, level="nominal", seed=1, confidence=w),
    "level": lambda w: krippendorff_alpha(RATINGS, level=w),
    "weighting": lambda w: cohen_kappa([[1, 2], [2, 1]], weighting=w),
    "categories": lambda w: category_weights(w, "none"),
    "cross categories": lambda w: cross_table([0], [0], w),
    "tolerance": lambda w: FIT.tolerance(w),
    "step": lambda w: fit_spectral_model(**TABLES, step=w),
    "terms": lambda w: fit_spectral_model(**TABLES, step=10, terms=w),
    "least contrast": lambda w: two_backings(**BACKED, least_contrast=w),
    "k1": lambda w: measured([[0.5]], k1=w, k2=0.5, specular="included"),
    "specular": lambda w: measured([[0.5]], k1=0.04, k2=0.5, specular=w),
    "refractive index": internal_reflection,
    "angle": lambda w: gloss_of_index(1.5, w),
    "metamerism index": simulator.grade,
    "temperature": daylight,
    "daylight": named_daylight,
    "interpolation": lambda w: LAMP.per_nanometre(w),
    "rating": grade,
    "pair": lambda w: scale_deviations({"4": w}),
    "value": lambda w: quantise(w, 2),
    "neutral zone": lambda w: NeutralZone(w, "clause 1"),
    "neutral source": lambda w: NeutralZone(1.0, w if w != "1" else None),
    "youngest": lambda w: AgeNorm(w, 30, 1.0, 2.0, "a copy"),
    "mean": lambda w: AgeNorm(20, 30, w, 2.0, "a copy"),
    "age": lambda w: compared_with_age(4, w, []),
    "trays": from_trays,
    "convention": lambda w: arrangement_scores(np.arange(1, 86), convention=w),
    "texts": lambda w: read_visible(w, w, "D65"),
    "sizes": lambda w: allocate(5, w),
    "history": lambda w: standing([w], like="a", edition="MIL-STD-105E", reduced_agreed=False),
    "acceptance": lambda w: oc.quality_hypergeometric(w, 10, 2, 0),
    "whiteness limits": lambda w: cie_whiteness(
        [[90, 95, 100]], illuminant="D65", observer=10, limits=w
    ),
    "yellowness": lambda w: yellowness([[90, 95, 100]], illuminant=w, observer=w),
}


@pytest.mark.parametrize("what", CALLS)
@pytest.mark.parametrize("wrong", ["1", None, [1], {}, True, float("nan")], ids=str)
def test_what_is_no_number_or_name_is_refused_by_one_exception(what, wrong):
    with pytest.raises((DomainError, GridError)):
        CALLS[what](wrong)


@pytest.mark.parametrize("categories", [-3, 0, 2.5])
def test_fewer_than_one_or_broken_categories_are_refused(categories):
    with pytest.raises(DomainError, match="categories"):
        category_weights(categories, "linear")
