"""The spectrum of an illuminant against the lamp that stands for it."""

from __future__ import annotations

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
    not_negative,
    rounded,
    shown,
)
from jobs.figures.looks import AREA, THIN, Look
from jobs.figures.spectra import Curve, rising, same_length

ANCHOR = 560  # nm; CIE 15 gives relative spectral power as 100 there (from memory)
MEASURED = Look(width=2)
TOP, HEIGHT = 36, 260


@dataclass(frozen=True)
class Lamp:
    """An illuminant and a measured lamp over the same wavelengths (nm, rising, 560 among them), in
    any unit proportional to spectral power. Texts are translated. Raises ValueError as `Spectra`
    does, for negative numbers, and where there is nothing at 560 nm to be set to 100."""

    title: str
    conditions: Conditions
    wavelengths: Sequence[Number]
    illuminant: Curve
    measured: Curve
    decimals: int = 1

    def __post_init__(self) -> None:
        rising(self.wavelengths)
        for curve in (self.illuminant, self.measured):
            same_length(curve, self.wavelengths)
            not_negative(*curve.values)
            if exact(curve.values[self._anchor()]) <= 0:
                raise ValueError(f"{curve.label}: no power at {ANCHOR} nm")

    def _anchor(self) -> int:
        found = [place for place, nm in enumerate(self.wavelengths) if exact(nm) == ANCHOR]
        if not found:
            raise ValueError(f"a spectrum is set to 100 at {ANCHOR} nm, which is not among these")
        return found[0]

    def relative(self, curve: Curve) -> list[Decimal]:
        """A curve with 100 at 560 nm, rounded to what is printed."""
        unit = exact(curve.values[self._anchor()])
        return [rounded(100 * exact(value) / unit, self.decimals) for value in curve.values]


def draw(lamp: Lamp, setting: Setting) -> Drawing:
    """The illuminant is a shaded area, the lamp a heavy line; both are 100 at 560 nm."""
    target, measured = lamp.relative(lamp.illuminant), lamp.relative(lamp.measured)
    entries = [
        labels.Said(lamp.illuminant.label, AREA, area=True),
        labels.Said(lamp.measured.label, MEASURED),
    ]
    canvas = Canvas(setting, TOP + HEIGHT + 48 + labels.key_height(entries, setting.width))
    scale = axes.scale([0, *target, *measured])
    nm = [float(wavelength) for wavelength in lamp.wavelengths]
    left = 8 + axes.BESIDE + scale.widest()
    plot = canvas.plot((left, TOP, setting.width - 16, TOP + HEIGHT), (nm[0], nm[-1]), scale.span)
    plot.polygon([(nm[0], 0), *zip(nm, target, strict=True), (nm[-1], 0)], AREA, "illuminant")
    axes.upwards(plot, scale.ticks, scale.texts(), _quantity())
    ticks = axes.within(nm[0], nm[-1], most=4 if setting.narrow else 8)
    axes.across(plot, ticks.ticks, ticks.texts(), gettext("Wavelength (nm)"))
    plot.line(nm, target, THIN, "edge")
    plot.line(nm, measured, MEASURED, "measured")
    _columns(plot, lamp, target, measured)
    labels.key(canvas, entries, TOP + HEIGHT + 46)
    description = lamp.conditions.after(
        gettext("The illuminant is the shaded area, the lamp the line; both are 100 at 560 nm.")
    )
    svg = canvas.finish(lamp.title, description)
    columns = tuple(Column(head) for head in ("nm", lamp.illuminant.label, lamp.measured.label))
    rows = tuple(
        tuple(map(shown, row)) for row in zip(lamp.wavelengths, target, measured, strict=True)
    )
    return Drawing(
        svg, lamp.title, description, Table(f"{lamp.title}: {_quantity()}", columns, rows)
    )


def _quantity() -> str:
    return gettext("Relative spectral power (560 nm = 100)")


def _columns(
    plot: Plot, lamp: Lamp, target: Sequence[Decimal], measured: Sequence[Decimal]
) -> None:
    data = [
        Datum(
            f"{shown(nm)} nm\n{lamp.illuminant.label}: {shown(one)}\n"
            f"{lamp.measured.label}: {shown(other)}",
            lamp.conditions.words,
            {"x": shown(nm), "y": shown(other)},
        )
        for nm, one, other in zip(lamp.wavelengths, target, measured, strict=True)
    ]
    plot.columns("speck", data, list(zip(lamp.wavelengths, measured, strict=True)))
