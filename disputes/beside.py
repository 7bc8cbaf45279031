"""Both sides' conditions and numbers side by side: what each froze, and where they differ."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from disputes.models import Dispute
from shipments.conditions import Fact
from shipments.models import Submission, Verdict
from shipments.wording import shown


@dataclass(frozen=True)
class Pair:
    """One condition or number on both sides; empty where a side has none."""

    label: str
    supplier: str
    customer: str

    @property
    def differs(self) -> bool:
        """Whether the two texts differ."""
        return self.supplier != self.customer


@dataclass(frozen=True)
class Side:
    """One side's submission, its verdict and everything shown of it."""

    submission: Submission | None
    verdict: Verdict | None
    view: dict[str, Any] | None


def side_of(submission: Submission | None) -> Side:
    """A submission with its verdict, as far as there is one."""
    verdict = Verdict.objects.filter(submission=submission).first() if submission else None
    return Side(submission, verdict, shown(verdict) if verdict else None)


def sides(dispute: Dispute) -> tuple[Side, Side]:
    """The supplier's evidence at release and the customer's at rejection."""
    return side_of(dispute.rejection.answers), side_of(dispute.rejection)


def condition_pairs(supplier: Side, customer: Side) -> list[Pair]:
    """Conditions by kind of thing and label, each side's values joined where it has several."""
    left, right = _by_label(supplier), _by_label(customer)
    labels = list(dict.fromkeys([*left, *right]))
    return [Pair(label, left.get(label, ""), right.get(label, "")) for label in labels]


def _by_label(side: Side) -> dict[str, str]:
    gathered: dict[str, list[str]] = {}
    facts: list[Fact] = side.view["conditions"] if side.view else []
    for fact in facts:
        # The thing's own code differs between the sides; its sort is what they have in common.
        gathered.setdefault(f"{fact.thing}: {fact.label}", []).append(fact.value)
    return {label: "; ".join(dict.fromkeys(values)) for label, values in gathered.items()}


@dataclass(frozen=True)
class Numbers:
    """One tolerance and the printed values of both sides under it."""

    item: Mapping[str, Any]
    supplier: list[Mapping[str, Any]]
    customer: list[Mapping[str, Any]]


def number_pairs(supplier: Side, customer: Side) -> list[Numbers]:
    """Every tolerance with the rows of both sides."""
    left, right = _items(supplier), _items(customer)
    keys = list(dict.fromkeys([*left, *right]))
    return [
        Numbers(
            left.get(key) or right[key],
            left[key]["rows"] if key in left else [],
            right[key]["rows"] if key in right else [],
        )
        for key in keys
    ]


def _items(side: Side) -> dict[tuple[str, str], dict[str, Any]]:
    found = side.view["instrument"]["items"] if side.view else []
    return {(one["item"], one["illuminant"]): one for one in found}
