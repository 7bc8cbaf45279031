"""Terms as sentences, for pages and PDF: every field is said, also that it is not said."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from method.terms.describe import CLAUSE_TYPES, FieldInfo, fields_of
from method.terms.models import CLAUSES, Item, Resolved, Terms
from method.words import gettext_noop

NOT_SAID = gettext_noop("not said")
YES = gettext_noop("yes")
NO = gettext_noop("no")
_UNSAID_FIELD = gettext_noop("%(label)s: not said.")
_NO_ITEMS = gettext_noop("%(label)s: none.")
_PART = gettext_noop("Part %(number)s, %(name)s, colour %(colour)s.")
_AS_SHARED = gettext_noop("The shared clauses bind this part unchanged.")
_NOT_BINDING = gettext_noop("This does not bind this part: %(item)s")
_SEPARATOR = gettext_noop(", ")


class Word(str):
    """A parameter that is itself a template to translate."""

    __slots__ = ()


@dataclass(frozen=True)
class Sentence:
    """A template with named parameters.

    id      "tolerances.items.tol-3f8k2q" or "viewing.primary": the field, and the item in a list
    params  plain text, a Word to translate, a tuple of either, or another sentence
    part    the part it is about, or "" for the shared clauses
    said    False where the field is left open
    """

    id: str
    template: str
    params: Mapping[str, Any]
    part: str = ""
    said: bool = True


def render(sentence: Sentence, gettext: Callable[[str], str] = gettext_noop) -> str:
    """The sentence in the language of `gettext`."""
    params = {name: _rendered(value, gettext) for name, value in sentence.params.items()}
    return (gettext(sentence.template) % params).strip()


def _rendered(value: Any, gettext: Callable[[str], str]) -> str:
    if isinstance(value, Sentence):
        return render(value, gettext)
    if isinstance(value, tuple):
        return gettext(_SEPARATOR).join(_rendered(one, gettext) for one in value)
    return gettext(value) if isinstance(value, Word) else str(value)


def sentences(terms: Terms) -> list[tuple[str, list[Sentence]]]:
    """(clause, sentences) for the ten shared clauses, then ("parts", …) with each part's own."""
    shared, schema = terms.shared.model_dump(mode="json"), terms.schema_version
    sections = [(clause, list(_clause(clause, shared[clause], schema))) for clause in CLAUSES]
    return [*sections, ("parts", list(_parts(terms, shared)))]


def resolved_sentences(resolved: Resolved) -> list[tuple[str, list[Sentence]]]:
    """(clause, sentences) of the clauses as they bind one part."""
    plain = resolved.model_dump(mode="json")
    schema = resolved.schema_version
    return [(clause, list(_clause(clause, plain[clause], schema))) for clause in CLAUSES]


def _clause(clause: str, values: Mapping[str, Any], schema: int) -> Iterator[Sentence]:
    """The sentences of one clause, field by field in the order of the model."""
    for field in fields_of(clause, schema):
        yield from _field(clause, field, values[field.name])


def _field(clause: str, field: FieldInfo, value: Any, part: str = "") -> Iterator[Sentence]:
    """The sentences of one field: one, or one for each entry of a list."""
    place = f"{clause}.{field.name}"
    if field.item is not None:
        if not value:
            yield Sentence(place, _NO_ITEMS, {"label": Word(field.label)}, part, False)
        for row in value:
            yield item_sentence(place, field.item, row, part)
    elif value in (None, "", []):
        yield Sentence(place, _UNSAID_FIELD, {"label": Word(field.label)}, part, False)
    elif field.kind == "yes_no":
        about = field.about
        yield Sentence(place, about.says if value else about.says_not, {}, part)
    else:
        yield Sentence(place, field.about.says, {"value": _value(field, value)}, part)


def item_sentence(place: str, kind: type[Item], row: Mapping[str, Any], part: str = "") -> Sentence:
    """The sentence of one entry; `place` is "clause.list". A field that the entry's schema does
    not have reads as not said."""
    params = {field.name: _item_value(field, row.get(field.name)) for field in fields_of(kind)}
    return Sentence(f"{place}.{row['id']}", kind.SAYS, params, part)


def _item_value(field: FieldInfo, value: Any) -> Any:
    """A value within an entry's sentence; an empty note leaves no trace."""
    if field.kind == "yes_no":
        return Word(YES if value else NO)
    if value in (None, "", []):
        return "" if field.name == "note" else Word(NOT_SAID)
    return _value(field, value)


def _value(field: FieldInfo, value: Any) -> Any:
    """A value as a parameter: choices by their words in the order they are offered."""
    if field.kind == "choice":
        return Word(dict(field.choices)[value])
    if field.kind == "choices":
        return tuple(Word(words) for choice, words in field.choices if choice in value)
    return tuple(value) if isinstance(value, list) else str(value)


def _parts(terms: Terms, shared: Mapping[str, Any]) -> Iterator[Sentence]:
    """Each part's heading and where it departs from the shared clauses."""
    for part in terms.parts:
        head = {
            name: getattr(part, name) or Word(NOT_SAID) for name in ("number", "name", "colour")
        }
        yield Sentence(f"parts.{part.id}", _PART, head, part.id)
        if not part.overrides:
            yield Sentence(f"parts.{part.id}.shared", _AS_SHARED, {}, part.id)
        for clause in CLAUSES:
            values = part.overrides.get(clause, {})
            for field in fields_of(clause):
                if field.name in values:
                    yield from _override(
                        clause, field, values[field.name], shared[clause][field.name], part.id
                    )


def _override(
    clause: str, field: FieldInfo, value: Any, shared: Any, part: str
) -> Iterator[Sentence]:
    """The sentences of one overridden field; a list says what it does without."""
    if field.item is None:
        yield from _field(clause, field, value, part)
        return
    place = f"{clause}.{field.name}"
    for row in value["own"]:
        yield item_sentence(place, field.item, row, part)
    for row in shared:
        if row["id"] in value["without"]:
            gone = item_sentence(place, field.item, row, part)
            yield Sentence(f"{gone.id}.without", _NOT_BINDING, {"item": gone}, part)


def clause_title(clause: str) -> str:
    """The clause's title, to translate."""
    return CLAUSE_TYPES[clause].TITLE
