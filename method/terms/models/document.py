"""The document of terms: shared clauses, and parts with what they override."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import ConfigDict, Field, JsonValue, StringConstraints

from method.terms.models.base import About, AfterValidatedText, Frozen, Text
from method.terms.models.changes import Changes
from method.terms.models.decision import Decision
from method.terms.models.disputes import Disputes
from method.terms.models.evidence import Evidence
from method.terms.models.measurement import Measurement
from method.terms.models.observers import Observers
from method.terms.models.references import References
from method.terms.models.scope import Scope
from method.terms.models.tolerances import Tolerances
from method.terms.models.viewing import Viewing
from method.words import gettext_noop

SCHEMA = 2  # of new drafts
SCHEMAS = (1, 2)  # what is read, shown and judged
MAX_PARTS = 500
ClauseName = Literal[
    "scope", "observers", "viewing", "references", "measurement", "tolerances", "decision",
    "evidence", "disputes", "changes",
]  # fmt: skip
Line = Annotated[str, StringConstraints(max_length=200), AfterValidatedText]
PartId = Annotated[str, StringConstraints(pattern=r"^prt-[0-9a-z]{6,12}$")]


class Clauses(Frozen):
    """The ten clauses; silence in a new one."""

    scope: Scope = Scope()
    observers: Observers = Observers()
    viewing: Viewing = Viewing()
    references: References = References()
    measurement: Measurement = Measurement()
    tolerances: Tolerances = Tolerances()
    decision: Decision = Decision()
    evidence: Evidence = Evidence()
    disputes: Disputes = Disputes()
    changes: Changes = Changes()


class Part(Frozen):
    """A part in one colour, and where it departs from the shared clauses.

    `overrides[clause][field]` is a value as in the clause's own JSON; for a list of items it is
    {"own": [whole items], "without": [ids]}: an own item takes the place of the shared item with
    its id or is added, and the shared items named in "without" do not bind this part.
    """

    id: PartId
    number: Annotated[Line, About(gettext_noop("Part number"))] = ""
    name: Annotated[Line, About(gettext_noop("Part name"))] = ""
    colour: Annotated[Line, About(gettext_noop("Colour"))] = ""
    overrides: dict[ClauseName, dict[str, JsonValue]] = Field(default_factory=dict)


class Terms(Frozen):
    """The whole document; `schema_version` is written as "schema".

    Fields of a later schema than the document's are unsaid here and absent from its bytes.
    """

    model_config = ConfigDict(validate_by_name=True, validate_by_alias=True)

    schema_version: Literal[1, 2] = Field(default=2, alias="schema")
    title: Annotated[Line, About(gettext_noop("Title"))] = ""
    note: Annotated[Text, About(gettext_noop("Note"))] = ""
    shared: Clauses = Clauses()
    parts: Annotated[tuple[Part, ...], Field(max_length=MAX_PARTS)] = ()


class Resolved(Clauses):
    """The clauses as they bind one part; without a part, the shared ones."""

    schema_version: int = SCHEMA
    part_id: str = ""
    number: Line = ""
    name: Line = ""
    colour: Line = ""
