"""Both sides' differences in one figure: under each light a lane of the one and of the other."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from django.utils.translation import gettext

from disputes.beside import Numbers
from jobs.figures.drawing import Drawing
from shipments.figures import lanes


def both_sides(pairs: Sequence[Numbers], draw: Callable[..., Drawing]) -> list[Drawing]:
    """One figure for each comparison and geometry; nothing of a side that has no values there."""
    kinds: dict[tuple[str, str], list[tuple[str, Mapping[str, Any]]]] = {}
    for pair in sorted(pairs, key=lambda pair: str(pair.item["illuminant"])):
        item = pair.item
        own = kinds.setdefault((item["compared_with"], item["geometry_words"]), [])
        for side, rows in (
            (gettext("supplier"), pair.supplier),
            (gettext("customer"), pair.customer),
        ):
            if rows:
                own.append((f"{item['illuminant']}, {side}", {**item, "rows": rows}))
    drawn = [named for named in kinds.values() if named]
    title = gettext("Differences found by both sides")
    return [
        lanes(named, title=title, key=f"sides-{place}", draw=draw)
        for place, named in enumerate(drawn)
    ]
