"""CxF3: what a colour specification says of how its values were measured and computed.

Source: the published CxF3-core schema (ISO 17972-1), elements and enumerations as the schema's
binding in colour-cxf documents them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from method.readers.decimals import element_number
from method.readers.errors import ReadError
from method.readers.found import Piece
from method.readers.values import Note
from method.readers.xml import Element

_OBSERVERS = {"2_Degree": "2", "10_Degree": "10"}
_SPHERE = {"Specular_Included": "included", "Specular_Excluded": "excluded"}
_FILTERS = {"Filter_None": "included", "Filter_UVExcluded": "excluded"}
_APERTURE = re.compile(r"(\d{1,3}(?:[.,]\d{1,2})?)\s*(?:mm)?", re.IGNORECASE)
_M = re.compile(r"(M[0-3])_\w+")
LONGEST_WORDS = 120


@dataclass(frozen=True)
class Specification:
    """One ColorSpecification.

    start, increment: nm, of its WavelengthRange, None where it has none. measured: reflectance,
    transmittance or emission as its MeasurementType or geometry says, None where they say nothing.
    illuminant, observer: as found.Piece has them. pieces: everything stated of the measurement.
    """

    id: str
    line: int
    start: float | None
    increment: float | None
    measured: str | None
    illuminant: str | None
    observer: str | None
    pieces: tuple[Piece, ...]
    notes: tuple[Note, ...]


def specifications(resources: Element, name: str) -> dict[str, Specification]:
    """Return the specifications by id; ReadError where one id is given twice."""
    found: dict[str, Specification] = {}
    for collection in resources.all("ColorSpecificationCollection"):
        for element in collection.all("ColorSpecification"):
            one = _specification(element, name)
            if one.id in found:
                raise ReadError(
                    "cxf-specification-twice",
                    name,
                    line=one.line,
                    column=element.column,
                    params={"id": one.id[:40]},
                )
            found[one.id] = one
    return found


def _specification(element: Element, name: str) -> Specification:
    """Return what one specification says."""
    id = element.attributes.get("Id", "")
    measurement = element.child("MeasurementSpec")
    pieces = [*_light(element, id)]
    notes: list[Note] = []
    start = increment = None
    if measurement is not None:
        start, increment = _range(measurement, name)
        pieces += [*_geometry(measurement, id, name), *_device(measurement, id)]
        notes = _notes(measurement, id)
    said = {piece.key: piece.value for piece in pieces}
    return Specification(
        id=id,
        line=element.line,
        start=start,
        increment=increment,
        measured=_measured(measurement),
        illuminant=said.get("illuminant"),
        observer=said.get("observer"),
        pieces=tuple(pieces),
        notes=tuple(notes),
    )


def _range(measurement: Element, name: str) -> tuple[float | None, float | None]:
    """Return first wavelength and step in nm; ReadError for numbers that are none."""
    element = measurement.child("WavelengthRange")
    if element is None:
        return None, None
    start, increment = (
        element_number(element, element.attributes[key], name, key)
        if key in element.attributes
        else None
        for key in ("StartWL", "Increment")
    )
    if increment is not None and increment <= 0:
        params = {"increment": f"{increment:g}"}
        line, column = element.line, element.column
        raise ReadError("cxf-increment", name, line=line, column=column, params=params)
    return start, increment


def _measured(measurement: Element | None) -> str | None:
    """Return what kind of spectrum the specification is for."""
    if measurement is None:
        return None
    if measurement.find("GeometryChoice", "EmissiveMode") is not None:
        return "emission"
    said = measurement.said("MeasurementType") or ""
    for ending, quantity in (
        ("_Reflectance", "reflectance"),
        ("Transmittance", "transmittance"),
        ("_Emissive", "emission"),
    ):
        if said.endswith(ending):
            return quantity
    return None


def _piece(key: str, value: str, element: Element, id: str) -> Piece:
    text = f"{element.name} {element.text.strip()}".strip()
    return Piece(key, value, text[:LONGEST_WORDS], element.line, id[:LONGEST_WORDS] or None)


def _light(specification: Element, id: str) -> Iterator[Piece]:
    """Yield illuminant and colorimetric observer that colour values were computed for."""
    illuminant = specification.find("TristimulusSpec", "Illuminant")
    if illuminant is not None and illuminant.text.strip():
        yield _piece("illuminant", illuminant.text.strip()[:LONGEST_WORDS], illuminant, id)
    custom = specification.find("TristimulusSpec", "CustomIlluminant")
    if custom is not None:
        yield _piece(
            "illuminant", custom.attributes.get("Name", "").strip() or "custom", custom, id
        )
    observer = specification.find("TristimulusSpec", "Observer")
    if observer is not None and observer.text.strip():
        said = observer.text.strip()[:LONGEST_WORDS]
        yield _piece("observer", _OBSERVERS.get(said, said), observer, id)


def _geometry(measurement: Element, id: str, name: str) -> Iterator[Piece]:
    """Yield the geometry. A sphere's angle is not stated in CxF, so none is given."""
    single = measurement.find("GeometryChoice", "SingleAngle")
    angles = [
        single.child(key) if single is not None else None
        for key in ("IlluminationAngle", "MeasurementAngle")
    ]
    if single is not None and angles[0] is not None and angles[1] is not None:
        numbers = [element_number(one, one.text, name) for one in angles if one is not None]
        how = single.said("SingleAngleConfiguration") or ""
        text = f"SingleAngle {how}".strip()[:LONGEST_WORDS]
        yield Piece("geometry", f"{numbers[0]:g}:{numbers[1]:g}", text, single.line, id or None)
    sphere = measurement.find("GeometryChoice", "SphereGeometry")
    if sphere is not None:
        said = sphere.text.strip()
        yield _piece("geometry", "sphere", sphere, id)
        if said in _SPHERE:
            yield _piece("specular", _SPHERE[said], sphere, id)
    several = measurement.find("GeometryChoice", "MultiAngle")
    if several is not None:
        yield _piece("geometry", "multi-angle", several, id)


def _device(measurement: Element, id: str) -> Iterator[Piece]:
    """Yield aperture, backing and the ultraviolet content of the instrument's light."""
    aperture = measurement.child("Aperture")
    if aperture is not None and aperture.text.strip():
        said = aperture.text.strip()[:LONGEST_WORDS]
        number = _APERTURE.fullmatch(said)
        value = f"{float(number.group(1).replace(',', '.')):g}" if number else said
        yield _piece("aperture", value, aperture, id)
    backing = measurement.child("Backing")
    if backing is not None and backing.text.strip():
        yield _piece("backing", backing.text.strip().lower()[:LONGEST_WORDS], backing, id)
    light = measurement.find("Device", "DeviceIllumination")
    mode = _M.fullmatch(light.text.strip()) if light is not None else None
    if light is not None and mode:
        yield _piece("uv", mode.group(1), light, id)
    filter = measurement.find("Device", "DeviceFilter")
    cut = _FILTERS.get(filter.text.strip()) if filter is not None else None
    # M2 is the condition without ultraviolet (ISO 13655): the filter then says the same again
    agreed = mode and (mode.group(1) == "M2") == (cut == "excluded")
    if filter is not None and cut and not agreed:
        yield _piece("uv", cut, filter, id)


def _notes(measurement: Element, id: str) -> list[Note]:
    """Return what is stated besides: calibration standard, and angles without their spectra."""
    notes: list[Note] = []
    calibration = measurement.said("CalibrationStandard")
    if calibration:
        notes.append(("cxf-calibration", {"standard": calibration[:80], "id": id[:40]}))
    several = measurement.find("GeometryChoice", "MultiAngle")
    if several is not None:
        count = str(len(several.all("BRDFAngle")))
        notes.append(("cxf-multi-angle", {"count": count, "id": id[:40]}))
    return notes
