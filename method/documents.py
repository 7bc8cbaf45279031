"""Field types and base classes shared by the documents that evidence and verdicts are made of.

Rules that hold for every document built on these: `None` is left out of the bytes; decimals,
days and moments travel as text in one spelling each; lists are sorted by content, so that the
order in which things were typed or uploaded never reaches the digest. A field added by a later
version must default to `None`, so that documents written before it keep their bytes.
"""

from __future__ import annotations

import itertools
import re
import unicodedata
from collections.abc import Callable, Iterable
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Annotated, Any, TypeVar

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    PlainSerializer,
    StringConstraints,
    model_validator,
)

from ledger.canonical import canonical_bytes, decimal_text, digest

_DECIMAL = re.compile(r"-?(0|[1-9][0-9]{0,11})(\.[0-9]{1,12})?")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_MOMENT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}Z")


def _decimal(value: Any) -> Decimal:
    """A Decimal from a Decimal, an int or plain decimal text; floats and exponents are refused."""
    if isinstance(value, bool) or not isinstance(value, (Decimal, int, str)):
        raise ValueError('a decimal is written as text, for example "0.60"')
    text = value if isinstance(value, str) else decimal_text(Decimal(value))
    if not _DECIMAL.fullmatch(text):
        raise ValueError(f'{text[:20]!r} is not a plain decimal such as "0.60"')
    return Decimal(text)


def _day(value: Any) -> date:
    if isinstance(value, datetime):
        raise ValueError("a day is expected, not a moment")
    if isinstance(value, date):
        return value
    if isinstance(value, str) and _DAY.fullmatch(value):
        return date.fromisoformat(value)
    raise ValueError("a day is written YYYY-MM-DD")


def _moment(value: Any) -> datetime:
    """A UTC moment to the second; the entry in the chain keeps the finer time."""
    if isinstance(value, str) and _MOMENT.fullmatch(value):
        return datetime.fromisoformat(value)
    if isinstance(value, datetime) and value.tzinfo is not None:
        return value.astimezone(UTC).replace(microsecond=0)
    raise ValueError("a moment is an aware time, written YYYY-MM-DDThh:mm:ssZ")


def moment_text(value: datetime) -> str:
    """The one spelling of a moment: UTC, to the second, with Z."""
    return value.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _nfc(value: str) -> str:
    if "\0" in value or any("\ud800" <= char <= "\udfff" for char in value):
        raise ValueError("text contains NUL or a lone surrogate")
    return unicodedata.normalize("NFC", value)


Number = Annotated[
    Decimal, BeforeValidator(_decimal), PlainSerializer(decimal_text, return_type=str)
]
Day = Annotated[date, BeforeValidator(_day), PlainSerializer(date.isoformat, return_type=str)]
Moment = Annotated[
    datetime, BeforeValidator(_moment), PlainSerializer(moment_text, return_type=str)
]
Text = Annotated[
    str, StringConstraints(min_length=1, max_length=300, strict=True), AfterValidator(_nfc)
]
Word = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_]{0,63}$", strict=True)]
Digest = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$", strict=True)]
Id = Annotated[str, StringConstraints(pattern=r"^([0-9a-f]{32})?$", strict=True)]


class Document(BaseModel):
    """Base of every part of a document: frozen, unknown fields refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    def plain(self) -> dict[str, Any]:
        """The JSON value of this part; `None` is left out."""
        return self.model_dump(mode="json", exclude_none=True)


class Identified(Document):
    """A part whose `id` derives from its content: filled when built, checked when read."""

    id: Id = ""

    @model_validator(mode="after")
    def _identify(self) -> Identified:
        expected = content_id(self)
        if self.id == "":
            object.__setattr__(self, "id", expected)
        elif self.id != expected:
            raise ValueError(f"id {self.id} does not derive from the content")
        return self


def content_id(part: Identified) -> str:
    """128 bits of the SHA-256 over the canonical bytes of everything but the id."""
    value = part.model_dump(mode="json", exclude_none=True, exclude={"id"})
    return digest(canonical_bytes(value))[:32]


P = TypeVar("P", bound=Identified)
T = TypeVar("T")


def by_id(parts: Iterable[P]) -> tuple[P, ...]:
    """Parts in the order of their content ids; the same part handed in twice is one part."""
    unique = {part.id: part for part in parts}
    return tuple(unique[key] for key in sorted(unique))


def sorted_by(parts: Iterable[T], key: Callable[[T], Any], what: str) -> tuple[T, ...]:
    """Parts in the order of `key`; two parts with one key are refused as a repetition."""
    ordered = sorted(parts, key=key)
    for one, other in itertools.pairwise(ordered):
        if key(one) == key(other):
            raise ValueError(f"{what} {key(one)} appears twice")
    return tuple(ordered)
