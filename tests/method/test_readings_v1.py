"""Readings that were frozen with the first version of the text reader replay for ever."""

import base64
import json

import pytest

from ledger.canonical import digest
from method.packed import pack
from method.readers import csv, read, replay, resolve
from method.readers.errors import ReadError
from tests.method.make_readings_v1 import TARGET, recorded

RECORDED = json.loads(TARGET.read_text("ascii"))
# The digest is written here so that nobody makes the file anew to get through.
DIGEST = "d59f6fe603d0eecc0cd894a9cc28f0fc8f756bc61e04afa49bbdc369a98cb360"


def test_the_file_is_the_one_that_was_committed():
    assert digest(TARGET.read_bytes()) == DIGEST


@pytest.mark.parametrize(
    "one", [o for o in RECORDED if "mapping" in o], ids=lambda one: one["name"]
)
def test_a_mapping_of_the_first_version_gives_the_same_packed_set(one):
    data = base64.b64decode(one["file"])
    assert digest(pack(replay(data, one["mapping"].encode()))) == one["packed"]
    with pytest.raises(ReadError):
        replay(data + b"x", one["mapping"].encode())


@pytest.mark.parametrize("one", RECORDED, ids=lambda one: one["name"])
def test_the_first_version_reads_and_refuses_as_it_did(one):
    answers = json.loads(one["mapping"])["answers"] if "mapping" in one else {}
    made = recorded(base64.b64decode(one["file"]), answers)
    assert made == {key: one[key] for key in ("mapping", "packed", "refused") if key in one}


def test_its_name_stands_in_the_mappings():
    assert csv.VERSION == "spectral-text/1"
    assert all(csv.VERSION in one["mapping"] for one in RECORDED if "mapping" in one)


@pytest.mark.parametrize(
    "one", [o for o in RECORDED if "mapping" in o], ids=lambda one: one["name"]
)
def test_what_the_first_version_read_is_read_the_same_today(one):
    """Same questions, same numbers; only what is said besides may be more."""
    data = base64.b64decode(one["file"])
    reading, before = read(data, "file"), csv.read(data, "file")
    assert [q.id for q in reading.questions] == [q.id for q in before.questions]
    assert [q.choices for q in reading.questions] == [q.choices for q in before.questions]
    answers = json.loads(one["mapping"])["answers"]
    assert digest(pack(resolve(reading, answers))) == one["packed"]
    assert replay(data, reading.mapping(answers)) == resolve(reading, answers)
