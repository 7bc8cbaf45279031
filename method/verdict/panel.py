"""The visual part: whose judgements count, each observer's vote, the panel's answer."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from method.reasons import Reason, because
from method.submission import Judgement, Sitting, Submission
from method.verdict.rules import PanelRule
from method.verdict.zones import Outcome


@dataclass(frozen=True)
class Heard:
    """One judgement with its sitting, and why it does not count (empty: it counts)."""

    sitting: Sitting
    judgement: Judgement
    against: tuple[Reason, ...]

    @property
    def counts(self) -> bool:
        """Whether it counts in the panel."""
        return not self.against

    def plain(self) -> dict[str, Any]:
        """As the verdict shows it, kept whether or not it counts; `reasons` say why not."""
        value = self.judgement.plain()
        value["sitting"] = self.sitting.id
        value["counted"] = self.counts
        value["reasons"] = [
            {"id": one.id, "clause": "observers", "params": one.params}
            for one in self.judgement.reasons
        ] + [one.plain() for one in self.against if one.id != "judgement_not_counted"]
        return value


@dataclass(frozen=True)
class PanelAnswer:
    """The panel's answer on one specimen."""

    specimen: str
    outcome: Outcome
    accepts: int
    rejects: int
    reasons: tuple[Reason, ...]

    @property
    def counted(self) -> int:
        """Observers whose vote counts."""
        return self.accepts + self.rejects

    def plain(self) -> dict[str, Any]:
        """As the verdict shows it."""
        return {
            "specimen": self.specimen,
            "outcome": self.outcome,
            "accepts": self.accepts,
            "rejects": self.rejects,
        }


def hear(submission: Submission, panel: PanelRule) -> tuple[Heard, ...]:
    """Every judgement of the submission, each with the reasons why it does not count."""
    entries = [(s, j) for s in submission.sittings for j in s.judgements]
    contradicted = _contradictions(submission, panel)
    return tuple(
        Heard(sitting, judgement, tuple(_against(sitting, judgement, panel, contradicted)))
        for sitting, judgement in entries
    )


def answers(
    heard: Iterable[Heard], specimens: Iterable[str], panel: PanelRule
) -> tuple[PanelAnswer, ...]:
    """The panel's answer on each specimen that anybody judged, in the order of `specimens`."""
    by_specimen: dict[str, list[Heard]] = {}
    for one in heard:
        by_specimen.setdefault(one.judgement.specimen, []).append(one)
    return tuple(
        _answer(label, by_specimen[label], panel) for label in specimens if label in by_specimen
    )


def _against(
    sitting: Sitting,
    judgement: Judgement,
    panel: PanelRule,
    contradicted: frozenset[tuple[str, str]],
) -> Iterator[Reason]:
    observer, specimen = judgement.observer, judgement.specimen
    if not judgement.qualified:
        yield because("judgement_not_counted", observer=observer, day=sitting.day)
    if sitting.entered_by == "staff" and not panel.staff_entries_count:
        yield because("staff_entry_not_counted", observer=observer)
    if (observer, specimen) in contradicted:
        yield because("judgements_contradict", observer=observer, specimen=specimen)


def _contradictions(submission: Submission, panel: PanelRule) -> frozenset[tuple[str, str]]:
    """(observer, specimen) judged both ways under one light by judgements that else count."""
    seen: dict[tuple[str, str, str], set[str]] = {}
    for sitting in submission.sittings:
        for judgement in sitting.judgements:
            if next(_against(sitting, judgement, panel, frozenset()), None) is None:
                light = judgement.illuminant or ""
                key = (judgement.observer, judgement.specimen, light)
                seen.setdefault(key, set()).add(judgement.outcome)
    return frozenset((o, s) for (o, s, _), outcomes in seen.items() if len(outcomes) > 1)


def _answer(specimen: str, heard: list[Heard], panel: PanelRule) -> PanelAnswer:
    counted = [one.judgement for one in heard if one.counts]
    observers = {judgement.observer for judgement in counted}
    # whoever rejects under one light rejects the specimen
    rejects = len({one.observer for one in counted if one.outcome == "reject"})
    accepts = len(observers) - rejects
    outcome = _decide(accepts, rejects, panel)
    reasons = tuple(_why(specimen, outcome, accepts, rejects, panel))
    return PanelAnswer(specimen, outcome, accepts, rejects, reasons)


def _decide(accepts: int, rejects: int, panel: PanelRule) -> Outcome:
    votes = accepts + rejects
    if votes < panel.size or panel.kind is None:
        return "inconclusive"
    if panel.kind == "majority":
        if accepts == rejects:
            return "inconclusive"
        return "conforming" if accepts > rejects else "nonconforming"
    if panel.kind == "all":
        return "conforming" if rejects == 0 else "nonconforming"
    if panel.least_accepting is None:
        return "inconclusive"
    # k of n as a share of the votes: more observers than due must not make acceptance easier
    enough = accepts * panel.size >= panel.least_accepting * votes
    return "conforming" if enough else "nonconforming"


def _why(
    specimen: str, outcome: Outcome, accepts: int, rejects: int, panel: PanelRule
) -> Iterator[Reason]:
    votes = accepts + rejects
    if outcome == "nonconforming":
        yield because("panel_rejects", specimen=specimen, rejects=rejects, votes=votes)
    elif outcome == "inconclusive" and votes >= panel.size:
        yield because("panel_undecided", specimen=specimen, accepts=accepts, rejects=rejects)
