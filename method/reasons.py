"""Reasons by id: a template in words with named parameters, and the clause it stands under.

Documents carry ids and parameters; words are rendered from here in the reader's language
(`gettext(template) % params`). An id is never reused for another meaning. Public reasons carry
no score, limit or examination of a person; the private forms are kept apart in PRIVATE and
enter no document.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from method.words import gettext_noop


@dataclass(frozen=True)
class Template:
    """Words of a reason (`%(name)s` parameters) and the clause it stands under."""

    clause: str
    text: str


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


def english(reason: Reason | Mapping[str, Any]) -> str:
    """The words in the source language, for command line tools and tests."""
    plain = reason.plain() if isinstance(reason, Reason) else reason
    return REASONS[str(plain["id"])].text % dict(plain.get("params", {}))


OBSERVERS: dict[str, Template] = {
    "observer_not_qualified": Template(
        "observers", gettext_noop("not qualified under the agreement on %(day)s")
    ),
    "observer_not_borrowable": Template(
        "observers", gettext_noop("the terms admit no borrowed observers (%(day)s)")
    ),
    "observer_grant_missing": Template(
        "observers", gettext_noop("no grant for this borrowed observer was valid on %(day)s")
    ),
    "judgement_not_counted": Template(
        "observers",
        gettext_noop("%(observer)s was not qualified on %(day)s; the judgement does not count"),
    ),
    "staff_entry_not_counted": Template(
        "observers",
        gettext_noop(
            "judgements of %(observer)s were entered by staff; by the terms they do not count"
        ),
    ),
    "judgements_contradict": Template(
        "observers",
        gettext_noop(
            "%(observer)s both accepted and rejected specimen %(specimen)s under the same light; "
            "neither counts"
        ),
    ),
    "panel_too_small": Template(
        "observers",
        gettext_noop(
            "specimen %(specimen)s has judgements of %(counted)s observers that count; "
            "%(needed)s are due"
        ),
    ),
}
VIEWING: dict[str, Template] = {
    "sitting_without_light": Template(
        "viewing", gettext_noop("the sitting of %(day)s has no judgement under %(illuminant)s")
    ),
    "booth_light_unknown": Template(
        "viewing", gettext_noop("booth %(booth)s has no record of a light for %(illuminant)s")
    ),
    "booth_hours_unknown": Template(
        "viewing", gettext_noop("booth %(booth)s: hours of the %(illuminant)s lamps unknown")
    ),
    "booth_hours_over": Template(
        "viewing",
        gettext_noop(
            "booth %(booth)s: %(illuminant)s lamps at %(hours)s h on %(day)s; at most %(limit)s h"
        ),
    ),
    "booth_check_missing": Template(
        "viewing", gettext_noop("booth %(booth)s: no check on record before %(day)s")
    ),
    "booth_check_overdue": Template(
        "viewing",
        gettext_noop("booth %(booth)s: last checked on %(checked)s, overdue on %(day)s"),
    ),
    "booth_illuminance_unknown": Template(
        "viewing", gettext_noop("booth %(booth)s: illuminance under %(illuminant)s unknown")
    ),
    "booth_illuminance_outside": Template(
        "viewing",
        gettext_noop(
            "booth %(booth)s: %(lux)s lx under %(illuminant)s; agreed %(least)s to %(most)s lx"
        ),
    ),
}
REFERENCES: dict[str, Template] = {
    "comparator_missing": Template(
        "references", gettext_noop("the sitting of %(day)s names no reference")
    ),
    "comparator_unlike": Template(
        "references",
        gettext_noop("the sitting of %(day)s was against a %(kind)s; agreed: %(agreed)s"),
    ),
    "reference_expired": Template(
        "references",
        gettext_noop("reference %(reference)s expired on %(expires)s; used on %(day)s"),
    ),
    "reference_expiry_unknown": Template(
        "references", gettext_noop("reference %(reference)s has no expiry on record")
    ),
    "reference_kind_unlike": Template(
        "references",
        gettext_noop("reference %(reference)s: %(field)s is %(found)s; agreed: %(agreed)s"),
    ),
    "target_missing": Template(
        "references", gettext_noop("no target reading for comparison with %(compared_with)s")
    ),
    "target_unlike": Template(
        "references", gettext_noop("the target is a %(source)s; agreed: %(agreed)s")
    ),
    "article_not_approved": Template(
        "references", gettext_noop("no first article is approved for this part")
    ),
    "article_approval_lapsed": Template(
        "references", gettext_noop("the first article's approval ended on %(until)s")
    ),
    "article_quantity_passed": Template(
        "references",
        gettext_noop(
            "the first article is approved for %(quantity)s pieces; %(taken)s are taken up and "
            "this lot has %(lot)s"
        ),
    ),
}
MEASUREMENT: dict[str, Template] = {
    "calibration_unknown": Template(
        "measurement", gettext_noop("instrument %(instrument)s: calibration unknown")
    ),
    "calibration_overdue": Template(
        "measurement",
        gettext_noop("instrument %(instrument)s: calibration was due on %(due)s; used on %(day)s"),
    ),
    "condition_unsaid": Template(
        "measurement", gettext_noop("%(file)s does not say the %(field)s; agreed: %(agreed)s")
    ),
    "condition_unlike": Template(
        "measurement",
        gettext_noop("%(file)s: %(field)s is %(found)s; agreed: %(agreed)s"),
    ),
    "grid_unlike": Template(
        "measurement",
        gettext_noop("%(file)s: readings at %(found)s nm cannot give the agreed %(agreed)s nm"),
    ),
    "target_grid_unlike": Template(
        "measurement",
        gettext_noop("the target reading at %(found)s nm cannot give the agreed %(agreed)s nm"),
    ),
    "readings_too_few": Template(
        "measurement",
        gettext_noop("specimen %(specimen)s has %(readings)s readings; %(needed)s are due"),
    ),
}
EVIDENCE: dict[str, Template] = {
    "readings_missing": Template("evidence", gettext_noop("no readings were handed in")),
    "sitting_missing": Template("evidence", gettext_noop("no sitting was handed in")),
    "file_missing": Template("evidence", gettext_noop("%(what)s was not handed in")),
    "retained_missing": Template(
        "evidence", gettext_noop("%(retained)s retained pieces under seal; %(needed)s are due")
    ),
    "lead_missing": Template(
        "evidence", gettext_noop("submitted by the role %(role)s; a quality lead is due")
    ),
    "specimens_measured_too_few": Template(
        "evidence", gettext_noop("%(specimens)s specimens measured; %(needed)s are due")
    ),
    "specimens_judged_too_few": Template(
        "evidence", gettext_noop("%(specimens)s specimens judged by eye; %(needed)s are due")
    ),
}
TOLERANCES: dict[str, Template] = {
    "value_beyond": Template(
        "tolerances",
        gettext_noop(
            "specimen %(specimen)s under %(illuminant)s: %(value)s against at most %(limit)s "
            "(U %(uncertainty)s)"
        ),
    ),
    "value_between": Template(
        "tolerances",
        gettext_noop(
            "specimen %(specimen)s under %(illuminant)s: %(value)s lies within U %(uncertainty)s "
            "of the limit %(limit)s"
        ),
    ),
    "direction_never_accepted": Template(
        "tolerances",
        gettext_noop(
            "%(observer)s finds specimen %(specimen)s %(direction)s, which is never accepted"
        ),
    ),
}
DECISION: dict[str, Template] = {
    "zone_to_supplier": Template(
        "decision",
        gettext_noop("at rejection the zone belongs to the supplier: %(count)s values in it pass"),
    ),
    "zone_to_customer": Template(
        "decision",
        gettext_noop("at rejection the zone belongs to the customer: %(count)s values in it fail"),
    ),
    "panel_rejects": Template(
        "decision",
        gettext_noop("specimen %(specimen)s: %(rejects)s of %(votes)s observers reject"),
    ),
    "panel_undecided": Template(
        "decision",
        gettext_noop("specimen %(specimen)s: the panel rule gives no answer (%(accepts)s accept, "
                     "%(rejects)s reject)"),
    ),
    "instrument_conforming": Template(
        "decision",
        gettext_noop("by instrument %(nonconforming)s of %(n)s specimens nonconforming; "
                     "acceptance number %(ac)s"),
    ),
    "instrument_nonconforming": Template(
        "decision",
        gettext_noop("by instrument %(nonconforming)s of %(n)s specimens nonconforming; more than "
                     "the acceptance number %(ac)s"),
    ),
    "instrument_inconclusive": Template(
        "decision",
        gettext_noop("by instrument %(nonconforming)s of %(n)s specimens nonconforming and "
                     "%(undecided)s undecided; acceptance number %(ac)s"),
    ),
    "visual_conforming": Template(
        "decision",
        gettext_noop("by eye %(nonconforming)s of %(n)s specimens nonconforming; "
                     "acceptance number %(ac)s"),
    ),
    "visual_nonconforming": Template(
        "decision",
        gettext_noop("by eye %(nonconforming)s of %(n)s specimens nonconforming; more than the "
                     "acceptance number %(ac)s"),
    ),
    "visual_inconclusive": Template(
        "decision",
        gettext_noop("by eye %(nonconforming)s of %(n)s specimens nonconforming and "
                     "%(undecided)s undecided; acceptance number %(ac)s"),
    ),
    "combined": Template(
        "decision",
        gettext_noop("by the agreed table: by eye %(visual)s, by instrument %(instrument)s"),
    ),
}  # fmt: skip

REASONS: dict[str, Template] = {
    **OBSERVERS,
    **VIEWING,
    **REFERENCES,
    **MEASUREMENT,
    **EVIDENCE,
    **TOLERANCES,
    **DECISION,
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
