"""The typed terms of every schema version (frozen: a field is added by a later schema only)."""

from method.terms.models.base import About, Clause, Item, new_id
from method.terms.models.changes import ChangeNotice, Changes, Signatory
from method.terms.models.decision import Combination, Decision
from method.terms.models.disputes import Disputes, RemedyItem
from method.terms.models.document import (
    SCHEMA,
    SCHEMAS,
    ClauseName,
    Clauses,
    Part,
    Resolved,
    Terms,
)
from method.terms.models.evidence import Evidence, EvidenceDue
from method.terms.models.measurement import Measurement, Place
from method.terms.models.observers import Observers
from method.terms.models.references import LimitSample, References, TargetValue
from method.terms.models.scope import MatingPart, Scope
from method.terms.models.tolerances import Tolerance, Tolerances
from method.terms.models.viewing import Viewing, ViewingAngle

CLAUSES: tuple[ClauseName, ...] = (
    "scope", "observers", "viewing", "references", "measurement", "tolerances", "decision",
    "evidence", "disputes", "changes",
)  # fmt: skip

__all__ = [
    "CLAUSES", "SCHEMA", "SCHEMAS", "About", "ChangeNotice", "Changes", "Clause", "ClauseName",
    "Clauses", "Combination", "Decision", "Disputes", "Evidence", "EvidenceDue", "Item",
    "LimitSample", "MatingPart", "Measurement", "Observers", "Part", "Place", "References",
    "RemedyItem", "Resolved", "Scope", "Signatory", "TargetValue", "Terms", "Tolerance",
    "Tolerances", "Viewing", "ViewingAngle", "new_id",
]  # fmt: skip
