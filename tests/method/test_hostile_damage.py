"""Files of every form, damaged at random: a reading or a refusal comes out, and nothing else."""

import random
import re

import numpy as np
import pytest

from method.packed import pack
from method.readers import ReadError, read, resolve
from tests.method import hostile_books, hostile_text, hostile_xml
from tests.method.dialects import Dialect, write
from tests.method.hostile_worker import answered
from tests.method.workbooks import zipped

NM, LABELS, TABLE = hostile_text.NM, hostile_text.LABELS, hostile_text.TABLE
TIMES = 300
_NUMBER = re.compile(rb"(?<=[>\" ])-?\d+\.?\d*(?=[<\" ])")
_ELEMENT = re.compile(rb"<(\w+)[^<>]*(?:/>|>[^<>]*</\1>)")
_ATTRIBUTE = re.compile(rb" \w+=\"[^\"<>]*\"")
VALID = {
    "rows.csv": hostile_text.GOOD,
    "columns.tsv": write(Dialect(separator="tab", layout="columns"), LABELS, NM, TABLE),
    "commas.csv": write(Dialect(separator="semicolon", mark=",", quoted=True), LABELS, NM, TABLE),
    "blanks.txt": write(Dialect(separator="spaces", spelling="nm{}"), LABELS, NM, TABLE),
    "wide.csv": write(Dialect(encoding="utf-16"), LABELS, NM, TABLE),
    "framed.txt": hostile_text.TRICKS["stated-lab-unlike-its-spectra.txt"](),
    "two.csv": hostile_text.other_table(),
    "meter.txt": hostile_text.meter(),
    "objects.cxf": hostile_xml.GOOD,
    "light.spdx": hostile_xml.lamp(),
    "book.xlsx": hostile_books.GOOD,
}
# what numbers, frames and markup are made of: random bytes alone seldom get past the first check
PIECES = [
    *b"\0\t\n\r\",;#<>&=%'-+.eE0159 \xff\xc3\x80",
    *(b"NaN", b"1e999", b"-0", b"400", b"nm", b"\r\n", b'""', b"END_DATA", b"BEGIN_DATA\n"),
    *(b"&#0;", b"<!--", b"]]>", b"</", b"<CxF", b"%", b"\xef\xbb\xbf", b"\xff\xfe", b"PK\x01\x02"),
]


def damaged(data, dice):
    """The bytes after one to four accidents."""
    for _ in range(dice.randint(1, 4)):
        at = dice.randrange(len(data) + 1)
        end = min(len(data), at + dice.choice((1, 1, 2, 5, 30, 200)))
        piece = dice.choice(PIECES)
        piece = bytes([piece]) if isinstance(piece, int) else piece
        kind = dice.randrange(6)
        if kind == 0:
            data = data[:at] + data[end:]
        elif kind == 1:
            data = data[:at] + data[at:end] * 2 + data[end:]
        elif kind == 2:
            data = data[:at] + piece + data[at:]
        elif kind == 3:
            data = data[:at] + piece + data[end:]
        elif kind == 4:
            data = data[:at] + bytes([dice.randrange(256)]) + data[at + 1 :]
        else:
            other = dice.randrange(len(data) + 1)
            data = data[:at] + data[other : other + end - at] + data[end:]
    return data


def rewritten(data, dice):
    """XML after one to three accidents to numbers, elements, attributes: mostly well-formed."""
    odd = (b"", b"NaN", b"-1", b"0", b"1e999", b"1e308", b"-0.0", b"9" * 400, b"10", b"x", b"S1")
    for _ in range(dice.randint(1, 3)):
        kind = dice.choice((_NUMBER, _NUMBER, _ELEMENT, _ELEMENT, _ATTRIBUTE))
        found = list(kind.finditer(data))
        if not found:
            continue
        one = dice.choice(found)
        if kind is _NUMBER:
            new = dice.choice(odd)
        elif kind is _ATTRIBUTE:
            new = dice.choice((b"", b' a="b"'))
        else:
            new = dice.choice((b"", one.group() * 2, one.group() * 20, b"<x/>", b"<Object/>"))
        data = data[: one.start()] + new + data[one.end() :]
    return data


def check(data, name):
    """The file gives plain spectra or a refusal with its words; return which."""
    try:
        reading = read(data, name)
        assert all(one.message % one.params for one in (*reading.oddities, *reading.questions))
        spectra = resolve(reading, answered(reading))
        assert np.isfinite(spectra.values).all() and pack(spectra)
        assert reading.mapping(answered(reading))
        return "read"
    except ReadError as error:
        assert error.message % error.params and error.mend_message % error.params
        assert error.line is None or error.line > 0
        return error.id


@pytest.mark.parametrize("name", VALID)
def test_the_file_itself_is_read(name):
    expected = {"meter.txt": "read", "light.spdx": "light"}
    assert check(VALID[name], name) == expected.get(name, "read")


@pytest.mark.parametrize("name", VALID)
def test_random_damage_gives_a_reading_or_a_refusal_and_nothing_else(name):
    dice = random.Random(name)
    outcomes = {check(damaged(VALID[name], dice), name) for _ in range(TIMES)}
    assert len(outcomes) > 2


@pytest.mark.parametrize("name", ["objects.cxf", "light.spdx"])
def test_damage_that_mostly_leaves_xml_well_formed_too(name):
    dice = random.Random(name)
    outcomes = {check(rewritten(VALID[name], dice), name) for _ in range(TIMES)}
    assert len(outcomes) > 4


def test_random_damage_within_the_parts_of_a_workbook_too():
    dice = random.Random("parts")
    outcomes = set()
    for _ in range(TIMES):
        part = dice.choice(sorted(hostile_books.PARTS))
        damage = dice.choice((damaged, rewritten, rewritten))
        content = damage(hostile_books.PARTS[part].encode(), dice)
        outcomes.add(check(zipped(hostile_books.PARTS | {part: content}), "book.xlsx"))
    assert len(outcomes) > 2
