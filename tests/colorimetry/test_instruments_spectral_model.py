"""The spectral error model: finds what was done to spectra, carries over, refuses what it must."""

import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline

from colorimetry import DomainError
from colorimetry.instruments.spectral_model import (
    TERMS,
    SpectralModel,
    check_model,
    correct,
    fit_spectral_model,
    leave_one_out,
    predict,
)
from tests.colorimetry.references import open_reflectances

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from statsmodels.regression.linear_model import OLS

STEP = 10.0
ALL = open_reflectances()[:, 4:65:2]  # 400 to 700 nm by 10
COLOURS, GREYS = ALL[:18], ALL[18:]  # the last six of the set are a grey scale
TRUE = np.array([0.002, -0.008, 0.35, -3.0])


def model(coefficients, terms=TERMS):
    """A model with these coefficients and no errors."""
    none = np.zeros(len(terms))
    return SpectralModel(tuple(terms), np.array(coefficients, float), none, none, 0.0, STEP)


def test_the_set_holds_eighteen_colours_and_six_greys():
    assert ALL.shape == (24, 31)
    assert np.ptp(GREYS[:, 3:], axis=1).max() < 0.1 < np.ptp(COLOURS, axis=1).min()


def test_what_was_done_is_found_exactly_without_noise():
    second = predict(model(TRUE), ALL)
    found = fit_spectral_model(reference=ALL, specimen=second, step=STEP)
    assert found.terms == TERMS
    assert found.coefficients == pytest.approx(TRUE, abs=1e-9)
    assert found.residual < 1e-12
    assert found.standard_errors.max() < 1e-8 and found.specimen_errors.max() < 1e-8


def resampled(spectra, shift=0.0, width=0.0):
    """Spectra read `shift` nm further on, through a triangular bandpass of this half width."""
    nm = np.arange(400, 701, STEP)
    curve = CubicSpline(nm, spectra, axis=1, bc_type="natural")
    if not width:
        return curve(nm + shift)
    offsets = np.linspace(-width, width, 201)
    weights = width - np.abs(offsets)
    moved = np.array([curve(np.clip(nm + shift + o, 400, 700)) for o in offsets])
    return np.einsum("o,onk->nk", weights / weights.sum(), moved)


def test_a_wavelength_shift_is_found_in_nanometres():
    # made without the model: the spectra read 0.4 nm further on
    second = resampled(COLOURS, shift=0.4) * 1.005 + 0.001
    found = fit_spectral_model(reference=COLOURS, specimen=second, step=STEP)
    by_term = dict(zip(found.terms, found.coefficients, strict=True))
    assert by_term["wavelength"] == pytest.approx(0.4, abs=0.03)
    assert by_term["scale"] == pytest.approx(0.005, abs=0.001)
    assert by_term["zero"] == pytest.approx(0.001, abs=0.0005)
    assert fit_spectral_model(
        reference=COLOURS, specimen=resampled(COLOURS, shift=-0.4), step=STEP
    ).coefficients[2] == pytest.approx(-0.4, abs=0.03)


def test_a_wider_bandpass_is_found_as_half_its_variance():
    # a triangle of half width w has the variance w²/6; the model's term is half of it
    found = fit_spectral_model(reference=COLOURS, specimen=resampled(COLOURS, width=6.0), step=STEP)
    assert found.coefficients[3] == pytest.approx(36 / 12, rel=0.15)
    assert abs(found.coefficients[2]) < 0.02


def noisy(seed, sigma=5e-4, spectra=ALL):
    """A pair of tables whose second has the model's errors and noise on every band."""
    rng = np.random.default_rng(seed)
    return spectra, predict(model(TRUE), spectra) + rng.normal(0, sigma, spectra.shape)


def test_standard_errors_are_those_of_the_statistics_library():
    first, second = noisy(1)
    found = fit_spectral_model(reference=first, specimen=second, step=STEP)
    inner = first[:, 1:-1]
    slope = (first[:, 2:] - first[:, :-2]) / 20
    bend = (first[:, 2:] - 2 * inner + first[:, :-2]) / 100
    design = np.column_stack([c.ravel() for c in (np.ones_like(inner), inner, slope, bend)])
    theirs = OLS((second - first)[:, 1:-1].ravel(), design).fit()
    assert found.coefficients == pytest.approx(theirs.params, rel=1e-9)
    assert found.standard_errors == pytest.approx(theirs.bse, rel=1e-7)
    assert found.residual == pytest.approx(np.sqrt(np.mean(theirs.resid**2)), rel=1e-9)


def test_both_kinds_of_errors_tell_the_spread_of_the_coefficients():
    runs = [noisy(seed) for seed in range(60)]
    fits = [fit_spectral_model(reference=a, specimen=b, step=STEP) for a, b in runs]
    spread = np.std([fit.coefficients for fit in fits], axis=0)
    assert np.mean([fit.standard_errors for fit in fits], axis=0) == pytest.approx(spread, rel=0.25)
    assert np.mean([fit.specimen_errors for fit in fits], axis=0) == pytest.approx(spread, rel=0.3)


def test_specimens_that_err_as_a_whole_show_in_the_jackknife_alone():
    rng = np.random.default_rng(3)
    first = ALL
    runs = []
    for _ in range(50):
        second = predict(model(TRUE), first) + rng.normal(0, 0.002, (24, 1))
        runs.append(fit_spectral_model(reference=first, specimen=second, step=STEP))
    spread = np.std([fit.coefficients[0] for fit in runs])
    assert np.mean([fit.specimen_errors[0] for fit in runs]) == pytest.approx(spread, rel=0.25)
    assert np.mean([fit.standard_errors[0] for fit in runs]) < 0.5 * spread


def test_the_jackknife_is_that_of_fits_without_each_specimen():
    first, second = noisy(5)
    found = fit_spectral_model(reference=first, specimen=second, step=STEP)
    keep = [np.delete(np.arange(24), i) for i in range(24)]
    each = np.array(
        [
            fit_spectral_model(reference=first[k], specimen=second[k], step=STEP).coefficients
            for k in keep
        ]
    )
    expected = np.sqrt(23 / 24 * ((each - each.mean(axis=0)) ** 2).sum(axis=0))
    assert found.specimen_errors == pytest.approx(expected, rel=1e-9)


@settings(max_examples=40, deadline=None)
@given(st.floats(-0.01, 0.01), st.floats(-0.03, 0.03), st.floats(-1, 1), st.floats(-8, 8))
def test_correcting_undoes_predicting(zero, scale, wavelength, bandwidth):
    one = model((zero, scale, wavelength, bandwidth))
    assert correct(one, predict(one, ALL)) == pytest.approx(ALL, abs=1e-11)


def test_nothing_is_corrected_where_nothing_is_wrong():
    same = fit_spectral_model(reference=ALL, specimen=ALL, step=STEP)
    assert same.coefficients == pytest.approx(np.zeros(4), abs=1e-15)
    assert np.array_equal(predict(model([0, 0, 0, 0]), ALL), ALL)
    assert np.array_equal(correct(model([0, 0, 0, 0]), ALL), ALL)


def test_derivatives_at_the_ends_are_exact_for_parabolas():
    nm = np.arange(400, 701, STEP)
    parabola = (1e-5 * (nm - 520) ** 2 + 1e-3 * nm)[None, :]
    by_slope = predict(model([0, 0, 1, 0]), parabola) - parabola
    assert by_slope[0] == pytest.approx(2e-5 * (nm - 520) + 1e-3, abs=1e-12)
    by_bend = predict(model([0, 0, 0, 1]), parabola) - parabola
    assert by_bend[0] == pytest.approx(np.full(31, 2e-5), abs=1e-12)
    assert predict(model([1, 0], ("zero", "scale")), parabola)[0] == pytest.approx(parabola[0] + 1)


def test_a_model_of_near_colours_is_checked_on_far_ones():
    first, second = noisy(7, 2e-4)
    near = slice(0, 9)
    fitted = fit_spectral_model(reference=first[near], specimen=second[near], step=STEP)
    check = check_model(fitted, reference=first[9:], specimen=second[9:])
    assert check.before.shape == (15,)
    assert (check.after < 0.5 * check.before).all()
    assert check.before[2] == pytest.approx(np.sqrt(np.mean((second[11] - first[11]) ** 2)))
    left = second[11] - predict(fitted, first[11:12])[0]
    assert check.after[2] == pytest.approx(np.sqrt(np.mean(left**2)))


def test_leaving_one_out_tells_what_the_model_is_worth():
    first, second = noisy(9, 2e-4)
    check = leave_one_out(reference=first, specimen=second, step=STEP)
    assert (check.after < check.before).mean() > 0.9
    assert check.after == pytest.approx([2e-4] * 24, rel=0.6)
    rest = np.delete(np.arange(24), 6)
    fitted = fit_spectral_model(reference=first[rest], specimen=second[rest], step=STEP)
    alone = check_model(fitted, reference=first[6:7], specimen=second[6:7])
    assert check.after[6] == pytest.approx(alone.after[0], rel=1e-9)
    assert check.before[6] == alone.before[0]
    # differences of no kind that the model knows are not explained away
    rng = np.random.default_rng(2)
    noise = leave_one_out(
        reference=first, specimen=first + rng.normal(0, 0.002, first.shape), step=STEP
    )
    assert noise.after.mean() > 0.98 * noise.before.mean()


@settings(max_examples=20, deadline=None)
@given(st.permutations(range(24)))
def test_the_order_of_specimens_does_not_matter(order):
    first, second = noisy(4)
    plain = fit_spectral_model(reference=first, specimen=second, step=STEP)
    turned = fit_spectral_model(reference=first[order], specimen=second[order], step=STEP)
    assert turned.coefficients == pytest.approx(plain.coefficients, rel=1e-8)
    assert turned.specimen_errors == pytest.approx(plain.specimen_errors, rel=1e-6)


def flat(levels):
    """Perfect neutrals."""
    return np.array(levels)[:, None] * np.ones(31)


def test_neutrals_say_nothing_of_wavelength():
    for neutrals in (flat([0.03, 0.1, 0.2, 0.4, 0.6, 0.9]), GREYS[:, 15:16] * np.ones(31)):
        with pytest.raises(DomainError) as caught:
            fit_spectral_model(reference=neutrals, specimen=neutrals + 0.001, step=STEP)
        assert (caught.value.what, caught.value.problem) == ("wavelength", "inseparable")
        rest = fit_spectral_model(
            reference=neutrals, specimen=neutrals * 1.01 + 0.001, step=STEP, terms=TERMS[:2]
        )
        assert rest.coefficients == pytest.approx([0.001, 0.01], abs=1e-9)


def test_real_greys_say_nothing_of_bandwidth():
    rng = np.random.default_rng(1)
    with pytest.raises(DomainError) as caught:
        fit_spectral_model(
            reference=GREYS[:, 3:], specimen=GREYS[:, 3:] + rng.normal(0, 1e-4, (6, 28)), step=STEP
        )
    assert caught.value.problem == "inseparable"
    assert caught.value.what in ("wavelength", "bandwidth")


def test_one_lightness_cannot_tell_zero_from_scale():
    rng = np.random.default_rng(6)
    same = flat([0.4] * 4) + rng.normal(0, 1e-3, (4, 31))
    with pytest.raises(DomainError) as caught:
        fit_spectral_model(reference=same, specimen=same, step=STEP, terms=("zero", "scale"))
    assert (caught.value.what, caught.value.problem) == ("zero", "inseparable")


def test_terms_that_go_together_are_refused_by_their_condition():
    # waves of one length: the second derivative is a multiple of the curve itself
    nm = np.arange(400, 701, STEP)
    waves = np.array(
        [0.5 + a * np.sin((nm - b) / 14) for a, b in ((0.4, 3), (0.3, 20), (0.45, 37))]
    )
    with pytest.raises(DomainError) as caught:
        fit_spectral_model(reference=waves, specimen=waves * 1.01, step=STEP)
    assert caught.value.problem == "inseparable"
    assert caught.value.what in ("scale", "bandwidth", "zero")


def test_the_one_specimen_on_which_a_term_hangs_is_named():
    mixed = np.vstack((flat([0.05, 0.3, 0.5, 0.9]), COLOURS[14:15]))
    with pytest.raises(DomainError) as caught:
        fit_spectral_model(reference=mixed, specimen=mixed + 0.001, step=STEP)
    assert (caught.value.problem, caught.value.row) == ("inseparable", 4)
    with pytest.raises(DomainError) as caught:
        leave_one_out(reference=mixed, specimen=mixed + 0.001, step=STEP)
    assert (caught.value.problem, caught.value.row) == ("inseparable", 4)


HOLE = ALL.copy()
HOLE[3, 7] = np.nan


def fit(first=ALL, second=ALL, step=STEP, terms=TERMS):
    return fit_spectral_model(reference=first, specimen=second, step=step, terms=terms)


REFUSED = [
    (lambda: fit(HOLE), "reference spectra", "nan", 3, 7),
    (lambda: fit(ALL, HOLE), "specimen spectra", "nan", 3, 7),
    (lambda: fit(ALL, ALL[:20]), "specimen spectra", "shape", None, None),
    (lambda: fit(ALL, ALL[:, :20]), "specimen spectra", "shape", None, None),
    (lambda: fit(ALL[:, :4], ALL[:, :4]), "reference spectra", "few", None, None),
    (lambda: fit(ALL[:2], ALL[:2]), "reference spectra", "few", None, None),
    (
        lambda: leave_one_out(reference=ALL[:2], specimen=ALL[:2], step=STEP),
        "reference spectra",
        "few",
        None,
        None,
    ),
    (lambda: fit(step=0), "step", "range", None, None),
    (lambda: fit(step=np.nan), "step", "range", None, None),
    (lambda: fit(terms=()), "terms", "range", None, None),
    (lambda: fit(terms=("zero", "zero")), "terms", "range", None, None),
    (lambda: fit(terms=("zero", "drift")), "terms", "range", None, None),
    (lambda: predict(model(TRUE), HOLE), "reference spectra", "nan", 3, 7),
    (lambda: correct(model([0, 0, 0, 900]), ALL), "specimen spectra", "range", None, None),
]


@pytest.mark.parametrize("number", range(len(REFUSED)))
def test_what_does_not_fit_is_refused_with_its_place(number):
    call, what, problem, row, band = REFUSED[number]
    with pytest.raises(DomainError) as caught:
        call()
    found = caught.value
    assert (found.what, found.problem, found.row, found.band) == (what, problem, row, band)


def test_three_specimens_and_five_bands_are_enough():
    some = fit(COLOURS[12:15], COLOURS[12:15])
    assert some.coefficients == pytest.approx(np.zeros(4), abs=1e-15)
    narrow = fit(ALL[:, 10:15], ALL[:, 10:15], terms=("zero", "scale"))
    assert narrow.coefficients == pytest.approx(np.zeros(2), abs=1e-15)
