"""The two exceptions of this package: a value outside the domain, and a grid without weights."""

from __future__ import annotations


class DomainError(ValueError):
    """A number or an array that no formula here is defined for.

    Attributes say where: ``what`` names the argument, ``problem`` is an id: ``nan``, ``inf``,
    ``shape``, ``range``, ``type``, ``missing``, or one of a module's own (its docstring names them:
    ``few``, ``singular``, ``fluorescent``, ``hidden``, ...); ``row`` and ``band`` are zero-based
    positions in the two-dimensional array (None where a position makes no sense).
    """

    def __init__(
        self,
        what: str,
        problem: str,
        *,
        row: int | None = None,
        band: int | None = None,
        detail: str = "",
    ) -> None:
        self.what = what
        self.problem = problem
        self.row = row
        self.band = band
        self.detail = detail
        place = "" if row is None else f" at row {row}"
        place += "" if band is None else f", band {band}"
        super().__init__(f"{what}: {problem}{place}{': ' + detail if detail else ''}")


class GridError(ValueError):
    """A wavelength grid, illuminant or colorimetric observer for which no weights exist.

    ``problem`` is one of ``illuminant``, ``observer``, ``step``, ``phase``, ``range``,
    ``uneven``, ``short``.
    """

    def __init__(self, problem: str, detail: str) -> None:
        self.problem = problem
        self.detail = detail
        super().__init__(f"{problem}: {detail}")
