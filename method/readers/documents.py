"""A file's tables before one of them is chosen: found by its form, each read when asked for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from method.readers.blocks import Block, blocks_of
from method.readers.chosen import counted
from method.readers.cxf import read_cxf
from method.readers.errors import ReadError
from method.readers.formats import form_of, root_of
from method.readers.found import MAX_TABLES, Contents, Found
from method.readers.framed import is_framed
from method.readers.lamps import read_contents
from method.readers.layout import LEAST_BANDS
from method.readers.questions import emission_question
from method.readers.remarks import number_cut, quotes_inside
from method.readers.spectra import thinned
from method.readers.tabular import Parsed, parse_block
from method.readers.text import Decoded, check_lines, decode
from method.readers.texts import framed_blocks, plain_blocks, remarks_like_readings, several
from method.readers.values import Note
from method.readers.xlsx import read_sheets


@dataclass
class Document:
    """A file's tables, from 1. form: as formats.form_of; format: key of words.FORMATS."""

    name: str
    form: str
    format: str
    chosen: Mapping[str, str]
    sources: list[Block | Found]
    notes: list[Note] = field(default_factory=list)
    encoding: str = ""
    kept: dict[int, Parsed | ReadError] = field(default_factory=dict)
    sorts: bool = True  # whether it is asked which readings count

    def parsed(self, number: int) -> Parsed:
        """Return a table as read under the answers that are meant for it.

        Raises ReadError naming the first fault in it; the same again when asked again.
        """
        if number not in self.kept:
            try:
                self.kept[number] = self._parse(number)
            except ReadError as error:
                self.kept[number] = error
        kept = self.kept[number]
        if isinstance(kept, ReadError):
            raise kept
        return kept

    def _parse(self, number: int) -> Parsed:
        """Return a table as it stands, with what must be asked of which readings count."""
        meant = len(self.sources) == 1 or self.chosen.get("table") == str(number)
        parsed = self._whole(number)
        if not self.sorts:
            return parsed
        found, asked, notes = counted(
            parsed.found, parsed.modes, parsed.left, parsed.notes, self.chosen if meant else {}
        )
        questions = [*parsed.questions, *asked]
        return replace(parsed, found=found, questions=questions, notes=notes)

    def _whole(self, number: int) -> Parsed:
        meant = len(self.sources) == 1 or self.chosen.get("table") == str(number)
        chosen = self.chosen if meant else {}
        source = self.sources[number - 1]
        if isinstance(source, Block):
            return parse_block(source, chosen, self.name)
        found, questions = thinned(source, chosen, self.name)
        return Parsed(found, questions)

    def delimiter(self, number: int) -> str:
        """Return the word for what parts a table's cells; "" where nothing does."""
        source = self.sources[number - 1]
        return source.delimiter if isinstance(source, Block) else ""

    def sheet(self, number: int) -> str:
        """Return the sheet a table stands on, or nothing."""
        source = self.sources[number - 1]
        return source.sheet if isinstance(source, Block) else ""


def document_of(
    data: bytes, name: str, chosen: Mapping[str, str], *, sorts: bool = True
) -> Document:
    """Return the tables of a file. Raises ReadError where its form holds none, or too many.

    chosen: answers to questions of structure given so far; sorts: whether it is asked which of a
    table's readings count, as the second version of the reader did not.
    """
    document = _document(data, name, chosen)
    if not sorts:
        document = replace(document, sorts=False, kept={})
    if len(document.sources) > MAX_TABLES:
        raise ReadError("too-many-tables", name, params={"limit": str(MAX_TABLES)})
    return document


def _document(data: bytes, name: str, chosen: Mapping[str, str]) -> Document:
    form = form_of(data)
    if form == "workbook":
        return _workbook(data, name, chosen)
    if form == "xml":
        read = read_cxf if root_of(data).lower() == "cxf" else read_contents
        return _of_contents(read(data, name), "xml", name, chosen)
    decoded = decode(data, name)
    check_lines(decoded.text, name)
    document = _text(data, decoded, name, chosen)
    if decoded.guessed:
        document.notes.insert(0, ("encoding-guessed", {"encoding": decoded.encoding}))
    count = remarks_like_readings(decoded.text)
    if count:
        document.notes.append(("remarks-like-readings", {"count": str(count)}))
    document.encoding = decoded.encoding
    word = document.delimiter(1)
    document.notes += [*quotes_inside(decoded.text, word), *number_cut(decoded.text, word)]
    return document


def _of_contents(contents: Contents, form: str, name: str, chosen: Mapping[str, str]) -> Document:
    return Document(
        name, form, contents.format, chosen, list(contents.tables), list(contents.notes)
    )


def _workbook(data: bytes, name: str, chosen: Mapping[str, str]) -> Document:
    """Return the tables of all sheets."""
    sources: list[Block | Found] = []
    notes: list[Note] = []
    for sheet in read_sheets(data, name):
        made = blocks_of(sheet.rows, name, sheet=sheet.name)
        sources += made
        notes += sheet.notes if made else ()
    if not sources:
        raise ReadError("no-wavelengths", name, params={"least": str(LEAST_BANDS)})
    return Document(name, "workbook", "xlsx", chosen, sources, notes)


def _text(data: bytes, decoded: Decoded, name: str, chosen: Mapping[str, str]) -> Document:
    """Return the tables of a text: framed, plain, or else a lamp's."""
    if is_framed(decoded.text):
        framed, notes = framed_blocks(decoded.text, name)
        return Document(name, "text", "framed-text", chosen, [*framed], notes)
    try:
        return _plain(decoded.text, name, chosen)
    except ReadError as error:
        lamp = _lamp(data, decoded, name)
        if lamp is None:
            raise
        # the answers may be for the table that failed: the fault is theirs, not the file's
        if chosen and error.id in ("bands-declined",):
            raise
        return _of_contents(lamp, "text", name, chosen)


def _plain(text: str, name: str, chosen: Mapping[str, str]) -> Document:
    """Return the tables of a text without a frame."""
    blocks, single = plain_blocks(text, name)
    if single is None:
        return Document(name, "text", "text", chosen, [*blocks])
    document = Document(name, "text", "text", chosen, [single])
    try:
        document.parsed(1)
    except ReadError:
        blocks = several(single, name)
        if len(blocks) < 2:
            raise
        return Document(name, "text", "text", chosen, [*blocks])
    return document


def _lamp(data: bytes, decoded: Decoded, name: str) -> Contents | None:
    """Return the light in a text that speaks of lamps, where it can be read as such."""
    if not emission_question(decoded.text[:20_000]):
        return None
    try:
        return read_contents(data, name)
    except ReadError:
        return None
