"""What a draft check yields."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from method.terms.describe import fields_of
from method.terms.models import Resolved

Severity = Literal["blocker", "warning", "advice"]


@dataclass(frozen=True)
class Finding:
    """One finding on a draft; its words stand in `method.terms.words.FINDINGS` under `id`.

    clause, item  where it is mended
    params        named values of the text; a tuple holds labels to translate and join
    part          the part it is about, or "" when it follows from the shared clauses
    """

    id: str
    severity: Severity
    clause: str
    item: str = ""
    params: Mapping[str, str | tuple[str, ...]] = field(default_factory=dict)
    part: str = ""


Findings = Iterator[Finding]


def open_fields(kind: Any, holder: Any, names: tuple[str, ...]) -> tuple[str, ...]:
    """The labels of those named fields that nobody filled."""
    labels = {described.name: described.label for described in fields_of(kind)}
    return tuple(labels[name] for name in names if getattr(holder, name) in (None, "", ()))


def open_in(clauses: Resolved, clause: str, *names: str) -> tuple[str, ...]:
    """The labels of a clause's fields that nobody filled."""
    return open_fields(clause, getattr(clauses, clause), names)
