"""Packed spectra: the exact numbers that a verdict is computed from, in one byte form.

The form is one line of canonical JSON (the header), a line feed, and the values as little-endian
64-bit floats, reading by reading. Equal sets have equal bytes: no NaN, no infinity, no minus zero.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt

from ledger.canonical import CanonicalError, canonical_bytes, parse

VERSION = 1
CONDITION_KEYS = ("aperture", "backing", "geometry", "specular", "uv")
MAX_BYTES = 512 * 1024 * 1024
MAX_LABEL = 200
_HEADER_KEYS = {"axes", "condition", "kind", "labels", "scale", "v", "wavelengths"}
_AXES = ["reading", "wavelength"]

Floats = npt.NDArray[np.float64]


class PackedError(ValueError):
    """Values that cannot be packed, or bytes that are no packed set. ``id`` says which rule."""

    def __init__(self, id: str, detail: str) -> None:
        """id: short word for the rule broken; detail: where and what, in English."""
        self.id, self.detail = id, detail
        super().__init__(f"{id}: {detail}")


@dataclass(frozen=True, eq=False)
class PackedSet:
    """Reflectance factors (1 = perfect diffuser) of readings over one wavelength axis.

    wavelengths: nm, whole, rising. labels: one per reading; a label that appears again is a
    further reading of the same specimen. values: (readings, wavelengths), read-only.
    condition: what is known of how it was measured (keys of CONDITION_KEYS, free text); what is
    unknown is absent.
    Raises PackedError where the parts do not fit.
    """

    wavelengths: tuple[int, ...]
    labels: tuple[str, ...]
    values: Floats
    condition: Mapping[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Check all parts and freeze a copy of the values."""
        _check_axis(self.wavelengths)
        _check_labels(self.labels)
        _check_condition(self.condition)
        values = np.array(self.values, dtype=np.float64, order="C")
        expected = (len(self.labels), len(self.wavelengths))
        if values.shape != expected:
            raise PackedError("shape", f"values are {values.shape}, expected {expected}")
        if not np.isfinite(values).all():
            row, band = (int(i) for i in np.argwhere(~np.isfinite(values))[0])
            raise PackedError("not-finite", f"row {row}, {self.wavelengths[band]} nm")
        values += 0.0  # minus zero becomes zero, so that equal sets have equal bytes
        values.setflags(write=False)
        object.__setattr__(self, "values", values)
        names = tuple(unicodedata.normalize("NFC", label) for label in self.labels)
        object.__setattr__(self, "labels", names)
        condition = {k: unicodedata.normalize("NFC", v) for k, v in self.condition.items()}
        object.__setattr__(self, "condition", condition)

    def __eq__(self, other: object) -> bool:
        """Two sets are equal when their bytes are."""
        return isinstance(other, PackedSet) and pack(self) == pack(other)

    def __hash__(self) -> int:
        """Hash of the bytes."""
        return hash(pack(self))

    def rows_of(self, label: str) -> list[int]:
        """Return the zero-based rows that read the specimen ``label``, rising."""
        return [row for row, name in enumerate(self.labels) if name == label]


def _check_axis(wavelengths: tuple[int, ...]) -> None:
    whole = all(isinstance(w, int) and not isinstance(w, bool) for w in wavelengths)
    if not wavelengths or not whole or wavelengths[0] <= 0:
        raise PackedError("wavelengths", "whole positive nanometres expected")
    if any(b <= a for a, b in pairwise(wavelengths)):
        raise PackedError("wavelengths", "they must rise")


def _check_labels(labels: tuple[str, ...]) -> None:
    if not labels:
        raise PackedError("labels", "at least one reading expected")
    for row, label in enumerate(labels):
        if not isinstance(label, str) or not label.strip() or len(label) > MAX_LABEL:
            raise PackedError("labels", f"row {row}: 1 to {MAX_LABEL} characters expected")


def _check_condition(condition: Mapping[str, str]) -> None:
    for key, value in condition.items():
        if key not in CONDITION_KEYS:
            raise PackedError("condition", f"unknown key {str(key)[:40]!r}")
        if not isinstance(value, str) or not value.strip():
            raise PackedError("condition", f"{key}: text expected")


def pack(spectra: PackedSet) -> bytes:
    """Return the one byte form of a set. Raises PackedError for text without a canonical form."""
    header = {
        "kind": "spectra",
        "v": VERSION,
        "axes": _AXES,
        "wavelengths": list(spectra.wavelengths),
        "scale": "factor",
        "condition": dict(spectra.condition),
        "labels": list(spectra.labels),
    }
    try:
        line = canonical_bytes(header)
    except CanonicalError as error:
        raise PackedError("header", str(error)) from error
    return line + b"\n" + spectra.values.astype("<f8").tobytes()


def unpack(data: bytes) -> PackedSet:
    """Return the set that ``data`` packs; PackedError for bytes that ``pack`` never writes."""
    if len(data) > MAX_BYTES:
        raise PackedError("size", f"{len(data)} bytes; at most {MAX_BYTES}")
    end = data.find(b"\n")
    if end < 0:
        raise PackedError("header", "no header line")
    try:
        header = parse(data[:end])
    except CanonicalError as error:
        raise PackedError("header", str(error)) from error
    wavelengths, labels, condition = _header_parts(header)
    body = len(data) - end - 1
    if body != 8 * len(wavelengths) * len(labels):
        raise PackedError(
            "length", f"{body} bytes of values for {len(labels)} x {len(wavelengths)} numbers"
        )
    values = np.frombuffer(data, dtype="<f8", offset=end + 1).astype(np.float64)
    if (np.signbit(values) & (values == 0)).any():
        raise PackedError("minus-zero", "minus zero is not in the byte form")
    return PackedSet(wavelengths, labels, values.reshape(len(labels), len(wavelengths)), condition)


def _header_parts(header: Any) -> tuple[tuple[int, ...], tuple[str, ...], dict[str, str]]:
    """Return wavelengths, labels and condition of a parsed header, types checked."""
    if not isinstance(header, dict) or set(header) != _HEADER_KEYS:
        raise PackedError("header", "its keys are not those of a packed set")
    fixed = (header["kind"], header["v"], header["axes"], header["scale"])
    if fixed != ("spectra", VERSION, _AXES, "factor") or header["v"] is True:
        raise PackedError("header", "kind, version, axes or scale unknown")
    if not isinstance(header["wavelengths"], list) or not isinstance(header["labels"], list):
        raise PackedError("header", "wavelengths and labels must be lists")
    if not isinstance(header["condition"], dict):
        raise PackedError("header", "condition must be an object")
    return tuple(header["wavelengths"]), tuple(header["labels"]), header["condition"]
