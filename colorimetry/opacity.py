"""How well a film hides: the contrast ratio, and the thickness at which hiding is reached."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, finite_table, number, within
from colorimetry.errors import DomainError
from colorimetry.film import Film, checked, over_backing

# Hiding criterion of ISO 6504-1 (its abstract: for Y above 70, not fluorescent, not metallic)
HIDING = 98.0
# Thicknesses sought for hiding, in the mean free path 1/(K + S): wide enough for films that
# absorb or scatter ten thousand times less in one band than in another
_FINEST, _LONGEST, _STEPS = 1e-4, 1e6, 401
_HALVINGS = 60


def _column(value: npt.ArrayLike, what: str, least: float) -> Floats:
    """Return (n,) finite numbers from ``least`` of one number or a row of them."""
    table = finite_table(value, what)
    if table.shape[0] != 1:
        raise DomainError(what, "shape", detail=f"one row expected, got {table.shape}")
    numbers: Floats = within(table, what, least, np.inf)[0]
    return numbers


def _luminance(value: npt.ArrayLike) -> Floats:
    """Return a Y row (bands,): its sum positive, single weights also below 0 (ASTM E2022)."""
    factors = _column(value, "luminance weights", -np.inf)
    if not float(np.einsum("k->", factors)) > 0.0:
        raise DomainError("luminance weights", "range", detail="a positive sum expected")
    return factors


def contrast_ratio(*, over_black: npt.ArrayLike, over_white: npt.ArrayLike) -> Floats:
    """Return the contrast ratio (n,) in percent from Y (n,) over black and over white.

    Y: in any scale, the same for both; state illuminant and colorimetric observer beside the
    result, and the backings: over a black chart of 1 to 5 % and an ideal black it differs.
    Above 100 where the film is lighter over black; it is not clamped.
    Raises DomainError naming the place of NaN, infinity, Y below 0 and Y over white of 0.
    Source: ISO 6504-3.
    """
    black = _column(over_black, "Y over black", 0.0)
    white = _column(over_white, "Y over white", float(np.finfo(np.float64).tiny))
    if black.shape != white.shape:
        detail = f"{len(black)} values over black, {len(white)} over white"
        raise DomainError("Y over black", "shape", detail=detail)
    return 100.0 * black / white


def contrast_ratio_of_spectra(
    *, over_black: npt.ArrayLike, over_white: npt.ArrayLike, luminance: npt.ArrayLike
) -> Floats:
    """Return the contrast ratio (n,) in percent of measured reflectances (n, bands).

    luminance: the Y row (bands,) of ``weights`` for the stated illuminant and observer.
    Raises DomainError naming row and band. Source: ISO 6504-3; ASTM E308 for Y.
    """
    factors = _luminance(luminance)
    black = finite_table(over_black, "film over black", len(factors))
    white = finite_table(over_white, "film over white", len(factors))
    return contrast_ratio(
        over_black=np.einsum("nk,k->n", black, factors),
        over_white=np.einsum("nk,k->n", white, factors),
    )


def _contrast(
    film: Film, luminance: Floats, backings: tuple[Floats, Floats], thickness: Floats
) -> Floats:
    """Return the contrast ratio (n,) of films at thickness (n,); 0 where both are black."""
    black, white = (
        np.einsum("nk,k->n", over_backing(film, thickness=thickness, backing=backing), luminance)
        for backing in backings
    )
    ratio: Floats = 100.0 * black / np.where(white > 0.0, white, np.inf)
    return ratio


def hiding_thickness(
    film: Film,
    *,
    luminance: npt.ArrayLike,
    black_backing: npt.ArrayLike,
    white_backing: npt.ArrayLike,
    contrast: float = HIDING,
) -> Floats:
    """Return the thickness (n,) from which films keep the contrast ratio.

    film: K and S (n, bands) of ``film.two_backings``; luminance: the Y row (bands,) of
    ``weights``, or 1 for a single band. Backings: internal reflectances (bands,), the white one
    lighter. contrast: in percent, above that of the bare backings and below 100.
    In one band the ratio only grows with thickness; the ratio of Y may dip where one band darkens
    before another hides, so the last crossing counts (dips within 6 % of thickness aside).
    Raises DomainError: ``range`` for contrasts and backings that do not fit, ``never_hides``
    naming the row where no thickness reaches the contrast (a film that only absorbs, a film of
    nothing). Source: Kubelka (1948); ISO 6504-1 for 98 %.
    """
    factors = _luminance(luminance)
    backings = (
        finite_table(black_backing, "black backing", len(factors)),
        finite_table(white_backing, "white backing", len(factors)),
    )
    if any(len(table) != 1 for table in backings):
        raise DomainError("backing", "shape", detail="one row each expected")
    bare = contrast_ratio_of_spectra(
        over_black=backings[0], over_white=backings[1], luminance=factors
    )[0]
    if not bare < number(contrast, "contrast") < 100.0:
        detail = f"more than that of the bare backings ({bare:.6g} %) and below 100 % expected"
        raise DomainError("contrast", "range", detail=detail)
    low, high = _bracket(checked(film), factors, backings, contrast)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        short = _contrast(film, factors, backings, middle) < contrast
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    return high


def _bracket(
    film: Film, luminance: Floats, backings: tuple[Floats, Floats], contrast: float
) -> tuple[Floats, Floats]:
    """Return two thicknesses (n,) between which the contrast is reached for the last time."""
    steps = np.append(0.0, np.geomspace(_FINEST, _LONGEST, _STEPS))
    low, high = [], []
    for row, (k, s) in enumerate(zip(film.absorption, film.scattering, strict=True)):
        densest = float(np.max(np.add(k, s)))
        trial = steps / densest if densest > 0 else steps
        many = Film(np.tile(k, (len(steps), 1)), np.tile(s, (len(steps), 1)))
        short = np.flatnonzero(_contrast(many, luminance, backings, trial) < contrast)
        if short[-1] == len(steps) - 1:
            detail = f"{contrast:g} % is not reached"
            raise DomainError("film", "never_hides", row=row, detail=detail)
        low.append(trial[short[-1]])
        high.append(trial[short[-1] + 1])
    return np.array(low), np.array(high)
