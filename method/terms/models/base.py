"""What the ten clauses are made of: base classes, field types, and the words beside a field.

Silence is never filled in: a field nobody filled is `None`, "" or an empty list in the bytes, and
`About.suggest` is only what a form proposes. Every field is written, so that signed bytes never
depend on a default of the program. Field types, spellings and names are final once a schema is out;
what a later schema adds carries `About.since`, and documents of an earlier one go without it.
"""

from __future__ import annotations

import random
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Annotated, Any, ClassVar, Self, TypeVar

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainSerializer,
    StringConstraints,
    WithJsonSchema,
    model_validator,
)
from pydantic_core import PydanticCustomError

from ledger.canonical import decimal_text
from method.words import gettext_noop

# Where a suggested value comes from. Memory is never presented as a citation.
PRACTICE = gettext_noop("common practice, no published source")
MEMORY = gettext_noop("from memory")
ISO_3668 = gettext_noop("ISO 3668:2017, 5.2")

DECIMAL_PATTERN = r"-?(0|[1-9][0-9]{0,8})(\.[0-9]{1,6})?"
ID_PATTERN = r"^[a-z]{3}-[0-9a-z]{6,12}$"
ID_ALPHABET = "0123456789abcdefghjkmnpqrstvwxyz"  # no i, l, o, u: read aloud without mistakes
MAX_ITEMS = 200


@dataclass(frozen=True)
class About:
    """The words beside one field; `says` and `says_not` are its sentence (%(value)s).

    glossary  entries of method.glossary that explain the words used here
    since  the schema that brought the field: documents of an earlier one do not have it
    was    what documents without the field meant, as it would be typed; "" where they said nothing
    """

    label: str
    help: str = ""
    unit: str = ""
    suggest: str | tuple[str, ...] = ""
    source: str = ""
    choices: Mapping[str, str] = field(default_factory=dict)
    says: str = ""
    says_not: str = ""
    glossary: tuple[str, ...] = ()
    since: int = 1
    was: str = ""


def new_id(prefix: str, source: random.Random) -> str:
    """A fresh id such as "tol-3f8k2q"; `source` is random.SystemRandom() outside tests."""
    return f"{prefix}-" + "".join(source.choice(ID_ALPHABET) for _ in range(6))


def _decimal(value: Any) -> Decimal:
    """A Decimal from plain decimal text or a Decimal; numbers and exponents are refused."""
    if isinstance(value, Decimal):
        value = decimal_text(value)
    if not isinstance(value, str) or not re.fullmatch(DECIMAL_PATTERN, value):
        raise PydanticCustomError("not_a_decimal", "a decimal is written as text: 0.60")
    return Decimal(value)


def _text(value: str) -> str:
    """Text in normal form C without control characters other than the line feed."""
    if any(unicodedata.category(char) in ("Cc", "Cs") and char != "\n" for char in value):
        raise PydanticCustomError("control_character", "text contains a control character")
    return unicodedata.normalize("NFC", value)


def _day(value: Any) -> Any:
    """A day from its one spelling; the years stay within four digits."""
    if isinstance(value, str):
        if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value):
            raise PydanticCustomError("not_a_day", "a day is written YYYY-MM-DD")
        try:
            return date.fromisoformat(value)
        except ValueError:
            raise PydanticCustomError("not_a_day", "there is no such day") from None
    return value


T = TypeVar("T", str, date)


def _as_set(values: tuple[T, ...]) -> tuple[T, ...]:
    """A set's one spelling: sorted, each value once (the identity of a value is itself)."""
    return tuple(sorted(set(values)))


Number = Annotated[
    Decimal,
    BeforeValidator(_decimal),
    PlainSerializer(decimal_text, return_type=str),
    WithJsonSchema({"type": "string", "pattern": f"^{DECIMAL_PATTERN}$"}),
]
Positive = Annotated[Number, Field(ge=0)]
Count = Annotated[int, Field(ge=0, le=1_000_000)]
Text = Annotated[str, StringConstraints(max_length=4000), AfterValidator(_text)]
ItemId = Annotated[str, StringConstraints(pattern=ID_PATTERN)]
Day = Annotated[date, BeforeValidator(_day), PlainSerializer(date.isoformat, return_type=str)]
AsSet = AfterValidator(_as_set)
AfterValidatedText = AfterValidator(_text)
Days = Annotated[tuple[Day, ...], AsSet]


class Frozen(BaseModel):
    """Base of every part of the terms: frozen, strict, unknown fields refused."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        strict=True,
        allow_inf_nan=False,
        json_schema_serialization_defaults_required=True,
    )


class Clause(Frozen):
    """One of the ten groups of terms."""

    TITLE: ClassVar[str]


class Item(Frozen):
    """A numbered entry in a list of a clause; `id` is stable over all revisions."""

    PREFIX: ClassVar[str]
    NAME: ClassVar[str]
    SAYS: ClassVar[str]

    id: ItemId

    @model_validator(mode="after")
    def _prefixed(self) -> Self:
        if not self.id.startswith(f"{self.PREFIX}-"):
            raise PydanticCustomError("wrong_id", "the id does not begin with its list's prefix")
        return self
