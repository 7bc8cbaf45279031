"""Single sampling plans by lot size, level, AQL and severity, with the arrows of the tables.

Source: MIL-STD-105E (10 May 1989, public release), tables I, II-A, II-B and II-C, held in
``plans.json`` (``make_plans.py``). ISO 2859-1:1999 has the same code letters and the same normal
and tightened single plans (from memory, check your copy of the standard). Its reduced plans have no
gap between acceptance and rejection number (foreword of ISO 2859-1:1999): they are other plans, not
held here, and are refused rather than replaced by those of 105E.

A plan alone is not the standard's scheme: that needs the switching rules (``switching.py``).
"""

from __future__ import annotations

import json
import operator
from collections.abc import Collection
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Literal, SupportsIndex

from colorimetry.errors import DomainError

Severity = Literal["normal", "tightened", "reduced"]
Outcome = Literal["accepted", "accepted in the gap", "not accepted"]
SEVERITIES = ("normal", "tightened", "reduced")
MIL_STD_105E, ISO_2859_1 = "MIL-STD-105E", "ISO 2859-1:1999"
EDITIONS = (MIL_STD_105E, ISO_2859_1)
COUNTED = ("items", "nonconformities")
HIGHEST_PERCENT = "10"  # AQLs above it count nonconformities per 100 items only
_DATA = Path(__file__).with_name("plans.json")


@dataclass(frozen=True, slots=True)
class Plan:
    """A single sampling plan as it is carried out on one lot.

    ``code_letter`` is that of the lot ("" for a lot of one, which table I does not have),
    ``letter`` the one whose plan is used after ``arrows`` arrows (positive: down to larger samples,
    negative: up). ``n`` pieces are inspected, the whole lot where ``every_piece``; ``table_n`` is
    the sample size that the table asks for. Accept up to ``ac``, do not accept from ``re`` on.
    """

    edition: str
    severity: Severity
    level: str
    aql: str
    counted: str
    lot: int
    code_letter: str
    letter: str
    arrows: int
    table_n: int
    n: int
    ac: int
    re: int

    @property
    def every_piece(self) -> bool:
        """Whether the sample is the whole lot."""
        return self.n == self.lot

    def outcome(self, found: int) -> Outcome:
        """Return what ``found`` nonconforming items (or nonconformities) in the sample mean.

        In the gap of reduced inspection the lot is accepted, but normal inspection is due from the
        next lot on (MIL-STD-105E 4.7.4 b). DomainError for a count that cannot be.
        """
        count = whole(found, "found")
        if self.counted == "items" and count > self.n:
            raise DomainError("found", "range", detail=f"{count} of {self.n} items")
        if count <= self.ac:
            return "accepted"
        return "accepted in the gap" if count < self.re else "not accepted"


def whole(value: SupportsIndex, what: str, least: int = 0) -> int:
    """Return ``value`` as an int of at least ``least``; DomainError for anything else."""
    if isinstance(value, bool):
        raise DomainError(what, "type", detail="a whole number expected")
    try:
        number = operator.index(value)
    except TypeError as error:
        raise DomainError(what, "type", detail="a whole number expected") from error
    if number < least:
        raise DomainError(what, "range", detail=f"{number} is below {least}")
    return number


def one_of(value: str, what: str, known: Collection[str]) -> str:
    """Return ``value`` if it is one of the known keys; DomainError naming them if not."""
    if not isinstance(value, str):
        raise DomainError(what, "type", detail=f"a text expected, got {value!r}")
    if value not in known:
        raise DomainError(what, "range", detail=f"{value!r} is none of {', '.join(known)}")
    return value


@cache
def _document() -> dict[str, Any]:
    data: dict[str, Any] = json.loads(_DATA.read_text(encoding="ascii"))
    return data


def aqls() -> tuple[str, ...]:
    """Return the AQLs of the tables, rising, as the texts by which plans are asked for."""
    return tuple(_document()["aqls"])


def levels() -> tuple[str, ...]:
    """Return the inspection levels: special S-1 to S-4, general I to III."""
    return tuple(_document()["levels"])


def code_letter(lot: int, level: str) -> str:
    """Return the sample size code letter (MIL-STD-105E table I).

    lot: pieces in the lot, at least 2 (DomainError below: the table begins there); level: one of
    ``levels()``.
    """
    pieces = whole(lot, "lot", least=2)
    column = 2 + levels().index(one_of(level, "level", levels()))
    letters: list[str] = [
        row[column] for row in _document()["code_letters"] if row[1] is None or pieces <= row[1]
    ]
    return letters[0]


def single_plan(
    lot: int,
    level: str,
    aql: str,
    *,
    severity: Severity,
    edition: str,
    counted: str,
) -> Plan:
    """Return the single sampling plan for a lot.

    lot: pieces in the lot, from 1. level: "S-1" … "III". aql: the table's own text ("0.10", "1.0":
    a key, not a number). severity: "normal", "tightened" or "reduced". edition: "MIL-STD-105E" or
    "ISO 2859-1:1999". counted: "items" (percent nonconforming, AQL up to 10) or "nonconformities"
    (per 100 items).

    Where the table has an arrow, the first plan in its direction is taken with its own sample size.
    A sample as large as the lot or larger: every piece is inspected. A lot of one is below table I:
    its piece is inspected and accepted without nonconformity (no rule of the standard).

    DomainError names an unknown level, AQL, severity or edition, and refuses reduced inspection by
    ISO 2859-1:1999, whose plans are not held here. Source: MIL-STD-105E tables I, II-A, II-B, II-C.
    """
    pieces = whole(lot, "lot", least=1)
    one_of(severity, "severity", SEVERITIES)
    one_of(edition, "edition", EDITIONS)
    column = aqls().index(one_of(aql, "AQL", aqls()))
    one_of(level, "level", levels())
    if one_of(counted, "counted", COUNTED) == "items" and column > aqls().index(HIGHEST_PERCENT):
        raise DomainError("AQL", "range", detail=f"{aql} counts nonconformities, not items")
    if edition == ISO_2859_1 and severity == "reduced":
        detail = "the reduced plans of ISO 2859-1:1999 (without gap) are not held; 105E has others"
        raise DomainError("edition", "range", detail=detail)
    common = (edition, severity, level, aql, counted, pieces)
    if pieces == 1:
        return Plan(*common, "", "", 0, 1, 1, 0, 1)
    first = code_letter(pieces, level)
    letter, arrows = _follow(severity, first, column)
    size = _document()["sizes"][severity][letter]
    ac, re = _cell(severity, letter, column)
    return Plan(*common, first, letter, arrows, size, min(size, pieces), ac, re)


def one_step_tighter(plan: Plan) -> tuple[int, int]:
    """Return (Ac, Re) of the plan's own letter at the next smaller AQL, for the switching score.

    Asked of plans with Ac ≥ 2, whose sample size is then the same. DomainError for others.
    """
    if plan.ac < 2:
        raise DomainError("plan", "range", detail=f"Ac {plan.ac} is below 2")
    return _cell(plan.severity, plan.letter, aqls().index(plan.aql) - 1)


def _cell(severity: str, letter: str, column: int) -> tuple[int, int]:
    ac, re = _document()["tables"][severity][letter][column].split("/")
    return int(ac), int(re)


def _follow(severity: str, letter: str, column: int) -> tuple[str, int]:
    """Return the letter that holds the plan, and how many rows below (above: negative) it is."""
    table: dict[str, list[str]] = _document()["tables"][severity]
    letters = list(table)
    start = place = letters.index(letter)
    while (cell := table[letters[place]][column]) in ("up", "down"):
        place += 1 if cell == "down" else -1
    return letters[place], place - start
