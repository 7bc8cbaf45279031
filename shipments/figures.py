"""Figures of a verdict, alike on page and paper: what it says, and what its numbers rest on."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from functools import partial
from typing import Any

from django.utils.translation import gettext

from agreements.sampling_figure import of_lot
from jobs.figures import differences, margins, panel
from jobs.figures.drawing import Conditions, Drawing, for_paper
from jobs.figures.kept import for_page
from method.behind import Behind
from shipments import colour_figures
from shipments.colour_figures import MOST, out_of, telling, unit

MOST_DOTS = 40  # specimens in a lane
MOST_PLANES = 6  # tolerances whose colours are drawn: more would make a page heavy
Draw = Callable[..., Drawing]


def drawn(
    view: dict[str, Any], behind: Behind | None = None, *, paper: bool = False
) -> dict[str, Any]:
    """A verdict as `wording.shown` gives it, its parts with their figures; those of spectra,
    colours and sample where `behind` is known."""
    draw: Draw = for_paper if paper else for_page
    items = [
        item
        | {
            "figure": figure(item, f"margins-{place}", draw),
            "planes": colour_figures.planes(item, behind, f"plane-{place}", draw)
            if place < MOST_PLANES
            else [],
        }
        for place, item in enumerate(view["instrument"]["items"])
    ]
    instrument = view["instrument"] | {
        "items": items,
        "spectra": colour_figures.reflectances(behind, draw),
        "differences": by_illuminant(items, draw),
        "left_out": len(items) > MOST_PLANES
        and gettext(
            "Colours are drawn for the first %(shown)s of %(all)s tolerances; the tables have the "
            "differences of all."
        )
        % {"shown": MOST_PLANES, "all": len(items)},
    }
    return view | {
        "visual": view["visual"] | {"figure": judged(view["visual"], draw)},
        "instrument": instrument,
        "sampling": of_lot(behind.sample, draw) if behind and behind.sample else None,
    }


def judged(visual: Mapping[str, Any], draw: Draw) -> Drawing | None:
    """What the panel said of the specimens, judgements that count alone; None where none counts."""
    counted = [one for one in visual["specimens"] if one["accepts"] + one["rejects"]]
    if not counted:
        return None
    lights = dict.fromkeys(one.get("illuminant") for one in visual["judgements"] if one["counted"])
    data = panel.Panel(
        title=gettext("By eye"),
        conditions=Conditions(
            illuminant=", ".join(light or gettext("all lights of the sitting") for light in lights),
            other=gettext("of %(all)s specimens the %(shown)s that most reject")
            % {"all": len(counted), "shown": MOST}
            if len(counted) > MOST
            else "",
        ),
        rows=[
            panel.Judged(one["specimen"], one["accepts"], 0, one["rejects"], one["outcome_words"])
            for one in telling(counted, lambda one: (one["rejects"], -one["accepts"]))
        ],
    )
    return draw(panel.draw, data, "panel")


def figure(item: Mapping[str, Any], key: str, draw: Draw) -> Drawing | None:
    """Values of the specimens against the limit and its ±U band, the table beside it having them
    all; None without any value. `key` tells the figures of a page apart."""
    if not item["rows"]:
        return None
    told = {name: item[name] for name in ("formula", "illuminant", "observer")}
    data = margins.Margins(
        title=gettext("%(formula)s under %(illuminant)s, %(observer)s°") % told,
        unit=unit(item["formula"]),
        conditions=Conditions(
            formula=item["formula"],
            illuminant=item["illuminant"],
            observer=f"{item['observer']}°",
            geometry=item["geometry_words"],
            other=out_of(item["rows"]),
        ),
        rows=[
            margins.Row(
                row["specimen"],
                Decimal(row["value"]),
                Decimal(item["limit"]),
                Decimal(item["uncertainty"]),
                row["zone_words"],
            )
            for row in telling(item["rows"])
        ],
    )
    return draw(margins.draw, data, key)


def by_illuminant(items: Sequence[Mapping[str, Any]], draw: Draw) -> list[Drawing]:
    """Differences from one thing at one geometry, lane by lane where there are several lights."""
    kinds: dict[tuple[str, str], list[Mapping[str, Any]]] = {}
    for item in sorted(items, key=lambda item: str(item["illuminant"])):
        if item["rows"]:
            kinds.setdefault((item["compared_with"], item["geometry_words"]), []).append(item)
    several = [found for found in kinds.values() if len({one["illuminant"] for one in found}) > 1]
    put = partial(lanes, title=gettext("Differences under each illuminant"), draw=draw)
    return [
        put([(one["illuminant"], one) for one in found], key=f"differences-{place}")
        for place, found in enumerate(several)
    ]


def lanes(
    named: Sequence[tuple[str, Mapping[str, Any]]], *, title: str, key: str, draw: Draw
) -> Drawing:
    """One figure of several tolerances of one comparison, each with the words beside its lane.
    At least one row in each."""
    first = named[0][1]
    most = max((item["rows"] for _, item in named), key=len)
    # The same specimens in each lane, weighed by the lane in which they differ most.
    weights: dict[str, Decimal] = {}
    for _, item in named:
        for row in item["rows"]:
            weights[row["specimen"]] = max(
                weights.get(row["specimen"], Decimal(0)), Decimal(row["value"])
            )
    data = differences.Differences(
        title=title,
        unit=unit(first["formula"]),
        conditions=Conditions(
            formula=first["formula"],
            observer=f"{first['observer']}°",
            geometry=first["geometry_words"],
            other=", ".join(
                filter(
                    None,
                    (
                        gettext("compared with %(what)s") % {"what": first["compared_words"]},
                        out_of(most, MOST_DOTS),
                    ),
                )
            ),
        ),
        groups=[
            differences.Group(
                words,
                Decimal(item["limit"]),
                Decimal(item["uncertainty"]),
                [
                    differences.Difference(row["specimen"], Decimal(row["value"]))
                    for row in telling(
                        item["rows"], lambda row: weights[row["specimen"]], MOST_DOTS
                    )
                ],
            )
            for words, item in named
        ],
    )
    return draw(differences.draw, data, key)
