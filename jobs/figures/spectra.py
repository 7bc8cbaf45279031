"""Reflectance of a reference and of specimens over the wavelengths."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext

from jobs.figures import axes, labels
from jobs.figures.bubbles import Datum
from jobs.figures.canvas import Canvas, Plot
from jobs.figures.drawing import (
    Column,
    Conditions,
    Drawing,
    Number,
    Setting,
    Table,
    exact,
    finite,
    rounded,
    shown,
)
from jobs.figures.letters import SMALL, fitted
from jobs.figures.looks import AREA, THIN, Look, Tone

EACH = 6  # specimens with a line of their own; of more, the band from lowest to highest
HEAVY = Look(width=2.5)
DASHES = ("", "6 3", "2 3", "9 3 2 3", "1 2", "12 4")
TOP, HEIGHT, LABELS = 36, 260, 128


@dataclass(frozen=True)
class Curve:
    """A name and one number per wavelength."""

    label: str
    values: Sequence[Number]


@dataclass(frozen=True)
class Spectra:
    """A reference, if there is one, and specimens over the same wavelengths (nm, rising).

    `quantity`: what the numbers are, with unit (reflectance, %). They are rounded to `decimals`
    first: figure and table are made from the same. Texts are translated. Raises ValueError for
    fewer than two wavelengths or such as do not rise, no specimen, a curve of another length, a
    number that is not finite.
    """

    title: str
    quantity: str
    conditions: Conditions
    wavelengths: Sequence[Number]
    reference: Curve | None
    specimens: Sequence[Curve]
    decimals: int = 2

    def __post_init__(self) -> None:
        rising(self.wavelengths)
        if not self.specimens:
            raise ValueError("a figure needs a specimen")
        for curve in self.curves():
            same_length(curve, self.wavelengths)

    def curves(self) -> list[Curve]:
        """The reference, if there is one, then the specimens."""
        return [*([self.reference] if self.reference else []), *self.specimens]

    def cut(self, curve: Curve) -> list[Decimal]:
        """The numbers of a curve as printed."""
        return [rounded(value, self.decimals) for value in curve.values]


def rising(wavelengths: Sequence[Number]) -> None:
    """Raise ValueError unless there are two wavelengths or more, each above the one before."""
    finite(*wavelengths)
    pairs = itertools.pairwise(wavelengths)
    if len(wavelengths) < 2 or any(exact(a) >= exact(b) for a, b in pairs):
        raise ValueError("a spectrum has two wavelengths or more, rising")


def same_length(curve: Curve, wavelengths: Sequence[Number]) -> None:
    """Raise ValueError unless a curve has a finite number for each wavelength."""
    finite(*curve.values)
    if len(curve.values) != len(wavelengths):
        raise ValueError(
            f"{curve.label}: {len(curve.values)} numbers for {len(wavelengths)} wavelengths"
        )


def draw(spectra: Spectra, setting: Setting) -> Drawing:
    """The reference is the heavy line; specimens are thin ones told apart by dashes and names, or
    where they are many, a band from the lowest to the highest."""
    reference = spectra.cut(spectra.reference) if spectra.reference else None
    specimens = [spectra.cut(curve) for curve in spectra.specimens]
    each = len(specimens) <= EACH
    entries = _entries(spectra, each)
    beside = each and not setting.narrow
    height = TOP + HEIGHT + 48 + (0 if beside else labels.key_height(entries, setting.width))
    canvas = Canvas(setting, height)
    all_ = [*([reference] if reference else []), *specimens]
    scale = axes.scale([0, *(value for values in all_ for value in values)])
    right = setting.width - (LABELS if beside else 16)
    left = 8 + axes.BESIDE + scale.widest()
    nm = [float(wavelength) for wavelength in spectra.wavelengths]
    plot = canvas.plot((left, TOP, right, TOP + HEIGHT), (nm[0], nm[-1]), scale.span)
    _axes(plot, scale, spectra.conditions.axis(spectra.quantity), 4 if setting.narrow else 8)
    if each:
        for values, dash in zip(specimens, DASHES, strict=False):
            plot.line(nm, values, Look(Tone.QUIET, width=1.2, dash=dash), "specimen")
    else:
        low, high = _ends(specimens)
        plot.polygon(
            [*zip(nm, low, strict=True), *reversed(list(zip(nm, high, strict=True)))], AREA, "band"
        )
        plot.line(nm, low, THIN, "lowest")
        plot.line(nm, high, THIN, "highest")
    if reference:
        plot.line(nm, reference, HEAVY, "reference")
    _columns(plot, spectra, reference, specimens)
    if beside:
        _names(plot, entries, all_)
    else:
        labels.key(canvas, entries, TOP + HEIGHT + 46)
    description = spectra.conditions.after(
        gettext("The reference is the heavy line, specimens are thin; over the wavelengths in nm.")
        if reference
        else gettext("Each specimen's line over the wavelengths in nm.")
    )
    svg = canvas.finish(spectra.title, description)
    return Drawing(svg, spectra.title, description, _table(spectra, reference, specimens, each))


def _axes(plot: Plot, scale: axes.Scale, quantity: str, most: int) -> None:
    axes.upwards(plot, scale.ticks, scale.texts(), quantity)
    nm = axes.within(*plot.x, most=most)
    axes.across(plot, nm.ticks, nm.texts(), gettext("Wavelength (nm)"))


def _entries(spectra: Spectra, each: bool) -> list[labels.Said]:
    found = [labels.Said(spectra.reference.label, HEAVY)] if spectra.reference else []
    if each:
        return found + [
            labels.Said(curve.label, Look(Tone.QUIET, width=1.2, dash=dash))
            for curve, dash in zip(spectra.specimens, DASHES, strict=False)
        ]
    return [*found, labels.Said(_band(len(spectra.specimens)), AREA, area=True)]


def _band(count: int) -> str:
    return gettext("lowest to highest of %(count)s specimens") % {"count": count}


def _ends(specimens: Sequence[Sequence[Decimal]]) -> tuple[list[Decimal], list[Decimal]]:
    columns = list(zip(*specimens, strict=True))
    return [min(column) for column in columns], [max(column) for column in columns]


def _names(plot: Plot, entries: Sequence[labels.Said], curves: Sequence[Sequence[Decimal]]) -> None:
    """The name of each curve at its right end, with a sample of its line."""
    right = plot.box[2]
    ends = [plot.at(plot.x[1], values[-1])[1] for values in curves]
    for entry, y in zip(entries, labels.apart(ends, 16, TOP, TOP + HEIGHT), strict=True):
        if isinstance(entry.sample, Look):
            plot.canvas.sheet.segments([(right + 6, y, right + 26, y)], entry.sample, "key")
        said = fitted(entry.words, LABELS - 36, SMALL)
        plot.canvas.text(right + 32, y + 4, said, size=SMALL)


def _columns(
    plot: Plot,
    spectra: Spectra,
    reference: Sequence[Decimal] | None,
    specimens: Sequence[Sequence[Decimal]],
) -> None:
    """A datum per wavelength on the reference, or on the first of the lines; its field is as high
    as the plot."""
    each = len(specimens) <= EACH
    low, high = _ends(specimens)
    base = reference or (specimens[0] if each else high)
    name = fitted(spectra.reference.label, LABELS) if spectra.reference else ""
    names = [fitted(curve.label, LABELS) for curve in spectra.specimens]
    data = []
    for place, wavelength in enumerate(spectra.wavelengths):
        lines = [f"{shown(wavelength)} nm"]
        lines += [f"{name}: {shown(reference[place])}"] if reference else []
        if each:
            own = zip(names, specimens, strict=True)
            lines += [f"{label}: {shown(values[place])}" for label, values in own]
        else:
            lines.append(f"{_band(len(specimens))}: {shown(low[place])} – {shown(high[place])}")
        numbers = {"x": shown(wavelength), "y": shown(base[place])}
        data.append(
            Datum("\n".join(lines), f"{spectra.quantity}, {spectra.conditions.words}", numbers)
        )
    plot.columns("speck", data, list(zip(spectra.wavelengths, base, strict=True)))


def _table(
    spectra: Spectra,
    reference: Sequence[Decimal] | None,
    specimens: Sequence[Sequence[Decimal]],
    each: bool,
) -> Table:
    heads = [spectra.reference.label] if spectra.reference else []
    low, high = _ends(specimens)
    columns: list[Sequence[Decimal]] = [reference] if reference else []
    if each:
        heads += [curve.label for curve in spectra.specimens]
        columns += specimens
    else:
        heads += [gettext("lowest"), gettext("highest")]
        columns += [low, high]
    rows = tuple(
        (shown(wavelength), *(shown(column[place]) for column in columns))
        for place, wavelength in enumerate(spectra.wavelengths)
    )
    caption = f"{spectra.title}: {spectra.quantity}"
    return Table(caption, tuple(Column(head) for head in ("nm", *heads)), rows)
