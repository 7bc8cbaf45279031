"""The hostile set: every file is read or refused in words of its own, in bounded time and memory.

Each file is read in a process of its own. Bounds: 2 seconds of processor time and 300 MB above
what the process held before, for files up to the readers' limit of 64 MiB.
"""

import json
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from method.readers import words
from tests.method import make_hostile

pytestmark = pytest.mark.slow
SECONDS, MEGABYTES = 2.0, 300.0


@dataclass(frozen=True)
class Refused:
    """When read, or (later) when the answers are given; line and column where they are known."""

    id: str
    line: int | None = None
    column: int | None = None
    later: bool = False


@dataclass(frozen=True)
class Read:
    """Read and resolved, with exactly these oddities and questions; labels where they matter."""

    oddities: frozenset = frozenset()
    questions: frozenset = frozenset()
    labels: tuple | None = None


def read(*oddities, asks=(), labels=None):
    """What is read."""
    return Read(frozenset(oddities), frozenset(asks), labels)


def refused(id, line=None, column=None):
    """What is refused when it is read."""
    return Refused(id, line, column)


def later(id, line=None):
    """What is refused when the answers are given."""
    return Refused(id, line, None, later=True)


TEXT = {
    "nothing.csv": refused("empty"),
    "only-blanks.txt": refused("empty"),
    "only-a-header.csv": refused("no-readings", 1),
    "no-wavelengths.csv": later("no-spectra", 1),
    "nul-in-a-cell.csv": refused("control-character", 3, 20),
    "nul-in-a-label.csv": refused("control-character", 3, 2),
    "escape-sequence-in-a-label.csv": refused("control-character", 3, 1),
    "nan-for-a-number.csv": refused("not-number", 3, 4),
    "infinity-for-a-number.csv": refused("not-number", 3, 4),
    "minus-zero.csv": read(),
    "1e308-for-a-number.csv": refused("not-reflectance"),
    "1e999-for-a-number.csv": refused("not-number", 3, 4),
    "1e-320-for-a-number.csv": read(),
    "number-of-5000-digits.csv": refused("not-number", 3, 4),
    "number-of-5000-decimals.csv": read(),
    "number-in-other-digits.csv": refused("not-number", 3, 4),
    "hexadecimal-for-a-number.csv": refused("not-number", 3, 4),
    "utf-16-le-with-mark.csv": read(),
    "utf-16-be-with-mark.csv": read(),
    "utf-16-le-without-mark.csv": read("encoding-guessed"),
    "utf-16-be-without-mark.csv": read("encoding-guessed"),
    "utf-16-cut-in-a-character.csv": refused("encoding", 4),
    "utf-32.csv": refused("control-character", 1, 2),
    "utf-8-with-mark.csv": read(),
    "utf-7-looking.csv": read(labels=("a", "+AGEAYg-", "c")),
    "surrogates-as-cesu-8.csv": read("encoding-guessed"),
    "surrogate-alone-in-utf-16.csv": refused("encoding", 3),
    "carriage-returns-only.csv": read(),
    "line-ends-mixed.csv": read(labels=("a", "b", "c")),
    "line-separators-of-unicode-in-labels.csv": read(labels=("a\u2028b", "c\x85d", "e")),
    "cut-in-a-row.csv": refused("cells-missing", 4, 32),
    "cut-in-a-quoted-cell.csv": refused("cells-missing", 5, 2),
    "quotes-alone.csv": refused("line-too-long", 1),
    "error-for-a-number.csv": refused("not-number", 3, 4),
    "one-quote-over-many-lines.csv": refused("no-wavelengths"),
    "two-tables.csv": read(asks=["table"]),
    "the-same-table-twice.csv": read(asks=["table"]),
    "a-thousand-tables.csv": refused("too-many-tables"),
    "counts-that-lie.txt": read("count-disagrees", "fields-disagree"),
    "cut-in-the-data-block.txt": read("count-disagrees", "end-missing"),
    "stated-lab-unlike-its-spectra.txt": read("stated-unlike"),
    "picture-named.csv": refused("not-text"),
    "printed-page-named.txt": refused("not-text"),
    "compressed-named.csv": refused("not-text"),
    "text-named.xlsx": read("named-workbook"),
    "text-named.cxf": read("named-xml"),
    "tabs-named.csv": read("named-comma"),
    "lamp-as-reflectance.sp": read("preamble", "labels-numbered", asks=["surface"]),
    "counts-of-a-sensor.csv": refused("not-reflectance"),
    "wavelength-twice.csv": refused("grid-uneven", 1, 5),
    "wavelengths-falling.csv": read("descending"),
    "wavelengths-in-disorder.csv": refused("grid-uneven", 1, 4),
    "wavelength-missing.csv": refused("grid-uneven", 1, 11),
    "formulas-for-labels.csv": read(labels=("=1+1", "+1", "-1", "@SUM(A1)", "=cmd|' /C calc'!A0")),
    "formula-for-a-number.csv": refused("formula", 3, 4),
    "marks-of-direction-in-labels.csv": read(labels=("\u202etxt.exe", "a\u200bb", "\u2066c\u2069")),
    "labels-that-differ-in-form-alone.csv": read(
        "repeated-labels", labels=("\u00e9", "\u00e9", "E")
    ),
    "label-of-ten-thousand-characters.csv": refused("label-too-long", 3, 1),
    "a-million-columns.csv": refused("line-too-long", 1),
    "a-million-rows-of-nothing.csv": read(),
    "a-million-blank-lines-first.csv": read(),
    "rows-beyond-the-limit.csv": refused("too-many-rows", 250_001),
    "one-line-beyond-the-limit.csv": refused("too-large"),
    "one-line-up-to-the-limit.csv": refused("line-too-long", 1),
    "one-line-of-cells-up-to-the-limit.csv": refused("line-too-long", 1),
    "one-line-of-blanks-and-cells.txt": refused("line-too-long", 1),
    "a-remark-without-end.csv": refused("line-too-long", 1),
    "ten-thousand-columns-that-may-be-labels.csv": read("columns-left"),
    "wavelengths-beyond-belief.csv": read("columns-left", "grid-without-weights"),
    "decimal-commas-between-commas.csv": refused("cells-too-many", 2, 33),
    "both-decimal-marks.csv": refused("decimal-mixed", 3, 11),
    "one-reading-of-another-scale.csv": read("other-scale", asks=["scale"]),
    "below-zero-throughout.csv": refused("negative-throughout", 3),
    "a-value-far-below-zero.csv": read(asks=["scale"]),
    "percent-or-factor.csv": read(asks=["scale"]),
}
XML = {
    "entities-that-multiply.cxf": refused("xml-document-type", 1),
    "entity-once.cxf": refused("xml-document-type", 1),
    "entity-never-declared.cxf": refused("xml-broken", 3),
    "entity-from-a-file.cxf": refused("xml-document-type", 1),
    "entity-from-the-network.cxf": refused("xml-document-type", 1),
    "entity-of-parameters.cxf": refused("xml-document-type", 1),
    "document-type-alone.cxf": refused("xml-document-type", 1),
    "document-type-from-the-network.cxf": refused("xml-document-type", 1),
    "document-type-in-utf-16.cxf": refused("xml-document-type", 1),
    "attribute-default.cxf": refused("xml-document-type", 1),
    "inclusion.cxf": read("foreign-left"),
    "schema-from-the-network.cxf": read(),
    "style-sheet-from-the-network.cxf": read(),
    "deep.cxf": refused("xml-deep", 5),
    "elements-by-the-million.cxf": refused("xml-many", 5),
    "attributes-by-the-thousand.cxf": refused("xml-attributes", 5),
    "attribute-without-end.cxf": refused("xml-token", 5),
    "attribute-of-a-hundred-thousand.cxf": refused("xml-attributes", 5),
    "comment-without-end.cxf": refused("xml-token", 5),
    "comments-by-the-million.cxf": read(),
    "text-without-end.cxf": refused("xml-text", 4, 14),
    "values-by-the-thousand.cxf": refused("too-many-values", 4, 14),
    "other-makers-text-without-end.cxf": read("foreign-left"),
    "namespaces-by-the-thousand.cxf": read(),
    "utf-7-declared.cxf": refused("xml-encoding", 1),
    "encoding-unheard-of.cxf": refused("xml-encoding", 1),
    "encoding-contradicted.cxf": refused("xml-broken", 1),
    "nul-in-xml.cxf": refused("xml-broken", 3),
    "surrogate-as-reference.cxf": refused("xml-broken", 3),
    "surrogate-as-bytes.cxf": refused("xml-broken", 3),
    "cut-in-xml.cxf": refused("xml-cut", 4),
    "cut-in-a-tag.cxf": refused("xml-cut", 4, 14),
    "two-roots.cxf": refused("xml-broken", 8),
    "nan-in-a-spectrum.cxf": refused("value-not-number", 4, 14),
    "infinity-in-a-spectrum.cxf": refused("value-not-number", 4, 14),
    "1e308-in-a-spectrum.cxf": refused("not-reflectance"),
    "number-of-5000-digits.cxf": refused("value-not-number", 4, 14),
    "minus-zero.cxf": read(),
    "no-such-specification.cxf": refused("cxf-specification-missing", 4, 14),
    "two-specifications-of-one-id.cxf": refused("cxf-specification-twice", 6, 1),
    "two-steps-in-two-specifications.cxf": read(asks=["table"]),
    "step-of-zero.cxf": refused("cxf-increment", 7),
    "step-beyond-belief.cxf": refused("cxf-range", 4, 14),
    "objects-without-values.cxf": later("no-values"),
    "name-without-end.cxf": refused("label-too-long", 3, 1),
    "names-with-marks-of-direction.cxf": read(labels=("\u202ea\u200b", "b")),
    "formula-for-a-name.cxf": read(labels=("=1+1", "b")),
    "another-namespace.cxf": refused("xml-namespace", 2, 1),
    "page-named.cxf": refused("xml-root", 1),
    "markup-named.csv": read("named-text"),
    "emission.cxf": later("light", 5),
    "emission-as-reflectance.cxf": later("light", 5),
    "transmittance.cxf": later("transmittance", 5),
    "percent-against-the-schema.cxf": read("cxf-above-factor", "other-scale", asks=["scale"]),
    "lamp-as-reflectance.spdx": later("light"),
    "not-a-lamp.spdx": refused("xml-root", 2, 1),
}
BOOKS = {
    "workbook-named.csv": read("named-text"),
    "workbook-by-a-library.xlsx": read(),
    "cut-in-the-archive.xlsx": refused("zip-broken"),
    "cut-before-the-directory-ends.xlsx": refused("zip-broken"),
    "archive-of-text.xlsx": refused("xlsx-not-workbook"),
    "archive-in-an-archive.xlsx": refused("xlsx-not-workbook"),
    "archive-beside-the-sheets.xlsx": read(),
    "bomb-for-a-sheet.xlsx": refused("zip-bomb"),
    "bomb-of-rows.xlsx": refused("zip-bomb"),
    "bomb-beside-the-sheets.xlsx": read(),
    "members-over-each-other.xlsx": refused("zip-overlap"),
    "sizes-too-large.xlsx": refused("zip-sizes"),
    "sizes-too-small.xlsx": refused("zip-broken"),
    "sizes-without-bound.xlsx": refused("zip-sizes"),
    "members-encrypted.xlsx": refused("xlsx-encrypted"),
    "members-by-the-ten-thousand.xlsx": refused("zip-members"),
    "members-that-climb.xlsx": read(),
    "sheet-that-climbs.xlsx": refused("xlsx-broken"),
    "password.xlsx": refused("xlsx-encrypted"),
    "older-form.xls": refused("xlsx-old"),
    "binary-form.xlsb": refused("xlsx-binary"),
    "macros.xlsm": refused("xlsx-macros"),
    "macros-named.xlsx": refused("xlsx-macros"),
    "strict-form.xlsx": refused("xlsx-strict"),
    "text-document.docx": refused("xlsx-not-workbook"),
    "entities-in-a-sheet.xlsx": refused("xml-document-type", 1),
    "deep-sheet.xlsx": refused("xml-deep", 1),
    "a-million-columns.xlsx": refused("too-many-columns", 1, 4_001),
    "column-beyond-the-last.xlsx": refused("xlsx-position", 1),
    "cell-in-the-last-corner.xlsx": refused("too-many-columns", 1_048_576, 16_384),
    "empty-cell-in-the-last-corner.xlsx": read(),
    "row-beyond-the-last.xlsx": refused("xlsx-position"),
    "a-million-rows-of-nothing.xlsx": refused("too-many-rows", 250_001),
    "rows-out-of-order.xlsx": refused("xlsx-order", 2),
    "cells-twice.xlsx": refused("xlsx-order", 1, 2),
    "dimensions-that-lie.xlsx": read(),
    "dimensions-too-small.xlsx": read(),
    "string-that-is-not-there.xlsx": refused("xlsx-broken"),
    "formula-without-a-result.xlsx": refused("formula", 3, 3),
    "formula-with-a-result.xlsx": read("formulas-saved"),
    "formula-for-a-label.xlsx": read(labels=("a", "=HYPERLINK(0)", "c")),
    "error-for-a-number.xlsx": refused("not-number", 3, 3),
    "nan-for-a-number.xlsx": refused("not-number", 3, 3),
    "infinity-for-a-number.xlsx": refused("not-number", 3, 3),
    "1e308-for-a-number.xlsx": refused("not-reflectance"),
    "minus-zero.xlsx": read(),
    "number-of-5000-digits.xlsx": refused("not-number", 3, 3),
    "text-for-a-number.xlsx": refused("decimal-mixed", 3, 3),
    "date-beyond-belief.xlsx": refused("xlsx-broken"),
    "label-without-end.xlsx": refused("cell-too-long", 3, 1),
    "percent-as-shown.xlsx": read("cells-percent"),
    "hidden.xlsx": read("sheet-hidden", "rows-hidden"),
    "merged.xlsx": refused("number-missing", 3, 4),
    "two-sheets-of-readings.xlsx": read(asks=["table"]),
    "empty-sheet.xlsx": refused("no-wavelengths"),
}
EXPECTED = {**TEXT, **XML, **BOOKS}


@pytest.fixture(scope="module")
def outcomes(tmp_path_factory):
    """What came of every file, by name."""
    folder = tmp_path_factory.mktemp("hostile")
    make_hostile.write(folder)
    worker = [sys.executable, "-m", "tests.method.hostile_worker", str(folder)]
    root = Path(make_hostile.__file__).parents[2]
    done = subprocess.run(worker, cwd=root, capture_output=True, text=True, timeout=600, check=True)
    for path in folder.iterdir():
        path.unlink()  # some are large
    return {one["name"]: one for one in map(json.loads, done.stdout.splitlines())}


def test_every_trick_has_its_expected_outcome_in_this_table():
    assert EXPECTED.keys() == make_hostile.TRICKS.keys() and len(EXPECTED) >= 45


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_the_file_is_read_or_refused_as_it_should_be(name, outcomes):
    expected, found = EXPECTED[name], outcomes[name]
    if isinstance(expected, Refused):
        assert found["id"] == expected.id, found
        assert found["stage"] == ("resolve" if expected.later else "read")
        assert expected.line is None or found["line"] == expected.line
        assert expected.column is None or found["column"] == expected.column
        assert found["text"].startswith(name) and "%(" not in found["text"]
        return
    assert found["stage"] == "done" and found["id"] is None, found
    assert set(found["oddities"]) == expected.oddities
    assert set(found["questions"]) == expected.questions
    assert expected.labels is None or tuple(found["labels"]) == expected.labels


def test_time_and_memory_stay_within_their_bounds(outcomes):
    over = {
        name: (one["seconds"], one["megabytes"])
        for name, one in outcomes.items()
        if one["seconds"] > SECONDS or one["megabytes"] > MEGABYTES
    }
    assert not over


def test_no_other_exception_ever_comes_out(outcomes):
    assert {one["id"] for one in outcomes.values()} <= {None, *words.MESSAGES}


def test_refusals_speak_a_language_of_their_own(outcomes):
    used = {one["id"] for one in outcomes.values() if one["id"]}
    assert len(used) >= 40
    for one in outcomes.values():
        if one["id"]:
            ending = words.MENDS[one["id"]].rpartition("%")[2][-20:]
            assert one["text"].endswith(ending), one  # what is wrong, and what to do about it
