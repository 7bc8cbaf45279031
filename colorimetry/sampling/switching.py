"""Which severity the next lot is due, from the history of like lots: a pure state machine.

Sources. MIL-STD-105E 4.7.1 to 4.7.4 and 4.8 (read in a public copy): two of five or fewer
consecutive lots rejected → tightened; five consecutive accepted → normal; ten consecutive accepted
with few nonconformities, steady production and the authority's consent → reduced; one rejected, one
accepted in the gap, or unsteady production → normal; five rejected on tightened inspection →
discontinued. The limit numbers of table VIII are not held here: without one given by the caller,
105E never leads to reduced inspection.

ISO 2859-1:1999 has the same rules but for the way to reduced inspection, a switching score of 30
(from memory, check your copy of the standard, as is how the score grows: 3 for a lot of a plan with
Ac ≥ 2 that would have been accepted at the next smaller AQL, 2 for an accepted lot of a plan with
Ac 0 or 1, otherwise back to zero).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from colorimetry.errors import DomainError
from colorimetry.sampling.plans import (
    EDITIONS,
    ISO_2859_1,
    Plan,
    Severity,
    one_of,
    one_step_tighter,
    whole,
)

State = Literal["normal", "tightened", "reduced", "discontinued"]
Rule = Literal[
    "two of five or fewer rejected",
    "five in a row accepted",
    "ten in a row accepted within the limit number",
    "switching score reached",
    "rejected on reduced",
    "accepted in the gap on reduced",
    "production unsteady on reduced",
    "five rejected on tightened",
]
WINDOW, REJECTED_IN_WINDOW = 5, 2
ACCEPTED_IN_A_ROW = 5
LOTS_FOR_REDUCED = 10
SCORE_FOR_REDUCED = 30
REJECTED_ON_TIGHTENED = 5
FROM_MEMORY = {
    "MIL-STD-105E": (),
    ISO_2859_1: (
        "switching score 30, growing by 3 or 2: from memory, check your copy of the standard",
    ),
}


@dataclass(frozen=True, slots=True)
class LotResult:
    """One lot's original inspection, or a later one.

    like: the key of lots that are alike (article, place of making …); plan: the plan that was
    carried out; found: nonconforming items or nonconformities in the sample; original: False for a
    lot that was submitted again (it does not count); steady: whether production was steady.
    """

    like: str
    plan: Plan
    found: int
    original: bool = True
    steady: bool = True


@dataclass(frozen=True, slots=True)
class Switch:
    """A change of severity that takes effect after the lot at ``after`` (its place in the list)."""

    after: int
    old: State
    new: State
    rule: Rule


@dataclass(frozen=True, slots=True)
class Standing:
    """What is due for the next lot, and how it came about.

    ``score`` is the switching score (ISO 2859-1 only, 0 otherwise); ``recent`` the outcomes since
    the last switch (True: accepted); ``ignored`` counts lots that were submitted again;
    ``from_memory`` lists what is not checked against a copy of the standard.
    """

    state: State
    edition: str
    recent: tuple[bool, ...] = ()
    score: int = 0
    switches: tuple[Switch, ...] = ()
    ignored: int = 0
    from_memory: tuple[str, ...] = ()
    found_in: tuple[int, ...] = field(default=(), repr=False)


def standing(
    history: Sequence[LotResult],
    *,
    like: str,
    edition: str,
    reduced_agreed: bool,
    limit_number: int | None = None,
    start: Severity = "normal",
) -> Standing:
    """Return which severity the next lot is due after ``history`` (oldest first).

    like: the key that every lot must carry; edition: "MIL-STD-105E" or "ISO 2859-1:1999";
    reduced_agreed: whether the responsible authority wants reduced inspection (False also where
    normal inspection simply goes on, as without reduced plans by ISO 2859-1:1999); limit_number: of
    table VIII of 105E, for the nonconformities in the last ten lots (None where its note asks for
    more lots); start: "tightened" where inspection is taken up again after it was discontinued.
    Production must be steady at the lot after which reduced inspection would begin.

    DomainError for a lot of another kind, of another edition, inspected at a severity that was not
    due, or after discontinuation. Sources: see the module.
    """
    one_of(edition, "edition", EDITIONS)
    one_of(start, "start", ("normal", "tightened"))
    limit = None if limit_number is None else whole(limit_number, "limit_number")
    now = Standing(start, edition, from_memory=FROM_MEMORY[edition])
    for place, lot in enumerate(history):
        if not isinstance(lot, LotResult):
            raise DomainError("history", "type", row=place, detail="a LotResult expected")
        _check(lot, place, like, now)
        if not lot.original:
            now = replace(now, ignored=now.ignored + 1)
            continue
        now = _counted(now, lot)
        rule = _rule(now, lot, reduced_agreed, limit)
        if rule is not None:
            now = _switched(now, place, *rule)
    return now


def _check(lot: LotResult, place: int, like: str, now: Standing) -> None:
    if lot.like != like:
        detail = f"a lot of {lot.like!r} among lots of {like!r}"
        raise DomainError("history", "range", row=place, detail=detail)
    if lot.plan.edition != now.edition:
        detail = f"planned by {lot.plan.edition}, not by {now.edition}"
        raise DomainError("history", "range", row=place, detail=detail)
    if now.state == "discontinued":
        detail = "inspection was discontinued before this lot"
        raise DomainError("history", "range", row=place, detail=detail)
    if lot.original and lot.plan.severity != now.state:
        detail = f"inspected as {lot.plan.severity} where {now.state} was due"
        raise DomainError("history", "range", row=place, detail=detail)


def _counted(now: Standing, lot: LotResult) -> Standing:
    """Take one original inspection into the counts."""
    accepted = lot.plan.outcome(lot.found) != "not accepted"
    score = 0
    if now.edition == ISO_2859_1 and now.state == "normal":
        score = _score(now.score, lot, accepted)
    recent, found = (*now.recent, accepted), (*now.found_in, lot.found)
    return replace(now, recent=recent, found_in=found, score=score)


def _score(score: int, lot: LotResult, accepted: bool) -> int:
    if lot.plan.ac >= 2:
        tighter, _re = one_step_tighter(lot.plan)
        return score + 3 if lot.found <= tighter else 0
    return score + 2 if accepted else 0


def _rule(
    now: Standing, lot: LotResult, reduced_agreed: bool, limit: int | None
) -> tuple[State, Rule] | None:
    """Return the new state and the rule that leads to it, None where nothing changes."""
    if now.state == "tightened":
        if now.recent.count(False) >= REJECTED_ON_TIGHTENED:
            return "discontinued", "five rejected on tightened"
        if len(now.recent) >= ACCEPTED_IN_A_ROW and all(now.recent[-ACCEPTED_IN_A_ROW:]):
            return "normal", "five in a row accepted"
        return None
    if now.state == "reduced":
        return _back_to_normal(lot)
    if now.recent[-WINDOW:].count(False) >= REJECTED_IN_WINDOW:
        return "tightened", "two of five or fewer rejected"
    if not (reduced_agreed and lot.steady):
        return None
    if now.edition == ISO_2859_1:
        reached = now.score >= SCORE_FOR_REDUCED
        return ("reduced", "switching score reached") if reached else None
    return _reduced_by_105e(now, limit)


def _back_to_normal(lot: LotResult) -> tuple[State, Rule] | None:
    outcome = lot.plan.outcome(lot.found)
    if outcome == "not accepted":
        return "normal", "rejected on reduced"
    if outcome == "accepted in the gap":
        return "normal", "accepted in the gap on reduced"
    return None if lot.steady else ("normal", "production unsteady on reduced")


def _reduced_by_105e(now: Standing, limit: int | None) -> tuple[State, Rule] | None:
    recent, found = now.recent[-LOTS_FOR_REDUCED:], now.found_in[-LOTS_FOR_REDUCED:]
    enough = len(recent) == LOTS_FOR_REDUCED and all(recent)
    if limit is None or not enough or sum(found) > limit:
        return None
    return "reduced", "ten in a row accepted within the limit number"


def _switched(now: Standing, place: int, state: State, rule: Rule) -> Standing:
    """Enter the new state; its counts begin anew."""
    switches = (*now.switches, Switch(place, now.state, state, rule))
    return replace(now, state=state, recent=(), found_in=(), score=0, switches=switches)
