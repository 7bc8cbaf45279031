"""Special metamerism index: a pair that matches under one condition, seen under another.

A condition is an illuminant, or a measured lamp, with a colorimetric observer. Under the *agreed*
condition the pair should match; what mismatch is left there is taken out of the specimen
(the correction), and the difference that remains under the *test* condition is the index. Nothing
is adapted chromatically: each condition's colours stand against its own white.

The index means little where the pair does not match to begin with: the difference under the
agreed condition is always reported beside it. Indices of different formulas are not comparable.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from colorimetry.arrays import Floats, finite_table, positive
from colorimetry.difference import checked_pair
from colorimetry.difference_formulas import difference
from colorimetry.errors import DomainError
from colorimetry.tristimulus import lab, xyz
from colorimetry.weights import Grid, diffuser, weights

ADDITIVE, MULTIPLICATIVE = "additive", "multiplicative"
# A specimen's value below this is too near to zero to be divided by: an error of 0.05 units then
# moves the ratio by a tenth. This project's own choice, no published source.
SMALLEST_DIVISOR = 0.5


class Condition(NamedTuple):
    """A light with a colorimetric observer: its name, and its weights (3, bands)."""

    name: str
    weights: Floats


class UnderBoth(NamedTuple):
    """The same thing under the agreed and under the test condition: (n, 3) or (3,) each."""

    agreed: npt.ArrayLike
    test: npt.ArrayLike


@dataclass(frozen=True, eq=False)
class Metamerism:
    """The index (n,), and the difference (n,) that the pair has under the agreed condition.

    formula, parameters, correction: what both were computed with; a report names all three.
    """

    index: Floats
    agreed_difference: Floats
    formula: str
    parameters: Mapping[str, float | str]
    correction: str


def condition(illuminant: str, observer: int, grid: Grid) -> Condition:
    """Return the condition of a tabulated illuminant; GridError where no weights exist."""
    return Condition(f"{illuminant}/{observer}", weights(illuminant, observer, grid))


def _corrected(
    reference_agreed: Floats,
    specimen: tuple[Floats, Floats],
    correction: str,
    divisor: Floats,
    smallest: float,
    what: str,
) -> Floats:
    """Return the specimen under the test condition, freed from the mismatch under the agreed one.

    specimen: under the agreed and under the test condition.
    divisor: what must not lie below ``smallest`` for the multiplicative correction.
    """
    agreed, test = specimen
    if correction == ADDITIVE:
        return test - (agreed - reference_agreed)
    if correction != MULTIPLICATIVE:
        raise DomainError("correction", "range", detail=f"{ADDITIVE} or {MULTIPLICATIVE} expected")
    positive(smallest, "smallest divisor")
    small = divisor < smallest
    if small.any():
        row, band = (int(i) for i in np.argwhere(small)[0])
        detail = f"{float(agreed[row, band])!r} is too near to zero to be divided by"
        what = f"specimen {what} under the agreed condition"
        raise DomainError(what, "near_zero", row=row, band=band, detail=detail)
    return test * (reference_agreed / agreed)


def _index(
    reference: UnderBoth,
    specimen: UnderBoth,
    corrected: Floats,
    correction: str,
    formula: str,
    parameters: Mapping[str, float | str],
) -> Metamerism:
    """Return the result from CIELAB colours under both conditions and the corrected specimen."""
    return Metamerism(
        difference(formula, reference=reference.test, specimen=corrected, **parameters),
        difference(formula, reference=reference.agreed, specimen=specimen.agreed, **parameters),
        formula,
        dict(parameters),
        correction,
    )


def index_from_lab(
    *,
    reference: UnderBoth,
    specimen: UnderBoth,
    correction: str = ADDITIVE,
    smallest_divisor: float = SMALLEST_DIVISOR,
    formula: str = "CIELAB",
    **parameters: float | str,
) -> Metamerism:
    """Return the index of specimens (n, 3) against references (n, 3) or (1, 3), in CIELAB.

    reference, specimen: CIELAB under both conditions, each against its own white.
    correction: additive, which is recommended in CIELAB; or multiplicative, refused where a
    specimen's L*, a* or b* is nearer to zero than smallest_divisor.
    formula, parameters: as in ``difference``; dE*ab unless stated otherwise.
    Raises DomainError for other corrections, naming row and band of a divisor near zero, and as
    ``difference`` does.
    Source: CIE 15 (special metamerism index: change in illuminant; clause from memory, check your
    copy); ISO 18314-4, as cited by colour 0.4.7.
    """
    first_agreed, first_test = _pairwise(reference, "reference")
    agreed, test = _pairwise(specimen, "specimen")
    corrected = _corrected(
        checked_pair(first_agreed, agreed)[0],
        (agreed, test),
        correction,
        np.abs(agreed),
        smallest_divisor,
        "Lab",
    )
    return _index(
        UnderBoth(first_agreed, first_test),
        UnderBoth(agreed, test),
        corrected,
        correction,
        formula,
        parameters,
    )


def _pairwise(thing: UnderBoth, what: str) -> tuple[Floats, Floats]:
    """Return both tables (n, 3) checked and equally long."""
    one = finite_table(thing.agreed, f"{what} under the agreed condition", 3)
    other = finite_table(thing.test, f"{what} under the test condition", 3)
    if one.shape != other.shape:
        detail = f"{len(one)} rows under the agreed, {len(other)} under the test condition"
        raise DomainError(what, "shape", detail=detail)
    return one, other


def index_from_xyz(
    *,
    reference: UnderBoth,
    specimen: UnderBoth,
    whites: UnderBoth,
    correction: str = MULTIPLICATIVE,
    smallest_divisor: float = SMALLEST_DIVISOR,
    formula: str = "CIELAB",
    **parameters: float | str,
) -> Metamerism:
    """Return the index of specimens (n, 3) against references (n, 3) or (1, 3), in XYZ.

    reference, specimen: XYZ (perfect diffuser Y = 100) under both conditions; whites: (3,) each.
    correction: multiplicative, which is recommended in XYZ, refused where a specimen's X, Y or Z
    is below smallest_divisor (near black, or no light of that part); or additive.
    formula, parameters: as in ``difference``; dE*ab unless stated otherwise.
    Raises DomainError for other corrections, naming row and band of a divisor near zero, and as
    ``lab`` and ``difference`` do. Source: as ``index_from_lab``.
    """
    first_agreed, first_test = _pairwise(reference, "reference")
    agreed, test = _pairwise(specimen, "specimen")
    if len(first_agreed) not in (1, len(agreed)):
        detail = f"{len(first_agreed)} references for {len(agreed)} specimens"
        raise DomainError("reference", "shape", detail=detail)
    corrected = _corrected(
        first_agreed, (agreed, test), correction, agreed, smallest_divisor, "XYZ"
    )
    return _index(
        _labs(UnderBoth(first_agreed, first_test), whites),
        _labs(UnderBoth(agreed, test), whites),
        lab(corrected, whites.test),
        correction,
        formula,
        parameters,
    )


def refuse_fluorescence(reflectance: npt.ArrayLike, what: str, fluorescent: bool | None) -> None:
    """Raise DomainError where a reading (n, bands; 1 = perfect diffuser) is or may be fluorescent.

    fluorescent: what is known of the reading. True is refused; None (not known) is refused where a
    factor is above 1, which hints at it, naming row and band; False is taken as stated.
    Common practice, no published source.
    """
    if fluorescent:
        detail = "a reading under one light says nothing about another light"
        raise DomainError(what, "fluorescent", detail=detail)
    if fluorescent is None:
        above = np.argwhere(finite_table(reflectance, what) > 1.0)
        if len(above):
            row, band = (int(i) for i in above[0])
            detail = "a factor above 1 hints at fluorescence: state whether there is any"
            raise DomainError(what, "fluorescent", row=row, band=band, detail=detail)


def metamerism(
    *,
    reference: npt.ArrayLike,
    specimen: npt.ArrayLike,
    agreed: Condition,
    test: Condition,
    fluorescent: bool | None,
    correction: str = MULTIPLICATIVE,
    smallest_divisor: float = SMALLEST_DIVISOR,
    formula: str = "CIELAB",
    **parameters: float | str,
) -> Metamerism:
    """Return the index of reflectances (n, bands) against references (n, bands) or (1, bands).

    agreed, test: the two conditions. Another illuminant with the same colorimetric observer gives
    the index for a change of illuminant; the same illuminant with the other observer, that for a
    change of colorimetric observer; the weights of a measured lamp, the pair as that lamp shows it.
    fluorescent: what is known of the readings, see ``refuse_fluorescence``.
    correction: multiplicative (in XYZ) or additive (in CIELAB), as recommended.
    smallest_divisor, formula, parameters: as in ``index_from_xyz``.
    Each white is the sum of the condition's own weights.
    Raises DomainError as ``refuse_fluorescence``, ``xyz`` and ``index_from_xyz`` do.
    Source: CIE 15 (special metamerism indices; clause from memory, check your copy);
    ISO 18314-4, as cited by colour 0.4.7.
    """
    bands = finite_table(agreed.weights, f"weights of {agreed.name}").shape[1]
    finite_table(test.weights, f"weights of {test.name}", bands)
    tables = {"reference reflectance": reference, "specimen reflectance": specimen}
    for what, table in tables.items():
        finite_table(table, what, bands)
        refuse_fluorescence(table, what, fluorescent)
    both = (agreed, test)
    whites = UnderBoth(*(diffuser(part.weights) for part in both))
    first = UnderBoth(*(xyz(reference, part.weights) for part in both))
    second = UnderBoth(*(xyz(specimen, part.weights) for part in both))
    if correction == ADDITIVE:
        return index_from_lab(
            reference=_labs(first, whites),
            specimen=_labs(second, whites),
            correction=correction,
            formula=formula,
            smallest_divisor=smallest_divisor,
            **parameters,
        )
    return index_from_xyz(
        reference=first,
        specimen=second,
        whites=whites,
        correction=correction,
        smallest_divisor=smallest_divisor,
        formula=formula,
        **parameters,
    )


def _labs(tristimulus: UnderBoth, whites: UnderBoth) -> UnderBoth:
    """Return the CIELAB colours of XYZ under both conditions."""
    return UnderBoth(lab(tristimulus.agreed, whites.agreed), lab(tristimulus.test, whites.test))
