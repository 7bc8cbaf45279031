"""Spectral error model of one instrument against another: zero, scale, wavelength, bandwidth.

    second - first = zero + scale R + wavelength dR/dλ + bandwidth d²R/dλ²,   R by the first

so that one set of four numbers serves all colours, near and far. Fitted by least squares over all
specimens and bands. After Berns & Petersen, Color Res. Appl. 13(4):243-256 (1988), empirical
modelling of systematic spectrophotometric errors (from memory, check the paper).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, finite_table, positive
from colorimetry.errors import DomainError

TERMS = ("zero", "scale", "wavelength", "bandwidth")
# condition index of the unit-length columns from which a regression is harmed: Belsley, Kuh &
# Welsch, Regression Diagnostics (1980; from memory); the term whose variance suffers most is named
_INDEX = 30.0
# what an error of 0.01, 1 %, 1 nm or 10 nm² must do to reflectance beyond the other terms (root
# mean square); common practice, no published source: instruments repeat within about this
_LEAST = 5e-4
_NATURAL = {"zero": 0.01, "scale": 0.01, "wavelength": 1.0, "bandwidth": 10.0}
_ROUNDS = 200  # of the correction; each shrinks what is left by the size of the errors


class SpectralModel(NamedTuple):
    """Coefficients by term with their standard errors, and what they leave.

    zero in reflectance, scale as a share, wavelength in nm (positive: the second instrument reads
    what the first reads at longer wavelengths), bandwidth in nm² (half the difference of the
    bandpasses' variances). standard_errors: of least squares, as if bands were independent.
    specimen_errors: jackknife over specimens, which makes no such assumption; trust these.
    residual: root mean square left, in reflectance.
    """

    terms: tuple[str, ...]
    coefficients: Floats
    standard_errors: Floats
    specimen_errors: Floats
    residual: float
    step: float


def _columns(spectra: Floats, step: float, terms: Sequence[str]) -> Floats:
    """What each term multiplies (n, bands, terms). At the ends from the three nearest bands."""
    slope, bend = np.empty_like(spectra), np.empty_like(spectra)
    slope[:, 1:-1] = (spectra[:, 2:] - spectra[:, :-2]) / (2.0 * step)
    bend[:, 1:-1] = (spectra[:, 2:] - 2.0 * spectra[:, 1:-1] + spectra[:, :-2]) / step**2
    bend[:, 0], bend[:, -1] = bend[:, 1], bend[:, -2]
    slope[:, 0] = slope[:, 1] - step * bend[:, 0]
    slope[:, -1] = slope[:, -2] + step * bend[:, -1]
    every = {
        "zero": np.ones_like(spectra),
        "scale": spectra,
        "wavelength": slope,
        "bandwidth": bend,
    }
    return np.stack([every[term] for term in terms], axis=2)


def _checked_spectra(
    first: npt.ArrayLike, second: npt.ArrayLike, step: float
) -> tuple[Floats, Floats]:
    """Both tables, of one shape, with five bands at least and a step above zero."""
    positive(step, "step")
    one = finite_table(first, "reference spectra")
    other = finite_table(second, "specimen spectra", one.shape[1])
    if len(one) != len(other):
        raise DomainError("specimen spectra", "shape", detail=f"{len(other)} rows for {len(one)}")
    if one.shape[1] < 5:
        raise DomainError("reference spectra", "few", detail="five bands at least expected")
    return one, other


def _checked_terms(terms: Sequence[str]) -> tuple[str, ...]:
    """The terms, each known and named once."""
    if not isinstance(terms, Sequence) or not all(isinstance(term, str) for term in terms):
        raise DomainError("terms", "type", detail=f"some of {', '.join(TERMS)} expected")
    if not terms or len(set(terms)) != len(terms) or not set(terms) <= set(TERMS):
        raise DomainError("terms", "range", detail=f"some of {', '.join(TERMS)}, each once")
    return tuple(terms)


def _refuse_inseparable(design: Floats, terms: tuple[str, ...], row: int | None) -> None:
    """Raise DomainError naming the first term that these spectra cannot tell from the others."""
    for j, term in enumerate(terms):
        others = np.delete(design, j, axis=1)
        fitted = others @ np.linalg.lstsq(others, design[:, j], rcond=None)[0]
        effect = _NATURAL[term] * float(np.sqrt(np.mean((design[:, j] - fitted) ** 2)))
        if effect < _LEAST:
            detail = f"it changes these spectra by {effect:.1e} only beyond the other terms"
            raise DomainError(term, "inseparable", row=row, detail=detail)
    unit = design / np.sqrt(np.einsum("ij,ij->j", design, design))
    _, values, turned = np.linalg.svd(unit, full_matrices=False)
    if values[0] > _INDEX * values[-1]:
        parts = (turned / values[:, None]) ** 2
        term = terms[int(np.argmax(parts[-1] / parts.sum(axis=0)))]
        detail = f"condition index {values[0] / values[-1]:.0f} is above {_INDEX:.0f}"
        raise DomainError(term, "inseparable", row=row, detail=detail)


def _solve(columns: Floats, change: Floats, terms: tuple[str, ...], row: int | None) -> Floats:
    """Least-squares coefficients over specimens and inner bands."""
    design = columns[:, 1:-1].reshape(-1, len(terms))
    _refuse_inseparable(design, terms, row)
    left = change[:, 1:-1].reshape(-1)
    return np.asarray(np.linalg.lstsq(design, left, rcond=None)[0], dtype=np.float64)


def _without_each(columns: Floats, change: Floats, terms: tuple[str, ...]) -> Floats:
    """Coefficients (n, terms) with each specimen left out in turn."""
    keep = ~np.eye(len(columns), dtype=bool)
    return np.array(
        [_solve(columns[rows], change[rows], terms, row) for row, rows in enumerate(keep)]
    )


def fit_spectral_model(
    *,
    reference: npt.ArrayLike,
    specimen: npt.ArrayLike,
    step: float,
    terms: Sequence[str] = TERMS,
) -> SpectralModel:
    """Return the model of the second instrument's errors against the first.

    reference, specimen: reflectance factors (n, bands; 1 = perfect diffuser) of the same n
    specimens with the first and the second instrument, on one grid with equal steps (nm); three
    specimens at least. terms: some of TERMS. The end bands, whose derivatives are one-sided, are
    left out of the fit.
    Raises DomainError naming row and band for NaN and infinity, "few" for too few specimens or
    bands, and "inseparable" naming the term (``what``) that these colours, or these without the
    specimen ``row``, cannot tell from the others: neutrals say nothing of wavelength.
    Source: after Berns & Petersen (1988; see the module).
    """
    one, other = _checked_spectra(reference, specimen, step)
    named = _checked_terms(terms)
    if len(one) < 3:
        raise DomainError("reference spectra", "few", detail="three specimens at least expected")
    columns, change = _columns(one, step, named), other - one
    coefficients = _solve(columns, change, named, None)
    each = _without_each(columns, change, named)
    design = columns[:, 1:-1].reshape(-1, len(named))
    left = change[:, 1:-1].reshape(-1) - np.einsum("ij,j->i", design, coefficients)
    variance = np.einsum("i,i->", left, left) / (len(left) - len(named))
    root = np.linalg.pinv(design)
    off = each - each.mean(axis=0)
    jackknife = np.einsum("nj,nj->j", off, off) * (len(one) - 1) / len(one)
    return SpectralModel(
        terms=named,
        coefficients=coefficients,
        standard_errors=np.sqrt(variance * np.einsum("ji,ji->j", root, root)),
        specimen_errors=np.sqrt(jackknife),
        residual=float(np.sqrt(np.mean(left**2))),
        step=float(step),
    )


def predict(model: SpectralModel, reference: npt.ArrayLike) -> Floats:
    """Return what the second instrument would read (n, bands) where the first reads ``reference``.

    Raises DomainError for NaN, infinity and fewer than five bands. Source: as the module.
    """
    one, _ = _checked_spectra(reference, reference, model.step)
    columns = _columns(one, model.step, model.terms)
    result: Floats = one + np.einsum("nkj,j->nk", columns, model.coefficients)
    return result


def correct(model: SpectralModel, specimen: npt.ArrayLike) -> Floats:
    """Return what the first instrument would have read (n, bands) for the second's ``specimen``.

    The inverse of ``predict``, by repeated substitution.
    Raises DomainError as ``predict`` does, and "range" where the errors are so large that the
    substitution does not settle. Source: as the module.
    """
    other, _ = _checked_spectra(specimen, specimen, model.step)
    found = other
    for _ in range(_ROUNDS):
        left = other - predict(model, found)
        found = found + left
        largest = float(np.abs(left).max(initial=0.0))
        if largest < 1e-13 * max(1.0, float(np.abs(other).max(initial=0.0))):
            return found
        if not np.isfinite(largest) or largest > 1e3:
            break
    raise DomainError("specimen spectra", "range", detail="the model cannot be inverted here")


class Check(NamedTuple):
    """Root mean square difference of the two instruments (n,), as read and after the model."""

    before: Floats
    after: Floats


def _root_mean_square(table: Floats) -> Floats:
    result: Floats = np.sqrt(np.einsum("nk,nk->n", table, table) / table.shape[1])
    return result


def check_model(
    model: SpectralModel, *, reference: npt.ArrayLike, specimen: npt.ArrayLike
) -> Check:
    """Return how far a model carries to other pairs (n, bands), such as far colours.

    Raises DomainError as ``fit_spectral_model`` does. Common practice, no published source.
    """
    one, other = _checked_spectra(reference, specimen, model.step)
    return Check(_root_mean_square(other - one), _root_mean_square(other - predict(model, one)))


def leave_one_out(
    *,
    reference: npt.ArrayLike,
    specimen: npt.ArrayLike,
    step: float,
    terms: Sequence[str] = TERMS,
) -> Check:
    """Return for each specimen how well the model fitted to all the others serves it.

    Arguments and errors as ``fit_spectral_model``.
    Source: cross-validation, Stone, J. R. Stat. Soc. B 36 (1974; from memory).
    """
    one, other = _checked_spectra(reference, specimen, step)
    named = _checked_terms(terms)
    if len(one) < 3:
        raise DomainError("reference spectra", "few", detail="three specimens at least expected")
    columns, change = _columns(one, step, named), other - one
    each = _without_each(columns, change, named)
    left = change - np.einsum("nkj,nj->nk", columns, each)
    return Check(_root_mean_square(change), _root_mean_square(left))
