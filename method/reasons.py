"""Reasons by id: a template in words with named parameters, and the clause it stands under.

Documents carry ids and parameters; words are rendered from here in the reader's language
(`gettext(template) % params`). An id is never reused for another meaning. Public reasons carry
no score, limit or examination of a person; the private forms are kept apart in PRIVATE and
enter no document.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from method.reason_words import REASONS, Template
from method.terms.models import decision, evidence, measurement, references, tolerances
from method.words import gettext_noop

__all__ = [
    "PRIVATE",
    "REASONS",
    "SCORE_CLASSES",
    "Reason",
    "Template",
    "because",
    "words",
]


@dataclass(frozen=True)
class Reason:
    """One reason: id, clause, the item's stable id where one is concerned, parameters as text."""

    id: str
    clause: str
    item: str | None = None
    params: Mapping[str, str] = field(default_factory=dict)

    def plain(self) -> dict[str, Any]:
        """As documents carry it."""
        value: dict[str, Any] = {"id": self.id, "clause": self.clause, "params": dict(self.params)}
        if self.item is not None:
            value["item"] = self.item
        return value


def because(id: str, *, item: str | None = None, **params: object) -> Reason:
    """The reason of this id with its clause. KeyError for an id or a parameter not declared."""
    template = REASONS[id]
    texts = {name: str(value) for name, value in params.items()}
    template.text % texts  # a missing parameter shows where the reason is made, not to a reader
    return Reason(id, template.clause, item, texts)


def words(
    reason: Reason | Mapping[str, Any], translate: Callable[[str], str] = lambda text: text
) -> str:
    """The reason in words: `translate` (gettext) turns the template, and those parameters that
    are words of the terms, into the reader's language."""
    plain = reason.plain() if isinstance(reason, Reason) else reason
    params = {
        name: _translated(text, _PARAM_WORDS.get(name, {}), translate)
        for name, text in dict(plain.get("params", {})).items()
    }
    return translate(REASONS[str(plain["id"])].text) % params


def _translated(text: str, known: Mapping[str, str], translate: Callable[[str], str]) -> str:
    """A parameter with the words of the terms in it translated; other text stays as it is."""
    return ", ".join(translate(known[one]) if one in known else one for one in text.split(", "))


# Parameters that are words of the terms, not texts of the sides.
_FIELDS: dict[str, str] = {
    **references.MATCH_WORDS,
    "geometry": gettext_noop("geometry"),
    "uv": gettext_noop("UV condition"),
    "backing": gettext_noop("backing"),
    "aperture_mm": gettext_noop("aperture in mm"),
    "temperature_c": gettext_noop("specimen temperature in °C"),
    "age_hours": gettext_noop("age since making in hours"),
    "hours_since_white": gettext_noop("time since the white tile was read, in hours"),
    "compared_with": gettext_noop("comparison"),
    "illuminant": gettext_noop("illuminant"),
    "formula": gettext_noop("formula"),
    "limit": gettext_noop("limit"),
    "observer": gettext_noop("colorimetric observer"),
    "uncertainty_value": gettext_noop("uncertainty"),
}
_ROLES: dict[str, str] = {
    "quality_lead": gettext_noop("quality lead"),
    "deputy": gettext_noop("deputy"),
    "quality_staff": gettext_noop("quality staff"),
    "observer": gettext_noop("observer"),
    "administrator": gettext_noop("administrator"),
    "reader": gettext_noop("reader"),
}
_VALUES: dict[str, str] = {
    **tolerances.GEOMETRY_WORDS,
    **measurement.UV_WORDS,
    **measurement.MEASURING_BACKING_WORDS,
    **references.KIND_WORDS,
    **references.TARGET_WORDS,
}
_PARAM_WORDS: dict[str, dict[str, str]] = {
    "agreed": _VALUES,
    "by_eye": {**decision.FINDING_WORDS},
    "by_instrument": {**decision.FINDING_WORDS},
    "compared_with": {**tolerances.COMPARED_WORDS},
    "direction": {**references.DIRECTION_WORDS},
    "field": _FIELDS,
    "found": _VALUES,
    "role": _ROLES,
    "source": {**references.TARGET_WORDS},
    "what": {**evidence.EVIDENCE_WORDS},
}

# Private forms: for the observer and the own lead only.
PRIVATE: dict[str, str] = {
    "score_exceeds": gettext_noop("score %(score)s exceeds %(limit)s"),
    "score_missing": gettext_noop("no hue arrangement test on record by %(day)s"),
    "test_out_of_date": gettext_noop("last test on %(tested)s; a new one was due by %(due)s"),
    "tests_too_few": gettext_noop("%(tests)s tests on record; the terms ask %(needed)s"),
    "plates_missing": gettext_noop("no passed plate screening on record by %(day)s"),
    "eye_exam_missing": gettext_noop("no eye examination on record by %(day)s"),
    "eye_exam_out_of_date": gettext_noop(
        "last eye examination on %(examined)s; a new one was due by %(due)s"
    ),
    "correction_not_worn": gettext_noop("correction is prescribed and was not worn"),
    "correction_unknown": gettext_noop(
        "whether correction is prescribed and worn is not on record"
    ),
    "training_missing": gettext_noop("no training on record by %(day)s"),
    "borrowed_not_admitted": gettext_noop("the terms admit no borrowed observers"),
    "grant_missing": gettext_noop("no grant was valid on %(day)s"),
}

# What the total error score says, by the classes of the test's manual (Farnsworth 1957; author
# and year from memory), read on a stored public page that quotes it under "Classification":
# superior 0-16, average 20-100, low above 100, on first tests. 17-19 is a gap there: scores in
# it are named as such and belong to neither class.
SCORE_CLASSES: dict[str, str] = {
    "superior": gettext_noop("superior discrimination (0–16)"),
    "between": gettext_noop("between superior and average (17–19, a gap in the manual's classes)"),
    "average": gettext_noop("average discrimination (20–100)"),
    "low": gettext_noop("low discrimination (above 100)"),
}
