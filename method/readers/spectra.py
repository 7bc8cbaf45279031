"""The spectra of a table: scale, grid, what is unusual, and what is no reflectance at all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import pairwise
from typing import Protocol

import numpy as np

from colorimetry import Grid, GridError, weights
from method.readers.errors import ReadError
from method.readers.found import Found, Stated
from method.readers.questions import (
    Question,
    bands_question,
    emission_question,
    scale_question,
)
from method.readers.tabular import Parsed
from method.readers.values import (
    Floats,
    Note,
    Rows,
    Scale,
    check_largest,
    check_possible,
    oddities,
    rows_of_other_scale,
    scale_of,
)
from method.readers.whole import is_plain, true_step, whole_bands

# A table that stays below is perhaps one of light in small units; a glossy black without its
# specular component is as dark. (Common practice, no published source.)
DARKEST = 0.02
NO_SCALE = Scale(None, (), 0.0, 0.0)


def weighed(parsed: Parsed, name: str) -> tuple[Scale, list[Question]]:
    """Return the scale of a table's values and the questions about it and about what they are.

    Raises ReadError for values that can be no reflectances whatever the scale.
    """
    found = parsed.found
    if not found.spectral or found.quantity == "emission":
        return NO_SCALE, []
    rows = Rows(found.labels, found.wavelengths, found.lines, found.layout)
    check_largest(found.values, name, rows)
    scale = scale_of(found.values, found.scale or parsed.declared)
    check_possible(found.values, scale.scale, name, rows)
    questions = scale_question(scale)
    if found.quantity == "unknown":
        # XML has no words around its values: what was measured can only be asked
        said = "emission" if found.layout == "objects" else parsed.said
        questions += emission_question(said)
    return scale, questions


def grid_notes(found: Found) -> list[Note]:
    """Return the oddity that no weights exist for a table's wavelengths: it cannot be judged."""
    if not found.spectral or found.quantity == "emission":
        return []
    nm = found.wavelengths
    try:
        weights("D65", 10, Grid.of(nm))
    except GridError:
        params = {"start": f"{nm[0]:g}", "stop": f"{nm[-1]:g}", "step": f"{nm[1] - nm[0]:g}"}
        return [("grid-without-weights", params)]
    return []


def value_notes(found: Found, scale: Scale) -> list[Note]:
    """Return what is unusual about a table's values."""
    if not found.spectral or found.quantity == "emission":
        return []
    notes: list[Note] = []
    if scale.largest > 5.0:  # percent, or one of both
        notes += rows_of_other_scale(found.values, found.labels)
    if scale.scale is not None:
        notes += oddities(factors(found.values, scale.scale), found.labels)
        largest = float(factors(found.values, scale.scale).max())
        if 0 < largest < DARKEST:
            notes.append(("dark-throughout", {"largest": f"{largest:.3g}"}))
    return notes


def factors(values: Floats, scale: str) -> Floats:
    """Return values (readings, bands) of a scale as factors."""
    return values / 100.0 if scale == "percent" else values


def thinned(found: Found, chosen: Mapping[str, str], name: str) -> tuple[Found, list[Question]]:
    """Return a table with whole, even wavelengths, and the question that leaving bands out takes.

    Where no part of the wavelengths is whole and even the table stays as it is.
    """
    nm = found.wavelengths
    step = None if found.quantity == "emission" or len(nm) < 2 or is_plain(nm) else true_step(nm)
    bands = whole_bands(nm) if step is not None else []
    if step is None or not bands:
        return found, []
    question = bands_question(step, nm, bands)
    if chosen.get("bands") == "none":
        line = found.header_line or None
        raise ReadError("bands-declined", name, line=line, params={"step": f"{step:.4g}"})
    names = tuple(found.columns[i] for i in bands) if found.columns else ()
    kept = tuple(round(nm[i]) for i in bands)
    left = ("bands-left-out", {"count": str(len(nm) - len(bands))})
    values = np.ascontiguousarray(found.values[:, bands])
    notes = (*found.notes, left)
    return replace(found, wavelengths=kept, values=values, columns=names, notes=notes), [question]


class Shown(Protocol):
    """A table's parts, in Found and in a reading alike."""

    @property
    def wavelengths(self) -> tuple[float, ...]:
        """Wavelengths in nm, rising."""
        ...

    @property
    def values(self) -> Floats:
        """Values as written."""
        ...

    @property
    def labels(self) -> tuple[str, ...]:
        """One per reading."""
        ...

    @property
    def quantity(self) -> str:
        """One of found.QUANTITIES."""
        ...

    @property
    def stated(self) -> tuple[Stated, ...]:
        """Colours stated."""
        ...

    @property
    def header_line(self) -> int:
        """Line of the wavelengths, 0 for none."""
        ...


def check_kept(found: Shown, name: str, surface: str | None) -> None:
    """Raise ReadError where a table cannot become a packed set of reflectances.

    surface: the answer to the question of that name, if it was asked.
    """
    if not found.wavelengths:
        if found.stated:
            fields = ", ".join(found.stated[0].fields)
            params = {"fields": fields[:80], "count": str(len(found.labels))}
            raise ReadError("no-spectra", name, line=found.header_line or None, params=params)
        raise ReadError("no-values", name, params={"count": str(len(found.labels))})
    if found.quantity == "emission":
        raise ReadError("light", name, line=found.header_line or None)
    if found.quantity == "transmittance":
        raise ReadError("transmittance", name, line=found.header_line or None)
    if surface == "emission":
        params = {"largest": f"{float(found.values.max()):g}"}
        raise ReadError("not-reflectance", name, params=params)
    _check_axis(found, name)


def _check_axis(found: Shown, name: str) -> None:
    """Raise ReadError for wavelengths that are not whole or not in one step."""
    nm, line = found.wavelengths, found.header_line or None
    for one in nm:
        if one != int(one):
            params = {"wavelength": f"{one:g}"}
            raise ReadError("grid-fractional", name, line=line, params=params)
    for before, after in pairwise(nm):
        if after - before != nm[1] - nm[0]:
            params = {"before": f"{before:g}", "after": f"{after:g}"}
            raise ReadError("grid-uneven", name, line=line, params=params)
