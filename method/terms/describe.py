"""What forms, labels, sentences and checks derive from: every field with its words and kind."""

from __future__ import annotations

import types
import typing
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Annotated, Any, Literal, cast, get_args, get_origin

import annotated_types
from pydantic import StringConstraints
from pydantic.fields import FieldInfo as PydanticField

from method.terms.models import CLAUSES, SCHEMA, About, Clause, Clauses, Item
from method.terms.models.base import Frozen

Kind = Literal[
    "text", "integer", "decimal", "yes_no", "choice", "choices", "day", "days", "items",
]  # fmt: skip

CLAUSE_TYPES: dict[str, type[Clause]] = {
    name: cast("type[Clause]", Clauses.model_fields[name].annotation) for name in CLAUSES
}


@dataclass(frozen=True)
class FieldInfo:
    """One field as a form needs it; words are templates for gettext.

    `suggest` is what a form proposes ("yes", a choice, a decimal's text, choices as a tuple) and
    `source` says where that comes from. `choices` are (value, words) in the order to show.
    """

    name: str
    kind: Kind
    about: About
    choices: tuple[tuple[str, str], ...] = ()
    item: type[Item] | None = None
    lowest: str = ""
    highest: str = ""
    longest: int = 0

    @property
    def label(self) -> str:
        """The field's name as people say it."""
        return self.about.label

    @property
    def help(self) -> str:
        """One sentence of explanation, or nothing."""
        return self.about.help

    @property
    def unit(self) -> str:
        """The unit spelled out, or nothing."""
        return self.about.unit

    @property
    def suggest(self) -> str | tuple[str, ...]:
        """What a form proposes; nothing is filled in by itself."""
        return self.about.suggest

    @property
    def source(self) -> str:
        """Where the proposal comes from."""
        return self.about.source


def fields_of(kind: type[Frozen] | str, schema: int = SCHEMA) -> tuple[FieldInfo, ...]:
    """The fields of a clause (its name or class), an item class, Part or Terms; ids left out.

    `schema`: as documents of that schema have them; of the newest where it is left out.
    """
    return tuple(field for field in _all_fields(kind) if field.about.since <= schema)


def later_fields(kind: type[Frozen] | str, schema: int) -> tuple[FieldInfo, ...]:
    """The fields that documents of a schema do not have yet."""
    return tuple(field for field in _all_fields(kind) if field.about.since > schema)


@cache
def _all_fields(kind: type[Frozen] | str) -> tuple[FieldInfo, ...]:
    model = CLAUSE_TYPES[kind] if isinstance(kind, str) else kind
    hints = typing.get_type_hints(model, include_extras=True)
    described = ((name, *unwrapped(hints[name])) for name in model.model_fields)
    return tuple(
        _described(name, base, extras)
        for name, base, extras in described
        if any(isinstance(extra, About) for extra in extras)
    )


def field_of(kind: type[Frozen] | str, name: str) -> FieldInfo | None:
    """One field, or None where there is no such field."""
    return next((field for field in fields_of(kind) if field.name == name), None)


@cache
def list_fields(kind: type[Clause]) -> tuple[str, ...]:
    """The names of the clause's lists of items."""
    return tuple(field.name for field in fields_of(kind) if field.kind == "items")


def unwrapped(hint: Any) -> tuple[Any, list[Any]]:
    """A hint without Annotated and `| None`, and everything annotated on the way."""
    extras: list[Any] = []
    while True:
        origin = get_origin(hint)
        if origin is Annotated:
            hint, *found = get_args(hint)
            extras += found
        elif origin in (types.UnionType, typing.Union):
            hint = next(arg for arg in get_args(hint) if arg is not type(None))
        else:
            return hint, extras


def _described(name: str, base: Any, extras: list[Any]) -> FieldInfo:
    """One field from its unwrapped hint."""
    about = next(extra for extra in extras if isinstance(extra, About))
    kind, item = _kind(base)
    low, high, long = _bounds(extras)
    return FieldInfo(name, kind, about, tuple(about.choices.items()), item, low, high, long)


def _kind(base: Any) -> tuple[Kind, type[Item] | None]:
    """The kind of a field, and the item class of a list."""
    if get_origin(base) is Literal:
        return "choice", None
    if get_origin(base) is tuple:
        inner, _ = unwrapped(get_args(base)[0])
        if isinstance(inner, type) and issubclass(inner, Item):
            return "items", inner
        return ("days" if inner is date else "choices"), None
    simple: dict[Any, Kind] = {
        bool: "yes_no", int: "integer", Decimal: "decimal", date: "day", str: "text",
    }  # fmt: skip
    return simple[base], None


def _bounds(extras: list[Any]) -> tuple[str, str, int]:
    """Least and greatest value as text, and the greatest length of text."""
    low, high, long = "", "", 0
    for extra in extras:
        for rule in extra.metadata if isinstance(extra, PydanticField) else [extra]:
            if isinstance(rule, annotated_types.Ge):
                low = str(rule.ge)
            elif isinstance(rule, annotated_types.Le):
                high = str(rule.le)
            elif isinstance(rule, StringConstraints) and rule.max_length is not None:
                long = rule.max_length
    return low, high, long
