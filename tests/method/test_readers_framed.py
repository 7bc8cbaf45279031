"""CGATS.17 text with many blocks and keywords, and what stands where no data follow."""

import time

import pytest

from method.readers import ReadError, read
from method.readers.found import MAX_TABLES
from method.readers.framed import MAX_KEYWORDS

NAMES = " ".join(["SAMPLE_ID", *(f"SPECTRAL_NM{nm}" for nm in range(400, 701, 10))])
VALUES = " ".join(f"{0.2 + 0.01 * at:.2f}" for at in range(31))
BARE = "BEGIN_DATA_FORMAT\nA B\nEND_DATA_FORMAT\nBEGIN_DATA\nx 1\nEND_DATA\n"


def block(keywords=(), label="a"):
    """One block of data with a spectrum."""
    lines = [*keywords, "BEGIN_DATA_FORMAT", NAMES, "END_DATA_FORMAT"]
    return "\n".join([*lines, "BEGIN_DATA", f"{label} {VALUES}", "END_DATA", ""])


def file(*parts):
    return ("CGATS.17\n" + "".join(parts)).encode()


def odd(reading, id):
    """The parameters of an oddity that stands there once."""
    (found,) = [one.params for one in reading.oddities if one.id == id]
    return found


@pytest.mark.parametrize("data", [BARE, 'ORIGINATOR "a b"\n' + BARE, block()])
def test_too_many_blocks_are_counted_before_they_are_looked_at(data):
    start = time.process_time()
    with pytest.raises(ReadError) as caught:
        read(file(data * 5000), "a")
    assert caught.value.id == "too-many-tables" and caught.value.line
    assert time.process_time() - start < 1.5


def test_as_many_blocks_as_are_allowed_are_read():
    assert len(read(file(block() * MAX_TABLES), "a").tables) == MAX_TABLES


def test_blocks_with_keywords_of_their_own_take_no_longer_each_than_the_first():
    keywords = [[f'KEY_{key} "value {key} {at}"' for key in range(60)] for at in range(90)]
    start = time.process_time()
    reading = read(file(*map(block, keywords)), "a")
    assert len(reading.tables) == 90 and time.process_time() - start < 3


def test_more_keywords_than_any_file_has_are_refused():
    with pytest.raises(ReadError) as caught:
        read(file("\n".join(f"K{at} 1" for at in range(MAX_KEYWORDS)), "\n", block()), "a")
    assert (caught.value.id, caught.value.line) == ("too-many-keywords", MAX_KEYWORDS + 1)


@pytest.mark.parametrize("words", ["45:0 ", "10deg-a-", "incl and ", "M1, M1, "])
def test_keywords_of_many_words_cost_little_or_are_refused(words):
    lines = [f"K{at} {words * (1_900 // len(words))}" for at in range(300)]
    start = time.process_time()
    read(file(block(lines[:100])), "a")
    assert time.process_time() - start < 8
    start = time.process_time()
    with pytest.raises(ReadError) as caught:
        read(file(block(lines)), "a")
    assert caught.value.id == "keywords-too-long"
    assert time.process_time() - start < 2


def test_a_keyword_stated_anew_holds_from_there_on_and_others_go_on():
    data = file(block(["ILLUMINANT D50", "OBSERVER 2"]), block(["ILLUMINANT D65"], "b"))
    first, second = (read(data, "a").again({"table": number}) for number in "12")
    assert (first.known("illuminant"), first.known("observer")) == ("D50", "2")
    assert (second.known("illuminant"), second.known("observer")) == ("D65", "2")


def test_keywords_after_the_last_data_are_said_and_not_taken():
    reading = read(file(block(), 'ILLUMINANT D50\nOBSERVER "10 degree"\n'), "a")
    assert odd(reading, "keywords-after") == {"count": "2", "key": "ILLUMINANT", "line": "8"}
    assert reading.known("illuminant") is None


def test_a_block_without_spectra_and_colours_is_said():
    reading = read(file(BARE, block()), "a")
    assert odd(reading, "blocks-left") == {"count": "1", "line": "3"} and len(reading.tables) == 1
