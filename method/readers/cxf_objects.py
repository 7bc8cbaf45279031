"""CxF3: the objects of a file, their spectra by what they share, and the colours they state.

Source: the published CxF3-core schema (ISO 17972-1), as its binding in colour-cxf documents it.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from method.packed import MAX_LABEL
from method.readers.cxf_specification import Specification
from method.readers.decimals import element_number, element_numbers
from method.readers.errors import ReadError
from method.readers.found import Stated
from method.readers.table import labelled
from method.readers.values import Floats, Note
from method.readers.xml import Element

LEAST_BANDS, MOST_BANDS = 8, 2_000
SHORTEST, LONGEST = 200.0, 1100.0  # nm
SPECTRA = {
    "ReflectanceSpectrum": "reflectance",
    "TransmittanceSpectrum": "transmittance",
    "EmissiveSpectrum": "emission",
    "CustomSpectrum": None,  # points of any kind: its specification says which
}
_COLOURS = {
    "ColorCIELab": ("lab", ("L", "A", "B")),
    "ColorCIELCh": ("lch", ("L", "C", "H")),
    "ColorCIEXYZ": ("xyz", ("X", "Y", "Z")),
}
Known = Mapping[str, Specification]
Colours = dict[tuple[str, str], tuple[float, float, float]]  # by space and specification


@dataclass(frozen=True, eq=False)
class Item:
    """One object: its label, its line, the elements of its colour values, what it says it is."""

    label: str
    line: int
    values: tuple[Element, ...]
    kind: str = ""


class Key(NamedTuple):
    """What the spectra of one table share: specification, quantity, wavelengths in nm."""

    specification: str
    quantity: str
    wavelengths: tuple[float, ...]


class Reading(NamedTuple):
    """One spectrum of an object; order: its place among the object's of one specification."""

    item: Item
    order: int
    values: Floats


def items(resources: Element, name: str) -> tuple[list[Item], list[Note]]:
    """Return the objects in their order, and what is odd about ids and missing values."""
    found = [one for group in resources.all("ObjectCollection") for one in group.all("Object")]
    objects = [_item(one, number, name) for number, one in enumerate(found, 1)]
    notes: list[Note] = []
    ids = Counter(one.attributes.get("Id", "") for one in found)
    missing = ids.pop("", 0)
    if missing:
        notes.append(("cxf-id-missing", {"count": str(missing)}))
    twice = [id for id, count in ids.items() if count > 1]
    if twice:
        notes.append(("cxf-id-twice", {"count": str(len(twice)), "id": twice[0][:40]}))
    empty = [one for one in objects if not one.values]
    if empty:
        params = {"count": str(len(empty)), "label": empty[0].label}
        notes.append(("cxf-no-values", params))
    return objects, notes


def _item(element: Element, number: int, name: str) -> Item:
    """Return an object: called by its name, or else its id, or else its number."""
    given = (element.attributes.get("Name", ""), element.attributes.get("Id", ""), str(number))
    label = labelled(next(one for one in given if one.strip()))
    if len(label) > MAX_LABEL:
        params = {"size": str(len(label)), "limit": str(MAX_LABEL)}
        line, column = element.line, element.column
        raise ReadError("label-too-long", name, line=line, column=column, params=params)
    values = [one for group in element.all("ColorValues") for one in group.children]
    kind = element.attributes.get("ObjectType", "").strip().lower()
    return Item(label, element.line, tuple(values), kind)


def spectra(
    objects: Iterable[Item], known: Known, name: str
) -> tuple[dict[Key, list[Reading]], list[Note]]:
    """Return the spectra by what they share, and what was left out: private and short ones.

    Raises ReadError, with line and column, where a spectrum's specification, its range or one of
    its numbers is missing or faulty.
    """
    tables: dict[Key, list[Reading]] = {}
    left: dict[str, list[str]] = {}
    for item in objects:
        orders: Counter[str] = Counter()
        for element in item.values:
            if element.name == "PrivateSpectrum":
                left.setdefault("cxf-private", []).append(item.label)
            if element.name not in SPECTRA:
                continue
            specification = _specification(element, known, name)
            wavelengths, values = _points(element, specification, name)
            if len(values) < LEAST_BANDS:
                left.setdefault("cxf-short", []).append(item.label)
                continue
            key = Key(specification.id, _quantity(element, specification), wavelengths)
            tables.setdefault(key, []).append(Reading(item, orders[key.specification], values))
            orders[key.specification] += 1
    notes = [(id, {"count": str(len(labels)), "label": labels[0]}) for id, labels in left.items()]
    return tables, notes


def _specification(element: Element, known: Known, name: str) -> Specification:
    """Return the specification that a spectrum names, or raise ReadError where there is none."""
    id = element.attributes.get("ColorSpecification", "")
    if id not in known:
        params = {"id": id[:40] or "-"}
        line, column = element.line, element.column
        raise ReadError("cxf-specification-missing", name, line=line, column=column, params=params)
    return known[id]


def _quantity(element: Element, specification: Specification) -> str:
    """Return what a spectrum is: its element says so, unless the specification knows better.

    An element for surfaces under a specification for light holds light, and so for transmittance.
    """
    quantity = SPECTRA[element.name]
    if quantity in (None, "reflectance"):
        quantity = specification.measured or quantity or "unknown"
    return quantity


def _points(
    element: Element, specification: Specification, name: str
) -> tuple[tuple[float, ...], Floats]:
    """Return wavelengths (nm, rising) and values of a spectrum."""
    if element.name == "CustomSpectrum":
        return _custom(element, name)
    values = element_numbers(element, name, MOST_BANDS)
    start = specification.start
    if "StartWL" in element.attributes:
        start = element_number(element, element.attributes["StartWL"], name, "StartWL")
    if start is None or specification.increment is None:
        params = {"id": specification.id[:40]}
        line, column = element.line, element.column
        raise ReadError("cxf-range-missing", name, line=line, column=column, params=params)
    increment = specification.increment
    wavelengths = _axis(start, increment, len(values))
    _check_range(wavelengths, element, name)
    return wavelengths, values


@lru_cache(maxsize=64)
def _axis(start: float, increment: float, bands: int) -> tuple[float, ...]:
    """Return wavelengths in even steps: most spectra of a file have the same."""
    return tuple(start + increment * band for band in range(bands))


def _custom(element: Element, name: str) -> tuple[tuple[float, ...], Floats]:
    """Return wavelengths and values of a spectrum that is written point by point."""
    points = sorted(
        (
            element_number(one, one.attributes.get("WL", ""), name, "WL"),
            element_number(one, one.text, name),
        )
        for one in element.all("SpectralPoint")[:MOST_BANDS]
    )
    for before, after in pairwise(points):
        if before[0] == after[0]:
            params = {"wavelength": f"{after[0]:g}"}
            line, column = element.line, element.column
            raise ReadError("wavelength-twice", name, line=line, column=column, params=params)
    wavelengths = tuple(nm for nm, _ in points)
    _check_range(wavelengths, element, name)
    return wavelengths, np.array([value for _, value in points])


def _check_range(wavelengths: tuple[float, ...], element: Element, name: str) -> None:
    """Raise ReadError for wavelengths that no surface is measured at: the step is wrong."""
    if wavelengths and not (wavelengths[0] >= SHORTEST and wavelengths[-1] <= LONGEST):
        params = {"first": f"{wavelengths[0]:g}", "last": f"{wavelengths[-1]:g}"}
        line, column = element.line, element.column
        raise ReadError("cxf-range", name, line=line, column=column, params=params)


def colours_of(item: Item, name: str) -> dict[tuple[str, str], list[tuple[float, float, float]]]:
    """Return the colours an object states, by space (lab, lch, xyz) and specification's id."""
    found: dict[tuple[str, str], list[tuple[float, float, float]]] = {}
    for element in item.values:
        if element.name not in _COLOURS:
            continue
        space, letters = _COLOURS[element.name]
        numbers = []
        for letter in letters:
            child = element.child(letter)
            place = child if child is not None else element
            text = child.text if child is not None else ""
            numbers.append(element_number(place, text, name, letter))
        one, two, three = numbers
        id = element.attributes.get("ColorSpecification", "")
        found.setdefault((space, id), []).append((one, two, three))
    return found


def stated(rows: Sequence[Colours], known: Known) -> tuple[Stated, ...]:
    """Return the colours of readings (one row each) as the front takes them.

    Where chroma and hue stand beside a* and b*, they are kept as stated; where they stand alone,
    a* and b* are computed from them.
    """
    places = dict.fromkeys(place for row in rows for place in row)
    result = []
    for space, id in places:
        if space == "lch" and ("lab", id) in places:
            continue
        values = _column(rows, (space, id))
        fields: tuple[str, ...] = next(names for one, names in _COLOURS.values() if one == space)
        polar = None
        if space == "lch":
            hue = np.array([math.radians(h) for h in values[:, 2]])
            a, b = values[:, 1] * np.cos(hue), values[:, 1] * np.sin(hue)
            values = np.stack([values[:, 0], a, b], axis=1)
        elif space == "lab" and ("lch", id) in places:
            polar = _column(rows, ("lch", id))[:, 1:]
        specification = known.get(id)
        illuminant = specification.illuminant if specification else None
        observer = specification.observer if specification else None
        kind = "xyz" if space == "xyz" else "lab"
        result.append(Stated(kind, values, fields, illuminant, observer, polar))
    return tuple(result)


def _column(rows: Sequence[Colours], place: tuple[str, str]) -> np.ndarray:
    """Return one colour of every row, NaN where a row has none."""
    nothing = (math.nan, math.nan, math.nan)
    return np.array([row.get(place, nothing) for row in rows], dtype=np.float64)
