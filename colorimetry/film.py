"""Two-constant theory of Kubelka and Munk: a film between its surface and a backing.

R is the *internal* reflectance (0 to 1) of the film over a backing, K and S its absorption and
scattering per unit of thickness (any unit, the same throughout). Measured reflectances are
corrected for the surface first (``saunderson``), the film's and the backings' alike. Tables are
(n, bands); backings may be one row for all films, thickness one number or (n,).

The theory is for matt diffuse light inside an isotropic, not fluorescent film. It does not hold for
effect pigments nor for fluorescence: that cannot be seen from two reflectances, so the caller must
refuse such films, as the terms do.

Nothing is clamped. What has no solution raises DomainError with row, band and a reason id:

====================== ===========================================================================
``darker_over_white``  the film is darker over white than over black
``hidden``             the backing hardly shows through: S cannot be found, only K/S
``a_below_one``        1 + K/S would lie below 1
``no_scattering``      no positive scattering explains both readings (q not above b)
====================== ===========================================================================

Sources: Kubelka, J. Opt. Soc. Am. 38(5):448-457 (1948); title of ISO 18314-2:2023.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, finite_table, number, real_array, within
from colorimetry.errors import DomainError

Booleans = npt.NDArray[np.bool_]
Whole = npt.NDArray[np.int32]
_OPAQUE = 1e300  # (K + S) X: more makes no difference and would overflow
REASONS = ("darker_over_white", "hidden", "a_below_one", "no_scattering")
# Over white and over black must differ by more than this for S to be sought: near the last digit
# of printed reflectances (0.1 %). This project's own choice, no published source.
LEAST_CONTRAST = 0.001
_ROUNDING = 64 * float(np.finfo(np.float64).eps)
_MOST_ROUNDING = 1e-9  # more than this below 1 is never put down to rounding


class Film(NamedTuple):
    """Absorption K and scattering S per unit of thickness, each (n, bands), from 0."""

    absorption: Floats
    scattering: Floats


class _Readings(NamedTuple):
    """Checked internal reflectances (n, bands) over two backings, and thickness (n, 1)."""

    white: Floats
    black: Floats
    white_backing: Floats
    black_backing: Floats
    thickness: Floats


def _reflectances(value: npt.ArrayLike, what: str, shape: tuple[int, int]) -> Floats:
    """Return a table of reflectances from 0 to 1 with ``shape``, one row broadcast to all."""
    table = within(finite_table(value, what, shape[1]), what, 0.0, 1.0)
    if table.shape[0] not in (1, shape[0]):
        raise DomainError(what, "shape", detail=f"1 or {shape[0]} rows expected, got {len(table)}")
    return np.broadcast_to(table, shape)


def _thicknesses(value: npt.ArrayLike, count: int, least: float) -> Floats:
    """Return thickness (n, 1) or (1, 1): finite, from ``least``, positive where that is above 0."""
    column = np.atleast_1d(real_array(value, "thickness"))
    column = finite_table(column[:, None], "thickness", 1)
    if column.shape[0] not in (1, count):
        detail = f"1 or {count} numbers expected, got {column.shape[0]}"
        raise DomainError("thickness", "shape", detail=detail)
    return within(column, "thickness", least, np.inf)


def _readings(
    over_white: npt.ArrayLike,
    over_black: npt.ArrayLike,
    white_backing: npt.ArrayLike,
    black_backing: npt.ArrayLike,
    thickness: npt.ArrayLike,
) -> _Readings:
    """Return everything checked; DomainError where the white backing is not the lighter one."""
    white = finite_table(over_white, "film over white")
    shape = (white.shape[0], white.shape[1])
    white = _reflectances(white, "film over white", shape)
    black = _reflectances(over_black, "film over black", shape)
    if np.shape(np.atleast_2d(over_black))[0] != shape[0]:
        raise DomainError("film over black", "shape", detail=f"{shape[0]} rows expected")
    first = _reflectances(white_backing, "white backing", shape)
    second = _reflectances(black_backing, "black backing", shape)
    unordered = np.argwhere(first <= second)
    if len(unordered):
        row, band = (int(i) for i in unordered[0])
        detail = "the white backing is not lighter than the black one"
        raise DomainError("white backing", "range", row=row, band=band, detail=detail)
    smallest = float(np.finfo(np.float64).tiny)
    return _Readings(white, black, first, second, _thicknesses(thickness, shape[0], smallest))


def _clear(data: _Readings) -> tuple[Booleans, Floats]:
    """Return where both backings are dimmed alike (S = 0, up to rounding), and K there."""
    forth, back = data.black * data.white_backing, data.white * data.black_backing
    clear = np.abs(forth - back) <= _ROUNDING * (forth + back)
    seen = clear & (data.white > 0.0)
    depth = -np.log(np.where(seen, data.white, 1.0) / np.where(seen, data.white_backing, 1.0))
    depth = np.where(np.abs(depth) <= _ROUNDING, 0.0, depth)
    return clear, depth / (2.0 * data.thickness)


def _a(data: _Readings, clear: Booleans) -> tuple[Floats, Booleans]:
    """Return a = 1 + K/S (1 where there is none), and where it lies below 1 beyond rounding."""
    over_white = 1.0 + data.white * data.white_backing
    over_black = 1.0 + data.black * data.black_backing
    top = over_white * (data.black - data.black_backing)
    top = top - over_black * (data.white - data.white_backing)
    bottom = 2.0 * (data.black * data.white_backing - data.white * data.black_backing)
    bottom = np.where(clear, 1.0, bottom)
    a = top / bottom
    slack = np.minimum(_ROUNDING * (over_white + over_black) / np.abs(bottom), _MOST_ROUNDING)
    below = ~clear & (a < 1.0 - slack)
    return np.where(clear | (a < 1.0), 1.0, a), below


def _scattering(data: _Readings, a: Floats) -> tuple[Floats, Booleans]:
    """Return S (0 where there is none) and where it exists."""
    on_white = np.abs(data.white - data.white_backing) >= np.abs(data.black - data.black_backing)
    film = np.where(on_white, data.white, data.black)
    backing = np.where(on_white, data.white_backing, data.black_backing)
    change = film - backing
    q = (1.0 - a * (film + backing) + film * backing) / np.where(change == 0.0, np.nan, change)
    b = np.sqrt((a - 1.0) * (a + 1.0))
    solved = q > b  # also False where q is not a number
    q = np.where(solved, q, 1.0)
    z = np.where(solved, b, 0.0) / q
    # arctanh(z)/z tends to 1 with K: the film that only scatters is no case of its own
    stretch = np.where(z == 0.0, 1.0, np.arctanh(z) / np.where(z == 0.0, 1.0, z))
    return np.where(solved, stretch / (q * data.thickness), 0.0), solved


def _solve(data: _Readings, least_contrast: float) -> tuple[Film, npt.NDArray[np.intp]]:
    """Return K and S, and for every row and band 0 or the place of its reason, counted from 1."""
    number(least_contrast, "least contrast", 0.0)
    clear, absorption = _clear(data)
    # readings of 1e-300 overflow: what is infinite or no number is then refused as no scattering
    with np.errstate(over="ignore", invalid="ignore"):
        a, below = _a(data, clear)
        scattering, solved = _scattering(data, a)
        scattering = np.where(clear, 0.0, scattering)
        absorption = np.where(clear, absorption, scattering * (a - 1.0))
    contrast = data.white - data.black
    reason = np.select(
        [
            contrast < -least_contrast,
            contrast <= least_contrast,
            below,
            np.where(clear, absorption < 0.0, ~solved),
        ],
        [1, 2, 3, 4],
        default=0,
    )
    return Film(absorption, scattering), reason


def two_backings(
    *,
    over_white: npt.ArrayLike,
    over_black: npt.ArrayLike,
    white_backing: npt.ArrayLike,
    black_backing: npt.ArrayLike,
    thickness: npt.ArrayLike,
    least_contrast: float = LEAST_CONTRAST,
) -> Film:
    """Return K and S (n, bands) of films from internal reflectances over two backings.

    over_white, over_black: (n, bands), 0 to 1; white_backing, black_backing: (n, bands) or
    (1, bands), the black one from 0, also well above it, and everywhere darker than the white one.
    thickness: one positive number or (n,); K and S are per unit of it.
    least_contrast: by which the readings must differ for S to be sought.
    Raises DomainError naming row and band: ``nan``, ``inf``, ``shape``, ``range``, and a reason id
    of this module where the theory has no answer. Nothing is clamped.
    Source: Kubelka, J. Opt. Soc. Am. 38(5):448-457 (1948).
    """
    data = _readings(over_white, over_black, white_backing, black_backing, thickness)
    film, reason = _solve(data, least_contrast)
    unsolved = np.argwhere(reason)
    if len(unsolved):
        row, band = (int(i) for i in unsolved[0])
        detail = f"{data.white[row, band]:.6g} over white, {data.black[row, band]:.6g} over black"
        problem = REASONS[int(reason[row, band]) - 1]
        raise DomainError("film", problem, row=row, band=band, detail=detail)
    return film


def reasons(
    *,
    over_white: npt.ArrayLike,
    over_black: npt.ArrayLike,
    white_backing: npt.ArrayLike,
    black_backing: npt.ArrayLike,
    thickness: npt.ArrayLike,
    least_contrast: float = LEAST_CONTRAST,
) -> npt.NDArray[np.str_]:
    """Return (n, bands) reason ids: empty where ``two_backings`` has an answer.

    For choosing bands, or for saying how many films of a set cannot be computed.
    Arguments and DomainError as in ``two_backings``, without the reason ids.
    """
    data = _readings(over_white, over_black, white_backing, black_backing, thickness)
    return np.array(("", *REASONS))[_solve(data, least_contrast)[1]]


def checked(film: Film) -> Film:
    """Return K and S as tables (n, bands) of one shape, from 0; DomainError with row and band."""
    absorption = within(finite_table(film.absorption, "absorption"), "absorption", 0.0, np.inf)
    bands = absorption.shape[1]
    scattering = within(finite_table(film.scattering, "scattering", bands), "scattering", 0, np.inf)
    if absorption.shape != scattering.shape:
        detail = f"{len(absorption)} rows of absorption, {len(scattering)} of scattering"
        raise DomainError("scattering", "shape", detail=detail)
    return Film(absorption, scattering)


def _scaled(absorption: Floats, scattering: Floats) -> tuple[Floats, Floats, Whole]:
    """Return K and S divided by a power of two, which costs no bit, and the power taken out."""
    power = np.frexp(np.maximum(absorption, scattering))[1]
    return np.ldexp(absorption, -power), np.ldexp(scattering, -power), power


def over_backing(film: Film, *, thickness: npt.ArrayLike, backing: npt.ArrayLike) -> Floats:
    """Return the internal reflectance (n, bands) of films over another backing and thickness.

    backing: (n, bands) or (1, bands), 0 to 1; thickness: one number from 0 or (n,).
    One expression for all films, also those that only absorb, only scatter or do neither.
    Raises DomainError naming row and band: ``nan``, ``inf``, ``shape``, ``range``.
    Source: Kubelka (1948), his hyperbolic solution, written with exp(-2bSX).
    """
    absorption, scattering = checked(film)
    shape = (absorption.shape[0], absorption.shape[1])
    behind = _reflectances(backing, "backing", shape)
    depth = _thicknesses(thickness, shape[0], 0.0)
    absorption, scattering, power = _scaled(absorption, scattering)
    with np.errstate(over="ignore"):
        depth = np.minimum(np.ldexp(depth, power), _OPAQUE)
    total = absorption + scattering
    rate = np.sqrt(absorption * (absorption + 2.0 * scattering))  # b S
    still = rate == 0.0
    back = np.where(still, 2.0 * depth, -np.expm1(-2.0 * rate * depth) / np.where(still, 1, rate))
    passed = np.exp(-2.0 * rate * depth)
    # (K + S) - bS as S²/((K + S) + bS): the difference itself would lose digits
    both = total + rate
    lost = scattering * (scattering / np.where(both == 0.0, 1.0, both))
    result: Floats = (scattering * back + behind * (2.0 * passed - back * lost)) / (
        1.0 + passed + (total - scattering * behind) * back
    )
    return result


def at_full_hiding(film: Film) -> Floats:
    """Return the internal reflectance (n, bands) of infinitely thick films.

    0 where a film only absorbs. Raises DomainError as ``over_backing``, and ``range`` naming row
    and band where a film neither absorbs nor scatters: it never hides. Source: Kubelka (1948).
    """
    absorption, scattering, _ = _scaled(*checked(film))
    both = absorption + scattering + np.sqrt(absorption * (absorption + 2.0 * scattering))
    nothing = np.argwhere(both == 0.0)
    if len(nothing):
        row, band = (int(i) for i in nothing[0])
        detail = "neither absorption nor scattering"
        raise DomainError("film", "range", row=row, band=band, detail=detail)
    result: Floats = scattering / both
    return result


def absorption_per_scattering(hiding: npt.ArrayLike) -> Floats:
    """Return K/S (n, bands) of internal reflectances (n, bands) at full hiding, above 0, to 1.

    All that a film which hides its backing can tell.
    Raises DomainError naming row and band. Source: Kubelka & Munk (1931; from
    memory), after Kubelka (1948).
    """
    table = finite_table(hiding, "reflectance at full hiding")
    table = within(table, "reflectance at full hiding", float(np.finfo(np.float64).tiny), 1.0)
    result: Floats = (1.0 - table) ** 2 / (2.0 * table)
    return result
