"""Runs every rule over the shared clauses and over each part as it is bound."""

from __future__ import annotations

import dataclasses

from method.terms.draft.advice import ADVICE
from method.terms.draft.blockers import BLOCKERS
from method.terms.draft.finding import Finding
from method.terms.models import CLAUSES, Resolved, Terms
from method.terms.resolve import resolve

_PLACES = {str(clause): place for place, clause in enumerate(CLAUSES)}
_ORDER = {"blocker": 0, "warning": 1, "advice": 2}


def draft_check(terms: Terms) -> list[Finding]:
    """The findings on a draft: blockers first, then by clause.

    Each part is checked as it is bound. What every part shows is said once, without a part; what
    only some show is said for each of these.
    """
    if not terms.parts:
        found = [Finding("no_parts", "blocker", "scope"), *_rules(resolve(terms))]
        return sorted(found, key=_rank)
    by_part = {part.id: _rules(resolve(terms, part.id)) for part in terms.parts}
    first = next(iter(by_part.values()))
    common = [finding for finding in first if all(finding in rows for rows in by_part.values())]
    found = list(common)
    for part, rows in by_part.items():
        found += [dataclasses.replace(row, part=part) for row in rows if row not in common]
    return sorted(found, key=_rank)


def _rules(clauses: Resolved) -> list[Finding]:
    """Every rule over the clauses of one part."""
    return [finding for rule in (*BLOCKERS, *ADVICE) for finding in rule(clauses)]


def _rank(finding: Finding) -> tuple[int, int, str, str, str]:
    """Blockers first, then in the order of the clauses."""
    place = _PLACES[finding.clause]
    return _ORDER[finding.severity], place, finding.id, finding.part, finding.item
