"""IES TM-27: the spectrum of a light as XML.

Source: IES TM-27-14; names of elements and quantities as in the published examples that
colour-science carries. No later edition was at hand: its root element is refused by name.
"""

from __future__ import annotations

from method.readers.decimals import element_number
from method.readers.errors import ReadError
from method.readers.light import Spectrum
from method.readers.xml import Element, parse

ROOT = "IESTM2714"
NAMESPACES = ("iestm2714", "http://www.ies.org/iestm2714")
LIGHT = ("exitance", "flux", "intensity", "irradiance", "radiance", "relative")
NOT_LIGHT = ("absorptance", "reflectance", "transmittance", "r-factor", "t-factor")


def read_tm27(data: bytes, name: str) -> Spectrum:
    """Return the spectrum of a TM-27 file, not yet checked for order and range.

    quantity: None where the file says ``other``, nothing, or a word that TM-27 does not know.
    Raises ReadError for other XML, for quantities that are no light, and for faulty numbers.
    """
    document = parse(data, name, lambda *found: _check_root(name, *found))
    root = document.root
    body = root.child("SpectralDistribution")
    points = body.all("SpectralData") if body is not None else []
    if body is None or not points:
        place = body or root
        raise ReadError("lamp-no-spectrum", name, line=place.line, column=place.column)
    said = _quantity(body, name)
    corrected = (body.said("BandwidthCorrected") or "").lower()
    spectrum = Spectrum(
        wavelengths=[
            element_number(one, one.attributes.get("wavelength", ""), name, "wavelength")
            for one in points
        ],
        values=[element_number(one, one.text, name) for one in points],
        lines=[one.line for one in points],
        header=_header(root),
        quantity=said if said in LIGHT else None,
        bandwidth=_optional_number(body.child("BandwidthFWHM"), name),
        corrected={"true": True, "false": False}.get(corrected),
    )
    if document.foreign:
        count = str(sum(document.foreign.values()))
        spectrum.notes.append(("foreign-left", {"count": count}))
    return spectrum


def _check_root(name: str, namespace: str, local: str, line: int, column: int) -> None:
    """Raise ReadError unless the root element is that of TM-27, in a namespace of its own."""
    if local != ROOT:
        params = {"found": local[:40], "expected": ROOT}
        raise ReadError("xml-root", name, line=line, column=column, params=params)
    if namespace not in NAMESPACES:
        params = {"found": namespace[:80] or "-", "expected": " / ".join(NAMESPACES)}
        raise ReadError("xml-namespace", name, line=line, column=column, params=params)


def _quantity(body: Element, name: str) -> str:
    """Return the quantity in small letters, empty where unsaid; ReadError where it is no light."""
    said = (body.said("SpectralQuantity") or "").lower()
    if said in NOT_LIGHT:
        place = body.child("SpectralQuantity") or body
        params = {"quantity": said}
        line, column = place.line, place.column
        raise ReadError("lamp-not-light", name, line=line, column=column, params=params)
    return said


def _header(root: Element) -> list[tuple[str, str]]:
    """Return what the header says, in its order; empty elements left out."""
    header = root.child("Header")
    children = header.children if header is not None else []
    return [(one.name, one.text.strip()) for one in children if one.text.strip()]


def _optional_number(element: Element | None, name: str) -> float | None:
    """Return the number of an element that may be missing, empty or say ``None``."""
    if element is None or element.text.strip().lower() in ("", "none", "n/a"):
        return None
    return element_number(element, element.text, name)
