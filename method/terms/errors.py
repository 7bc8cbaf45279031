"""What is wrong with terms: problems that name part, clause, item and field, never a traceback."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from pydantic import ValidationError

from method.terms.words import PROBLEMS

# pydantic's error types → our ids; everything else is "not_valid"
_IDS = {
    "missing": "field_missing",
    "extra_forbidden": "field_unknown",
    "literal_error": "not_a_choice",
    "greater_than_equal": "too_small",
    "less_than_equal": "too_large",
    "string_too_long": "text_too_long",
    "too_long": "too_many_items",
    "int_type": "not_an_integer",
    "int_parsing": "not_an_integer",
    "bool_type": "not_yes_or_no",
    "string_pattern_mismatch": "wrong_id",
}


@dataclasses.dataclass(frozen=True)
class Problem:
    """One refusal: where it is, and a message id of `method.terms.words.PROBLEMS`."""

    id: str
    clause: str = ""
    field: str = ""
    item: str = ""
    part: str = ""
    params: Mapping[str, str] = dataclasses.field(default_factory=dict)

    def place(self) -> str:
        """The place for a log or a command line, for example "tolerances.items tol-3f8k2q"."""
        where = ".".join(name for name in (self.clause, self.field) if name) or "document"
        return " ".join(name for name in (where, self.item, self.part) if name)


class TermsError(ValueError):
    """Terms are refused; `problems` lists every reason."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__(
            "; ".join(
                f"{problem.place()}: {PROBLEMS[problem.id] % dict(problem.params)}"
                for problem in self.problems
            )
        )


def problems_of(
    error: ValidationError, raw: Any, clause: str = "", part: str = ""
) -> list[Problem]:
    """A validation's findings as problems; `raw` is the JSON value that was validated."""
    return [
        _problem(entry["type"], entry["loc"], entry.get("ctx", {}), raw, clause, part)
        for entry in error.errors(include_url=False, include_input=False)
    ]


def _problem(
    kind: str, loc: Sequence[int | str], ctx: Mapping[str, Any], raw: Any, clause: str, part: str
) -> Problem:
    """One problem, its indices replaced by the ids found in `raw`."""
    names: list[str] = []
    item = ""
    for step in loc:
        raw = _below(raw, step)
        if isinstance(step, int) and isinstance(raw, dict):
            found = raw.get("id")
            item = found if isinstance(found, str) else f"#{step + 1}"
            if names == ["parts"]:
                part, item = item, ""
                names = []
        elif isinstance(step, str) and step not in ("shared", "overrides", "[key]"):
            names.append(step)
    if not clause and names:
        clause, names = (names[0], names[1:]) if len(names) > 1 else ("", names)
    known = kind if kind in PROBLEMS else _IDS.get(kind, "not_valid")
    limit = ctx.get("ge", ctx.get("le", ctx.get("max_length", "")))
    return Problem(known, clause, names[-1] if names else "", item, part, {"limit": str(limit)})


def _below(raw: Any, step: int | str) -> Any:
    """What `raw` holds at one step of a location; None where it holds nothing."""
    if isinstance(step, int):
        return raw[step] if isinstance(raw, list) and step < len(raw) else None
    return raw.get(step) if isinstance(raw, dict) else None
