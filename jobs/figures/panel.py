"""How a panel judged each specimen: counts of acceptable, undecided and not acceptable."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

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
    not_negative,
    shown,
)
from jobs.figures.letters import SMALL, fitted
from jobs.figures.looks import Fill, Look, Tone

MOST_ROWS = 40
TOP, BOTTOM, BAR = 26, 48, 12
SOLID, HOLLOW = Look(Tone.INK, Fill.SOLID), Look(Tone.INK, Fill.HOLLOW)
NEEDED = Look(Tone.INK, width=1.5, dash="6 3")


@dataclass(frozen=True)
class Judged:
    """A specimen, how many judgements of each sort count, and the panel's outcome in words."""

    label: str
    acceptable: int
    undecided: int
    not_acceptable: int
    outcome: str

    @property
    def counts(self) -> tuple[int, int, int]:
        """In the order in which the bar is stacked."""
        return self.acceptable, self.undecided, self.not_acceptable


@dataclass(frozen=True)
class Panel:
    """1 to 40 specimens. `needed`: how many must find a specimen acceptable, `needed_words` say it
    in words. Texts are translated. Raises ValueError for no or too many rows, negative counts, a
    specimen without judgement."""

    title: str
    conditions: Conditions
    rows: Sequence[Judged]
    needed: Number | None = None
    needed_words: str = ""

    def __post_init__(self) -> None:
        if not 0 < len(self.rows) <= MOST_ROWS:
            raise ValueError(f"a figure takes 1 to {MOST_ROWS} rows, not {len(self.rows)}")
        for row in self.rows:
            not_negative(*row.counts)
            if not sum(row.counts):
                raise ValueError(f"{row.label}: no judgement counts")
        if self.needed is not None:
            not_negative(self.needed)

    @property
    def places(self) -> tuple[int, ...]:
        """Which of `counts` are told: undecided only where a judgement is."""
        return (0, 1, 2) if any(row.undecided for row in self.rows) else (0, 2)


def draw(panel: Panel, setting: Setting) -> Drawing:
    """A stacked bar per specimen: acceptable solid, undecided empty, not acceptable hatched; what
    the panel rule asks for is a dashed line."""
    narrow = setting.narrow
    step = 42 if narrow else 22
    left, right = (16, 324) if narrow else (148, 424)
    foot = TOP + step * len(panel.rows)
    entries = [
        labels.Said(words, *sample)
        for place, (words, sample) in enumerate(zip(sorts(), SAMPLES, strict=True))
        if place in panel.places
    ]
    if panel.needed is not None:
        entries.append(labels.Said(panel.needed_words, NEEDED))
    canvas = Canvas(setting, foot + BOTTOM + labels.key_height(entries, setting.width))
    greatest = max(sum(row.counts) for row in panel.rows)
    needed = [panel.needed] if panel.needed is not None else []
    scale = axes.scale([0, greatest, *needed], most=min(greatest, 6))
    plot = canvas.plot((left, TOP, right, foot), scale.span, (foot, TOP))
    middles = [TOP + step * place + (30 if narrow else 11) for place in range(len(panel.rows))]
    _bars(plot, panel, middles)
    for row, middle in zip(panel.rows, middles, strict=True):
        _words(canvas, row, panel.places, middle)
    if panel.needed is not None:
        reach = 9 if narrow else step / 2  # not through the words between the bars
        plot.segments(
            [(panel.needed, middle - reach, panel.needed, middle + reach) for middle in middles],
            NEEDED,
            "needed",
        )
    whole = [
        (tick, text)
        for tick, text in zip(scale.ticks, scale.texts(), strict=True)
        if tick == int(tick)
    ]
    axes.across(
        plot, [tick for tick, _ in whole], [text for _, text in whole],
        panel.conditions.axis(gettext("Judgements that count")),
    )  # fmt: skip
    labels.key(canvas, entries, foot + BOTTOM - 4)
    description = panel.conditions.after(
        gettext("How many judgements of each sort count for each specimen."),
        *([panel.needed_words + "."] if panel.needed_words else []),
    )
    svg = canvas.finish(panel.title, description)
    return Drawing(svg, panel.title, description, _table(panel))


SAMPLES: tuple[tuple[str | Look, bool], ...] = ((SOLID, True), (HOLLOW, True), ("hatch", True))


def sorts() -> tuple[str, str, str]:
    """Sorts of judgements in words, as stacked."""
    return gettext("acceptable"), gettext("undecided"), gettext("not acceptable")


def _bars(plot: Plot, panel: Panel, middles: Sequence[float]) -> None:
    hatched = []
    for row, middle in zip(panel.rows, middles, strict=True):
        start = 0
        for words, count, look in zip(sorts(), row.counts, (SOLID, HOLLOW, HOLLOW), strict=True):
            if count:
                x, y = (start, start + count), (middle - BAR / 2, middle + BAR / 2)
                numbers = {"x": str(start), "to": str(start + count), "row": row.label}
                said = f"{row.label}: {count} × {words}; {row.outcome}"
                plot.area(x, y, look, Datum(said, panel.conditions.words, numbers))
                if words == sorts()[2]:
                    (x0, _), (x1, _) = plot.at(x[0], y[0]), plot.at(x[1], y[1])
                    hatched.append((x0, y[0], x1, y[1]))
            start += count
    if hatched:
        labels.hatched(plot.canvas, hatched, part="hatch")


def _words(canvas: Canvas, row: Judged, places: Sequence[int], middle: float) -> None:
    """Label, counts and outcome beside the bar or above it."""
    counts = " : ".join(str(row.counts[place]) for place in places)
    if canvas.setting.narrow:
        base = middle - 12
        canvas.text(8, base, fitted(row.label, 110))
        canvas.text(124, base, fitted(counts, 70, SMALL), size=SMALL, tone=Tone.QUIET)
        canvas.text(332, base, fitted(row.outcome, 130), anchor="end")
        return
    canvas.text(136, middle + 4, fitted(row.label, 132), anchor="end")
    canvas.text(436, middle + 4, fitted(counts, 76, SMALL), size=SMALL, tone=Tone.QUIET)
    canvas.text(516, middle + 4, fitted(row.outcome, canvas.width - 520))


def _table(panel: Panel) -> Table:
    columns = (
        Column(gettext("Specimen"), number=False),
        *(Column(sorts()[place]) for place in panel.places),
        Column(gettext("Panel"), number=False),
    )
    rows = tuple(
        (row.label, *(shown(row.counts[place]) for place in panel.places), row.outcome)
        for row in panel.rows
    )
    return Table(panel.title, columns, rows)
