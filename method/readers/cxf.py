"""Reader for CxF3 (ISO 17972): objects with spectra and colours, each under its specification.

The step of a spectrum stands only in the WavelengthRange of the specification that the spectrum
names; files hold several. Spectra of one quantity, specification and range make one table, one
reading each. Resources of other makers are left alone, and said. Reflectances and transmittances
are factors by the schema (100 % is written 1.0, values between -0.1 and 3): only values above that
put it in doubt.

Source: the published CxF3-core schema (ISO 17972-1), as its binding in colour-cxf documents it.
"""

from __future__ import annotations

from collections import Counter

import numpy as np

from method.packed import MAX_LABEL
from method.readers.cxf_objects import (
    SPECTRA,
    Colours,
    Item,
    Key,
    Known,
    Reading,
    colours_of,
    items,
    spectra,
    stated,
)
from method.readers.cxf_specification import specifications
from method.readers.errors import ReadError
from method.readers.found import Contents, Found, no_spectra
from method.readers.values import Note
from method.readers.xml import Element, parse

NAMESPACE = "http://colorexchangeformat.com/CxF3-core"
LARGEST_FACTOR = 3.0  # of the schema; what is above is no factor


def read_cxf(data: bytes, name: str) -> Contents:
    """Return the tables of a CxF3 file: those with spectra first, then those of colours alone.

    An object without values is said, not failed; a file in which no object has any gives one
    table without spectra and colours. Raises ReadError, with line and column, for XML that is no
    CxF3 or is broken, cut or over the limits, for ambiguous or missing specifications, and for
    numbers that are none.
    """
    document = parse(data, name, lambda *found: _check_root(name, *found))
    resources, *further = document.root.all("Resources") or [Element("Resources", {}, 1, 1)]
    known = specifications(resources, name)
    objects, notes = items(resources, name)
    if not objects:
        raise ReadError("cxf-no-objects", name, line=document.root.line)
    if further:
        params = {"count": str(len(further)), "line": str(further[0].line)}
        notes.append(("cxf-resources-left", params))
    if document.foreign:
        count = str(sum(document.foreign.values()))
        notes.append(("foreign-left", {"count": count}))
    readings, left = spectra(objects, known, name)
    tables = [_spectral(key, found, known, name) for key, found in readings.items()]
    measured = {id(reading.item) for found in readings.values() for reading in found}
    rest = [one for one in objects if id(one) not in measured]
    tables += _colours_alone(rest, known, name)
    if not tables:
        labels, lines = zip(*((one.label, one.line) for one in objects), strict=True)
        tables = [Found("", "unknown", (), labels, no_spectra(len(objects)), lines=lines)]
    return Contents("cxf3", tuple(tables), (*notes, *left, *_unequal(readings)))


def _check_root(name: str, namespace: str, local: str, line: int, column: int) -> None:
    """Raise ReadError unless the root element is that of CxF3."""
    if local != "CxF":
        params = {"found": local[:40], "expected": "CxF"}
        raise ReadError("xml-root", name, line=line, column=column, params=params)
    if namespace != NAMESPACE:
        params = {"found": namespace[:80] or "-", "expected": NAMESPACE}
        raise ReadError("xml-namespace", name, line=line, column=column, params=params)


def _spectral(key: Key, readings: list[Reading], known: Known, name: str) -> Found:
    """Return the table of the spectra that share a key."""
    specification = known[key.specification]
    values = np.array([one.values for one in readings])
    notes = list(specification.notes)
    factor = key.quantity in ("reflectance", "transmittance")
    if factor and values.max() > LARGEST_FACTOR:
        notes.append(("cxf-above-factor", {"largest": f"{values.max():g}"}))
        factor = False
    if key.quantity == "unknown":
        notes.append(("cxf-kind-unsaid", {"id": key.specification[:40]}))
    start = specification.start
    if start is not None and start != key.wavelengths[0]:
        params = {"stated": f"{start:g}", "found": f"{key.wavelengths[0]:g}"}
        notes.append(("cxf-start-disagrees", params))
    labels = tuple(one.item.label for one in readings)
    repeated = sum(count > 1 for count in Counter(labels).values())
    if repeated:
        notes.append(("repeated-labels", {"count": str(repeated)}))
    rows, unmatched = _colours(readings, key.specification, name)
    return Found(
        name=key.specification[:MAX_LABEL],
        quantity=key.quantity,
        wavelengths=key.wavelengths,
        labels=labels,
        values=values,
        lines=tuple(one.item.line for one in readings),
        kinds=tuple(one.item.kind for one in readings),
        columns=tuple(f"{nm:g}" for nm in key.wavelengths),
        header_line=specification.line,
        scale="factor" if factor else None,
        condition=specification.pieces,
        stated=stated(rows, known),
        notes=(*notes, *unmatched),
    )


def _colours(readings: list[Reading], own: str, name: str) -> tuple[list[Colours], list[Note]]:
    """Return the colours that belong to each reading.

    An object's colours under the spectrum's own specification belong to it, in their order; those
    under another one where the object has a single spectrum. The others are said.
    """
    rows: list[Colours] = []
    unmatched: dict[int, str] = {}
    for reading in readings:
        single = sum(one.name in SPECTRA for one in reading.item.values) == 1
        row: Colours = {}
        for place, colours in colours_of(reading.item, name).items():
            order = reading.order if place[1] == own else 0
            if (place[1] == own or single) and order < len(colours):
                row[place] = colours[order]
            else:
                unmatched[id(reading.item)] = reading.item.label
        rows.append(row)
    if not unmatched:
        return rows, []
    params = {"count": str(len(unmatched)), "label": next(iter(unmatched.values()))}
    return rows, [("cxf-colours-unmatched", params)]


def _colours_alone(objects: list[Item], known: Known, name: str) -> list[Found]:
    """Return the tables of objects that state colours but have no spectra, by specification."""
    groups: dict[str, list[tuple[Item, Colours]]] = {}
    for item in objects:
        found = colours_of(item, name)
        for id in dict.fromkeys(id for _, id in found):
            own = {place: colours for place, colours in found.items() if place[1] == id}
            for order in range(max(map(len, own.values()))):
                row = {place: all[order] for place, all in own.items() if order < len(all)}
                groups.setdefault(id, []).append((item, row))
    return [_colour_table(id, group, known) for id, group in groups.items()]


def _colour_table(id: str, group: list[tuple[Item, Colours]], known: Known) -> Found:
    """Return a table without spectra."""
    specification = known.get(id)
    return Found(
        name=id[:MAX_LABEL],
        quantity=(specification.measured if specification else None) or "unknown",
        wavelengths=(),
        labels=tuple(item.label for item, _ in group),
        values=no_spectra(len(group)),
        lines=tuple(item.line for item, _ in group),
        condition=specification.pieces if specification else (),
        stated=stated([row for _, row in group], known),
        notes=specification.notes if specification else (),
    )


def _unequal(readings: dict[Key, list[Reading]]) -> list[Note]:
    """Return the note that spectra of one specification have different numbers of values."""
    lengths: dict[str, set[int]] = {}
    for key in readings:
        lengths.setdefault(key.specification, set()).add(len(key.wavelengths))
    return [
        ("cxf-lengths-differ", {"id": id[:40], "lengths": ", ".join(map(str, sorted(found)))[:80]})
        for id, found in lengths.items()
        if len(found) > 1
    ]
