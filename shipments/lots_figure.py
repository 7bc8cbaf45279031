"""Lots over time: the highest difference of each against the limit that bound it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django.db.models import Exists, OuterRef
from django.utils.translation import gettext

from jobs.figures import lots
from jobs.figures.drawing import Conditions, Drawing, Standing
from ledger.canonical import parse
from method.terms.models.tolerances import COMPARED_WORDS
from parties.models import Sitter
from shipments.colour_figures import formula_words, geometry_words, unit
from shipments.models import Submission, Verdict

MOST_LOTS = 60  # the latest; older ones are on their own pages
MOST_FIGURES = 3  # those with the most lots
FEWEST = 2  # one lot is no course of time
STANDINGS = {
    Verdict.Outcome.CONFORMING: Standing.WITHIN,
    Verdict.Outcome.NONCONFORMING: Standing.BEYOND,
    Verdict.Outcome.INCONCLUSIVE: Standing.BETWEEN,
    Verdict.Outcome.INCOMPLETE: Standing.BETWEEN,
}


@dataclass(frozen=True)
class Point:
    """One tolerance of one lot's last verdict, with its highest value."""

    verdict: Verdict
    item: Mapping[str, Any]
    value: Decimal

    @property
    def kind(self) -> tuple[str, ...]:
        """What must be alike so that lots may stand in one figure."""
        item = self.item
        alike = ("compared_with", "illuminant", "observer", "formula")
        part = self.verdict.submission.lot.part
        return (
            part,
            item.get("geometry", ""),
            formula_words(item),
            *(item[name] for name in alike),
        )


def over_time(sitter: Sitter, draw: Callable[..., Drawing]) -> list[Drawing]:
    """Figures of the parts and tolerances under which the most of the latest lots were judged."""
    kinds: dict[tuple[str, ...], list[Point]] = {}
    for verdict in _last_verdicts(sitter):
        for point in _points(verdict):
            kinds.setdefault(point.kind, []).append(point)
    several = [kinds[kind] for kind in sorted(kinds) if len(kinds[kind]) >= FEWEST]
    several.sort(key=len, reverse=True)
    return [
        draw(lots.draw, _lots(points), f"lots-{place}")
        for place, points in enumerate(several[:MOST_FIGURES])
    ]


def _last_verdicts(sitter: Sitter) -> Sequence[Verdict]:
    """The last verdict for release of each of the latest lots."""
    seen = Verdict.objects.visible_to(sitter).filter(submission__purpose=Submission.Purpose.LOT)
    later = seen.filter(
        submission__lot=OuterRef("submission__lot"),
        submission__nth__gt=OuterRef("submission__nth"),
    )
    return list(
        seen.exclude(Exists(later))
        .select_related("submission__lot", "submission__revision")
        .defer("submission__bytes", "submission__revision__terms")
        .order_by("-created_at", "-pk")[:MOST_LOTS]
    )


def _points(verdict: Verdict) -> Iterator[Point]:
    for item in parse(bytes(verdict.bytes))["instrument"]["items"]:
        if item["values"]:
            yield Point(verdict, item, max(Decimal(one["value"]) for one in item["values"]))


def _lots(points: Sequence[Point]) -> lots.Lots:
    item, lot = points[0].item, points[0].verdict.submission.lot
    compared = COMPARED_WORDS[item["compared_with"]]
    said = {"what": gettext(compared)}
    return lots.Lots(
        title=gettext("%(part)s: lots under %(illuminant)s by the day they were handed in")
        % {"part": lot.part_words, "illuminant": item["illuminant"]},
        unit=unit(item["formula"]),
        conditions=Conditions(
            formula=formula_words(item),
            illuminant=item["illuminant"],
            observer=f"{item['observer']}°",
            geometry=geometry_words(item.get("geometry")),
            other=gettext("compared with %(what)s; the highest of each lot's specimens") % said,
        ),
        lots=[
            lots.Lot(
                label=point.verdict.submission.lot.number,
                day=_day(point),
                value=point.value,
                uncertainty=Decimal(point.item["uncertainty"]),
                standing=STANDINGS[Verdict.Outcome(point.verdict.outcome)],
                words=point.verdict.get_outcome_display(),
                limit=Decimal(point.item["limit"]),
            )
            for point in sorted(points, key=lambda one: one.verdict.submission.created_at)
        ],
        limits=list(_limits(points)),
        outcomes={
            Standing.WITHIN: gettext("conforming"),
            Standing.BETWEEN: gettext("inconclusive or incomplete"),
            Standing.BEYOND: gettext("nonconforming"),
        },
    )


def _day(point: Point) -> date:
    day: date = point.verdict.submission.created_at.date()
    return day


def _limits(points: Sequence[Point]) -> Iterator[lots.Limit]:
    """The limit of the lots as they follow each other, by revision. Where two revisions bind lots
    of one day, the line changes on the next; the table has each lot's own limit."""
    last: tuple[int, Decimal] | None = None
    since = date.min
    for point in sorted(points, key=lambda one: one.verdict.submission.created_at):
        revision = point.verdict.submission.revision
        bound = (revision.number, Decimal(point.item["limit"]))
        if bound != last:
            since = max(_day(point), since + timedelta(days=1))
            yield lots.Limit(since, bound[1], str(revision))
            last = bound
