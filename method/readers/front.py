"""The front door of the readers: bytes in, what was understood and what must be asked out.

``read`` tells the form of a file by its content, finds its tables, and shows one with everything
odd about it; ``resolve`` makes the packed set of it under the answers; ``replay`` repeats both from
a frozen mapping, of this version or of an earlier one. Nothing is guessed silently.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from ledger.canonical import CanonicalError, parse
from method.packed import PackedError, PackedSet
from method.readers import csv as first_version
from method.readers.answers import condition
from method.readers.comparing import compared
from method.readers.documents import Document, document_of
from method.readers.errors import ReadError
from method.readers.formats import misleading
from method.readers.found import Found
from method.readers.questions import Choice, Question
from method.readers.reading import (
    PARSED,
    SECOND,
    VERSION,
    Hints,
    Oddity,
    Reading,
    TableShown,
    chosen_reading,
    scale_under,
)
from method.readers.spectra import factors, grid_notes, value_notes, weighed
from method.readers.tabular import Parsed
from method.readers.values import Note, Scale


def read(data: bytes, hints: Hints | str) -> Reading:
    """Return what was understood of a file; ReadError where nothing can be.

    hints: the file's name, or more. A file without spectra is read as well: ``resolve`` refuses it.
    """
    return _read(data, Hints(hints) if isinstance(hints, str) else hints, {})


def resolve(reading: Reading, answers: Mapping[str, str]) -> PackedSet:
    """Return the packed set of a reading under the answers to its questions.

    answers: question id to choice value; besides, any of packed.CONDITION_KEYS (free text) as the
    condition. Values are stored as factors. Raises ReadError for missing, unknown and invalid
    answers, for what is no reflectance, and for whatever the answered structure brings to light.
    """
    chosen, said = chosen_reading(reading, answers)
    values = factors(chosen.values, scale_under(chosen, said))
    wavelengths = tuple(int(nm) for nm in chosen.wavelengths)
    try:
        return PackedSet(wavelengths, chosen.labels, values, condition(said))
    except PackedError as error:
        params = {"question": error.id, "answer": error.detail}
        raise ReadError("answer-invalid", chosen.name, field=error.id, params=params) from error


def replay(data: bytes, mapping: bytes, name: str = "file") -> PackedSet:
    """Return the packed set that a file and its frozen mapping give; ReadError if they disagree."""
    try:
        document = parse(mapping)
        if isinstance(document, dict) and document.get("reader") == first_version.VERSION:
            return first_version.replay(data, mapping, name)
        answers = document["answers"]
        second = document.get("reader") == SECOND
        reading = read(data, Hints(name, version=SECOND if second else VERSION))
        same = isinstance(answers, dict) and reading.mapping(answers) == mapping
    except (CanonicalError, KeyError, TypeError) as error:
        raise ReadError("mapping-differs", name) from error
    if not same:
        raise ReadError("mapping-differs", name)
    return resolve(reading, answers)


@dataclass(frozen=True)
class _Shown:
    """The table shown of a file, read under answers about its structure, without its source."""

    document: Document  # its tables are let go: a reading is kept longer than they should be
    delimiter: str
    tables: tuple[TableShown, ...]
    number: int
    parsed: Parsed
    scale: Scale
    questions: tuple[Question, ...]
    given: Mapping[str, str]


def _read(data: bytes, hints: Hints, chosen: Mapping[str, str]) -> Reading:
    """Read under the structural answers given so far; open ones are asked again."""
    document = document_of(data, hints.name, chosen, sorts=hints.version != SECOND)
    tables = _tables(document)
    number, asked, given = _selected(tables, hints, chosen)
    parsed = document.parsed(number)
    scale, more = weighed(parsed, hints.name)
    shown = _Shown(
        replace(document, sources=[], kept={}),
        document.delimiter(number),
        tuple(tables),
        number,
        parsed,
        scale,
        (*asked, *parsed.questions, *more),
        given,
    )
    parsed.found.values.setflags(write=False)
    return _reading(data, hints, shown, chosen)


def _reading(data: bytes, hints: Hints, shown: _Shown, chosen: Mapping[str, str]) -> Reading:
    """Return a table as it looks under answers about its values: their scale, and what they are."""
    document, found, parsed = shown.document, shown.parsed.found, shown.parsed
    scale, questions = _answered(shown, chosen)
    light = any(one.id == "surface" for one in questions) and chosen.get("surface") != "surface"
    comparisons, differ = ([], []) if light else compared(found, scale)
    notes = [*document.notes, *_unread(shown.tables), *found.notes, *parsed.notes]
    notes += [*grid_notes(found), *value_notes(found, scale), *differ]
    notes += misleading(hints.name, hints.media_type, document.form, shown.delimiter)

    def again(answers: Mapping[str, str]) -> Reading:
        same = all(answers.get(id) == chosen.get(id) for id in PARSED)
        if same and not (hints.sheet or hints.table):
            return _reading(data, hints, shown, answers)
        return _read(data, replace(hints, sheet="", table=""), answers)

    return Reading(
        name=hints.name,
        data=data,
        format=document.format,
        encoding=document.encoding,
        delimiter=shown.delimiter,
        decimal_mark={".": "point", ",": "comma"}[parsed.decimal_mark],
        tables=shown.tables,
        table=shown.number,
        quantity=found.quantity,
        layout=found.layout,
        header_line=found.header_line,
        wavelengths=found.wavelengths,
        columns=found.columns,
        label_column=found.label_column,
        labels=found.labels,
        lines=found.lines,
        values=found.values,
        scale=shown.scale,
        condition=found.condition,
        stated=found.stated,
        comparisons=tuple(comparisons),
        oddities=tuple(Oddity(id, params) for id, params in notes),
        questions=questions,
        again=again,
        version=hints.version,
        given=shown.given,
        answers=dict(chosen),
    )


def _answered(shown: _Shown, chosen: Mapping[str, str]) -> tuple[Scale, tuple[Question, ...]]:
    """Return the scale under an answer to its question, and the questions that remain to be put.

    Of light the scale is not asked: whatever it is, nothing can be read.
    """
    asked = {one.id: one for one in shown.questions}
    if "surface" in asked and chosen.get("surface") == "emission":
        asked.pop("scale", None)
    scale = shown.scale
    if "scale" in asked and chosen.get("scale") in ("percent", "factor"):
        scale = scale._replace(scale=chosen["scale"])
    return scale, tuple(asked.values())


def _tables(document: Document) -> list[TableShown]:
    """Return every table as it is offered; the one table of a file must be readable.

    Of several, one that cannot be taken is offered with its fault.
    """
    if len(document.sources) == 1:
        return [_shown(document, 1, document.parsed(1).found, None)]
    return [_tried(document, number) for number in range(1, len(document.sources) + 1)]


def _tried(document: Document, number: int) -> TableShown:
    """Return one of several tables as it is offered."""
    found = None
    try:
        parsed = document.parsed(number)
        found = parsed.found
        weighed(parsed, document.name)
    except ReadError as error:
        return _shown(document, number, found, error)
    return _shown(document, number, found, None)


def _shown(
    document: Document, number: int, found: Found | None, error: ReadError | None
) -> TableShown:
    nm = found.wavelengths if found else ()
    line = (error.line if error else None) or 0
    return TableShown(
        number=number,
        name=found.name if found else "",
        sheet=document.sheet(number),
        quantity=found.quantity if found else "unknown",
        readings=len(found.labels) if found else 0,
        bands=len(nm),
        start=nm[0] if nm else None,
        stop=nm[-1] if nm else None,
        line=found.header_line if found else line,
        error=error,
    )


def _selected(
    shown: Sequence[TableShown], hints: Hints, chosen: Mapping[str, str]
) -> tuple[int, list[Question], dict[str, str]]:
    """Return the table to show, the question which one is meant, and what hints answer of it.

    Tables without spectra are no choice; one that cannot be read is, so that no other one is taken
    in silence. Raises ReadError for hints that fit no table.
    """
    usable = [one for one in shown if one.bands or one.error is not None]
    hinted = [one for one in usable if _fits(one, hints)]
    if (hints.table or hints.sheet) and not hinted:
        wanted = hints.table or hints.sheet
        raise ReadError("no-such-table", hints.name, params={"table": wanted[:40]})
    if len(usable) < 2:
        return (usable or list(shown))[0].number, [], {}
    if len(hinted) == 1:
        return hinted[0].number, [], {"table": str(hinted[0].number)}
    choices = tuple(Choice(str(one.number), None, one.text) for one in usable)
    question = Question("table", choices, None, {"count": str(len(usable))})
    answer = [one for one in usable if str(one.number) == chosen.get("table")]
    readable = [one for one in usable if one.error is None]
    return (answer or readable or usable)[0].number, [question], {}


def _fits(one: TableShown, hints: Hints) -> bool:
    """Tell whether a table is the one, or one of those, that hints mean."""
    on_sheet = not hints.sheet or one.sheet == hints.sheet
    return on_sheet and (not hints.table or hints.table in (str(one.number), one.name))


def _unread(shown: Sequence[TableShown]) -> list[Note]:
    """Return the oddity that tables cannot be read, where others can."""
    bad = [one for one in shown if one.error is not None]
    if not bad or len(shown) == 1:
        return []
    return [("tables-unread", {"count": str(len(bad)), "number": str(bad[0].number)})]
