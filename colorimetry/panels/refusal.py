"""The one exception of the estimators here: data from which nothing can be concluded."""

from __future__ import annotations

from collections.abc import Mapping


class FitRefused(ValueError):
    """Data that are too thin or too clear-cut for an estimate.

    ``id`` says why, in one stable word; ``numbers`` carries the figures the refusal rests on, so
    that words can be made from both in any language.
    """

    def __init__(self, id: str, numbers: Mapping[str, float]) -> None:
        self.id = id
        self.numbers = dict(numbers)
        figures = ", ".join(f"{name} {value:g}" for name, value in self.numbers.items())
        super().__init__(f"{id}: {figures}" if figures else id)
