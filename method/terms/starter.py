"""Starter terms: what forms propose, filled in, so that a draft begins with something to change.

Names, materials, the time zone, signatories and dates stay open: nobody can propose these.
"""

from __future__ import annotations

import random
from typing import Any, Literal

from method.terms.combination import Template, combination_template
from method.terms.describe import fields_of
from method.terms.document import from_document
from method.terms.models import CLAUSES, SCHEMA, Item, Terms, new_id
from method.terms.models.changes import ChangeNotice
from method.terms.models.disputes import RemedyItem
from method.terms.models.evidence import EvidenceDue
from method.terms.models.tolerances import Tolerance
from method.terms.models.viewing import ViewingAngle
from method.terms.typed import read

Starter = Literal["spectral", "visual"]
Json = dict[str, Any]

# Fields that bind readings only: left open where no instrument is used.
_READINGS_ONLY = {
    ("references", "target"),
    ("references", "drift_limit"),
    ("references", "duplicate_limit"),
    ("decision", "rule_at_release"),
    ("decision", "rule_at_rejection"),
    ("decision", "zone_at_rejection"),
    ("decision", "uncertainty_kind"),
    ("decision", "uncertainty_value"),
    ("decision", "coverage_factor"),
    ("decision", "rounding"),
}
_YES = (
    ("observers", "correction_worn"),
    ("observers", "training_required"),
    ("observers", "borrowed"),
    ("observers", "neutral_clothing"),
    ("references", "sealed_pairs"),
    ("disputes", "joint_test"),
)


def starter(name: Starter, source: random.Random | None = None) -> Terms:
    """Starter terms: "spectral" (instrument and panel must both conform) or "visual" (panel only).

    `source` gives the ids; random.SystemRandom() where it is left out.
    """
    dice = source or random.SystemRandom()
    shared: dict[str, Json] = {clause: suggested(clause) for clause in CLAUSES}
    for clause, field in _YES:
        shared[clause][field] = True
    if name == "visual":
        shared["measurement"] = {"instrument": "none"}
        for clause, field in _READINGS_ONLY:
            shared[clause].pop(field, None)
    template: Template = "visual" if name == "visual" else "both"
    shared["decision"]["combination"] = [
        row.model_dump(mode="json") for row in combination_template(template, dice)
    ]
    shared["decision"]["strata"] = ["batch"]
    shared["viewing"]["angles"] = [_item(ViewingAngle, dice)]
    if name == "spectral":
        shared["tolerances"]["items"] = [
            _item(Tolerance, dice, illuminant=illuminant) for illuminant in ("D65", "A", "F11")
        ]
    shared["evidence"]["items"] = _evidence(name, dice)
    shared["disputes"]["remedies"] = [
        _item(RemedyItem, dice, kind=kind, days=10) for kind in ("sort", "replace", "credit")
    ]
    shared["changes"]["notices"] = [
        _item(ChangeNotice, dice, what=what, duty="resubmit")
        for what in ("pigment", "resin", "tool", "line", "site")
    ] + [_item(ChangeNotice, dice, what="lamp_type", duty="compare_again")]
    return from_document({"schema": SCHEMA, "shared": shared})


def suggested(kind: type[Item] | str) -> Json:
    """What forms propose for a clause or an item, as JSON values; the rest is unsaid."""
    values: Json = {}
    for field in fields_of(kind):
        if field.suggest:
            values[field.name], wrong = read(field, field.suggest)
            if wrong:
                raise ValueError(f"the proposal for {field.name} cannot be read: {wrong}")
    return values


def _item(kind: type[Item], source: random.Random, /, **values: Any) -> Json:
    """One item with its proposals and the values given."""
    return {"id": new_id(kind.PREFIX, source), **suggested(kind), **values}


def _evidence(name: Starter, source: random.Random) -> list[Json]:
    """Judgements on every occasion, and readings where an instrument is used; required."""
    kinds = ("visual",) if name == "visual" else ("spectral", "visual")
    sides = {"first_article": "supplier", "release": "supplier", "rejection": "customer"}
    return [
        _item(EvidenceDue, source, what=what, occasion=occasion, supplied_by=side)
        for occasion, side in sides.items()
        for what in kinds
    ]
