"""Blobs: kept per chain, checked when read."""

import pytest

from ledger import blobs
from ledger.blobs import BlobError
from ledger.models import Blob

DATA = b"lot,band\n17,0.41\n"


@pytest.fixture
def stored(db):
    return blobs.put("chain-1", DATA, "text/csv")


def test_what_was_put_is_got(stored):
    assert blobs.get("chain-1", stored) == DATA
    assert Blob.objects.get().size == len(DATA)


def test_putting_twice_keeps_one_row(stored):
    assert blobs.put("chain-1", DATA, "text/csv") == stored
    assert Blob.objects.count() == 1


def test_another_chain_does_not_have_it(stored):
    with pytest.raises(BlobError, match="not stored in chain"):
        blobs.get("chain-2", stored)
    blobs.put("chain-2", DATA, "text/csv")
    assert blobs.path_of("chain-1", stored) != blobs.path_of("chain-2", stored)


def test_an_altered_file_is_noticed(stored):
    blobs.path_of("chain-1", stored).write_bytes(DATA.replace(b"0.41", b"0.14"))
    with pytest.raises(BlobError, match="was altered"):
        blobs.get("chain-1", stored)


def test_a_missing_file_is_noticed_and_mended_by_putting_it_again(stored):
    blobs.path_of("chain-1", stored).unlink()
    with pytest.raises(BlobError, match="is missing"):
        blobs.get("chain-1", stored)
    blobs.put("chain-1", DATA, "text/csv")
    assert blobs.get("chain-1", stored) == DATA


def test_no_temporary_file_stays(stored):
    folder = blobs.path_of("chain-1", stored).parent
    assert [path.name for path in folder.iterdir()] == [stored]


@pytest.mark.parametrize("name", ["../x", "", ".hidden", "a/b", "x" * 65])
def test_a_chain_name_cannot_leave_the_folder(db, name):
    with pytest.raises(BlobError, match="can be named"):
        blobs.put(name, DATA, "text/csv")


def test_a_digest_cannot_leave_the_folder(stored):
    with pytest.raises(BlobError, match="can be named"):
        blobs.get("chain-1", "../" + stored[3:])
