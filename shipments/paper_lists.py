"""Long lists of a verdict on paper: specimens of which the same is said share a row.

Nothing is left out: a row names them all. A table of one row for each would fill thirty pages that
nobody reads with what one paragraph says.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

_COUNTED = re.compile(r"([^0-9]*)([0-9]{0,18})")
MOST_ROWS = 40  # longer lists are gathered
GRAVEST_FIRST = ("nonconforming", "inconclusive", "conforming")


@dataclass(frozen=True)
class Gathered:
    """One row: what is said of each (`said`, a row of the list itself), of how many, of which."""

    said: Mapping[str, Any]
    count: int
    specimens: str


def for_paper(view: Mapping[str, Any]) -> dict[str, Any]:
    """A verdict as `figures.drawn` gives it, its long lists with rows in `gathered`, others with
    None there."""
    visual, instrument = view["visual"], view["instrument"]
    items = [
        item
        | {"gathered": gathered(item["rows"], lambda row: row["state"], _value, gravity("state"))}
        for item in instrument["items"]
    ]
    counts = gathered(
        visual["specimens"],
        lambda one: (one["outcome"], one["accepts"], one["rejects"]),
        order=gravity("outcome"),
    )
    judged = gathered(visual["judgements"], _judgement)
    return {
        **view,
        "visual": {**visual, "specimens_gathered": counts, "judgements_gathered": judged},
        "instrument": {**instrument, "items": items},
    }


def gathered(
    rows: Sequence[Mapping[str, Any]],
    alike: Callable[[Mapping[str, Any]], Any],
    told: Callable[[Mapping[str, Any]], str] = lambda row: row["specimen"],
    order: Callable[[Mapping[str, Any]], Any] = lambda _row: 0,
) -> list[Gathered] | None:
    """Rows that are `alike` as one, each specimen as `told` says it; None for a short list."""
    if len(rows) <= MOST_ROWS:
        return None
    groups: dict[Any, list[Mapping[str, Any]]] = {}
    for row in rows:
        groups.setdefault(alike(row), []).append(row)
    found = [Gathered(one[0], len(one), _listed(one, told)) for one in groups.values()]
    return sorted(found, key=lambda one: order(one.said))


def gravity(name: str) -> Callable[[Mapping[str, Any]], int]:
    """The place of a row's state, the gravest first, others last."""
    places = {state: place for place, state in enumerate(GRAVEST_FIRST)}
    return lambda row: places.get(row[name], len(places))


def _value(row: Mapping[str, Any]) -> str:
    return f"{row['specimen']} ({row['value']})"


def _judgement(one: Mapping[str, Any]) -> tuple[Any, ...]:
    reasons = tuple(line.words for line in one["reasons"])
    light = one.get("illuminant")
    return one["observer"], light, one["outcome"], one["directions_words"], one["counted"], reasons


def _listed(rows: Iterable[Mapping[str, Any]], told: Callable[[Mapping[str, Any]], str]) -> str:
    """As one counts: 2 before 10. A label keeps together with its value."""
    found = sorted(rows, key=lambda row: _as_counted(row["specimen"]))
    return ", ".join(told(row).replace(" ", "\N{NO-BREAK SPACE}") for row in found)


def _as_counted(label: str) -> list[tuple[str, int]]:
    return [(words, int(number or 0)) for words, number in _COUNTED.findall(label)]
