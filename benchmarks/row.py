"""One measured row, and how times are taken."""

from __future__ import annotations

import math
import operator
import re
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from typing import Any

BUDGET = re.compile(r"(figure|ratio) (<=|>=) (\d+(?:\.\d+)?)")
COMPARE = {"<=": operator.le, ">=": operator.ge}


@dataclass(frozen=True)
class Row:
    """What was measured, beside a reference measured in the same run in the same unit.

    `budget` is `figure <= 1.5` or `ratio >= 3.5`: the figure, or figure / reference, against a
    number; it may be empty for a row that only informs. `reference` may be None where there is
    nothing to set beside it. Raises ValueError for a budget that cannot be read or tested.
    """

    name: str
    figure: float
    unit: str
    reference: float | None = None
    budget: str = ""

    def __post_init__(self) -> None:
        """Refuse a budget that would never be tested."""
        if self.budget and not BUDGET.fullmatch(self.budget):
            raise ValueError(f"{self.name}: budget {self.budget!r} is not like 'figure <= 1.5'")
        if self.budget.startswith("ratio") and not self.reference:
            raise ValueError(f"{self.name}: a budget for the ratio needs a reference")

    @property
    def ratio(self) -> float | None:
        """figure / reference."""
        return self.figure / self.reference if self.reference else None

    @property
    def holds(self) -> bool | None:
        """Whether the budget is kept; None where there is none. A NaN keeps no budget."""
        found = BUDGET.fullmatch(self.budget)
        if not found:
            return None
        value = self.figure if found[1] == "figure" else self.ratio
        return value is not None and COMPARE[found[2]](value, float(found[3]))

    def as_json(self) -> dict[str, Any]:
        """The row as it stands in latest.json; figures that are no numbers become null."""
        row = asdict(self) | {"ratio": self.ratio, "holds": self.holds}
        return {
            key: None if isinstance(value, float) and not math.isfinite(value) else value
            for key, value in row.items()
        }


def seconds(function: Callable[[], object], *, repeat: int = 5) -> float:
    """The least wall-clock time of `repeat` calls: the one that was disturbed least."""
    times = []
    for _ in range(repeat):
        start = time.perf_counter()
        function()
        times.append(time.perf_counter() - start)
    return min(times)
