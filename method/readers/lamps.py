"""Reader for the spectrum of a light: IES TM-27 (XML) and the two-column text of meters.

``read_lamp`` gives the light itself, on the wavelengths as they are (steps of lamps are uneven);
``read_contents`` gives the same as the front of the readers takes it. Light is never a surface:
files of reflectance, transmittance and absorptance are refused.
"""

from __future__ import annotations

from dataclasses import dataclass

from method.packed import MAX_LABEL
from method.readers.found import Contents, Found
from method.readers.lamp_text import read_text
from method.readers.light import Spectrum, checked
from method.readers.text import decode
from method.readers.tm27 import read_tm27
from method.readers.values import Floats, Note
from method.readers.xml import looks_like_xml

_TITLES = ("description", "title", "name", "memo")


@dataclass(frozen=True, eq=False)
class Lamp:
    """The spectrum of a light.

    format: ``tm27`` or ``lamp-text``. wavelengths: (n,) nm, rising, as written; values: (n,) of
    the same order, neither scaled nor normalised. quantity: ``irradiance``, ``relative``, ... or
    None where the file does not say; unit: as the file writes it, or None. header: what else it
    says, pairs in its order. bandwidth: full width at half maximum in nm, and whether the values
    are corrected for it; None where unsaid. line: of the first value. notes: ids of
    words.ODDITIES with their parameters.
    """

    format: str
    wavelengths: Floats
    values: Floats
    quantity: str | None
    unit: str | None
    header: tuple[tuple[str, str], ...]
    bandwidth: float | None
    bandwidth_corrected: bool | None
    line: int
    notes: tuple[Note, ...]

    @property
    def title(self) -> str:
        """What a person would call it: the header's description, or nothing."""
        said = {key.lower(): value for key, value in reversed(self.header) if value}
        return next((said[key][:MAX_LABEL] for key in _TITLES if key in said), "")


def read_lamp(data: bytes, name: str) -> Lamp:
    """Return the light that a TM-27 or two-column text file holds.

    Raises ReadError naming line and column for what is no such file and no light, for what is
    cut or out of order, and for wavelengths outside 100 to 3000 nm.
    """
    if looks_like_xml(data):
        return _lamp("tm27", read_tm27(data, name), name)
    decoded = decode(data, name)
    spectrum = read_text(decoded.text, name)
    if decoded.guessed:
        spectrum.notes.insert(0, ("encoding-guessed", {"encoding": decoded.encoding}))
    return _lamp("lamp-text", spectrum, name)


def _lamp(format: str, spectrum: Spectrum, name: str) -> Lamp:
    """Return the checked spectrum as a light."""
    wavelengths, values, notes = checked(spectrum, name)
    for array in (wavelengths, values):
        array.setflags(write=False)
    return Lamp(
        format=format,
        wavelengths=wavelengths,
        values=values,
        quantity=spectrum.quantity,
        unit=spectrum.unit,
        header=tuple(spectrum.header),
        bandwidth=spectrum.bandwidth,
        bandwidth_corrected=spectrum.corrected,
        line=min(spectrum.lines),
        notes=(*spectrum.notes, *notes),
    )


def read_contents(data: bytes, name: str) -> Contents:
    """Return a lamp's file as one table of emission: one reading, named by the file's title."""
    lamp = read_lamp(data, name)
    text = lamp.format == "lamp-text"
    table = Found(
        name=lamp.title,
        quantity="emission",
        wavelengths=tuple(lamp.wavelengths.tolist()),
        labels=(lamp.title or "1",),
        values=lamp.values.reshape(1, -1),
        layout="columns" if text else "objects",
        lines=(2 if text else lamp.line,),
        columns=tuple(f"{nm:g}" for nm in lamp.wavelengths),
        notes=lamp.notes,
    )
    return Contents(lamp.format, (table,))
