"""Long lists by pages: where a page stands is said by the row at its end, not by a count.

What is written meanwhile shifts nothing, and the thousandth page costs what the first costs.
"""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Generic, TypeVar

from django.db.models import Q, QuerySet

from parties.models import DossierRow

A_PAGE = 50
RowT = TypeVar("RowT", bound=DossierRow)


@dataclass(frozen=True)
class Marks:
    """The ends of one page: the mark to go on from, None where nothing lies beyond.

    `prefix` tells the lists of one address apart; `moved`: this is not where a list begins.
    """

    earlier: Any
    later: Any
    prefix: str = field(default="", kw_only=True)
    moved: bool = field(default=False, kw_only=True)

    @property
    def shown(self) -> bool:
        """Whether there is anywhere to go."""
        return self.moved or self.earlier is not None or self.later is not None

    @property
    def to_earlier(self) -> dict[str, Any]:
        """What the address of the next page says."""
        return {f"{self.prefix}before": self.earlier, f"{self.prefix}after": None}

    @property
    def to_later(self) -> dict[str, Any]:
        """The same of the page before this one."""
        return {f"{self.prefix}before": None, f"{self.prefix}after": self.later}

    @property
    def to_latest(self) -> dict[str, None]:
        """The same of the first page."""
        return {f"{self.prefix}before": None, f"{self.prefix}after": None}


@dataclass(frozen=True)
class Page(Marks, Generic[RowT]):
    """Rows of one page, the latest first."""

    rows: list[RowT] = field(default_factory=list, kw_only=True)


def page_of(rows: QuerySet[RowT], asked: Mapping[str, str], prefix: str = "") -> Page[RowT]:
    """One page of rows, the latest first: those `before` or `after` a row that the list has, or the
    latest; other values are ignored. At most three queries, however many rows there are."""
    before = _place(rows, asked.get(f"{prefix}before"))
    after = None if before else _place(rows, asked.get(f"{prefix}after"))
    if after:
        beyond = rows.filter(created_at__gte=after[0]).filter(
            Q(created_at__gt=after[0]) | Q(pk__gt=after[1])
        )
        found = list(beyond.order_by("created_at", "pk")[: A_PAGE + 1])
        more, found = len(found) > A_PAGE, found[:A_PAGE][::-1]
        later, earlier = more, True
    else:
        if before:
            rows = rows.filter(created_at__lte=before[0]).filter(
                Q(created_at__lt=before[0]) | Q(pk__lt=before[1])
            )
        found = list(rows.order_by("-created_at", "-pk")[: A_PAGE + 1])
        earlier, found = len(found) > A_PAGE, found[:A_PAGE]
        later = before is not None
    return Page(
        found[-1].pk if found and earlier else None,
        found[0].pk if found and later else None,
        prefix=prefix,
        moved=bool(before or after),
        rows=found,
    )


def _place(rows: QuerySet[RowT], mark: str | None) -> tuple[dt.datetime, uuid.UUID] | None:
    """Where a row stands in the order of the list."""
    try:
        pk = uuid.UUID(mark or "")
    except ValueError:
        return None
    return rows.filter(pk=pk).values_list("created_at", "pk").first()
