"""Files go from the folder into the bucket, checked on both sides; a broken move goes on."""

from __future__ import annotations

import io

import pytest
from django.core.management import CommandError, call_command

from ledger import blobs
from ledger.bucket import Bucket
from ledger.models import Blob
from ledger.selfcheck import findings
from ledger.storage import Folder
from tests.ledger import small as make
from tests.ledger.small import CHAIN
from tests.ledger.test_storage import bucket, facts, name_of, names, server  # noqa: F401 - fixtures


def run() -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    try:
        call_command("move_blobs", stdout=out, stderr=err)
    except SystemExit as leaving:
        return int(leaving.code or 0), out.getvalue(), err.getvalue()
    return 0, out.getvalue(), err.getvalue()


@pytest.fixture
def filled(db, settings, server):  # noqa: F811
    """A small chain whose files lie in the folder; then the setting names the bucket."""
    before, settings.BLOB_BUCKET = settings.BLOB_BUCKET, None
    small = make.signed()
    settings.BLOB_BUCKET = before
    return small


def test_everything_is_moved_and_the_folder_stays(bucket, filled, judge):  # noqa: F811
    count = Blob.objects.count()
    assert names(bucket) == [] and count > 1
    assert run()[:2] == (
        0,
        f"{count} copied and checked, 0 were there already and are right\n"
        f"the folder {blobs.settings.BLOB_DIR} is no longer read; keep it as a backup\n",
    )
    assert len(names(bucket)) == count
    assert all(blobs.path_of(one.chain, one.digest).exists() for one in Blob.objects.all())
    assert findings() == []
    assert judge(filled.record(), filled.fingerprint).outcome == "verified"
    assert run()[1].startswith(f"0 copied and checked, {count} were there already")


def test_a_move_that_broke_off_goes_on(bucket, filled, monkeypatch):  # noqa: F811
    put, times = Bucket.put, []

    def breaking(self, key, data):
        if times:
            raise blobs.StorageDown("the storage does not answer")
        times.append(key)
        put(self, key, data)

    monkeypatch.setattr(Bucket, "put", breaking)
    with pytest.raises(CommandError, match="1 files are in the bucket; run this again"):
        run()
    monkeypatch.undo()
    status, said, _ = run()
    assert status == 0 and f"{Blob.objects.count() - 1} copied and checked, 1 were there" in said


def test_altered_and_missing_files_are_named_and_nothing_is_hidden(bucket, filled):  # noqa: F811
    path = blobs.path_of(CHAIN, filled.digest)
    path.write_bytes(b"other")
    status, _, wrong = run()
    assert status == 1 and f"the file of blob {filled.digest} was altered" in wrong
    path.unlink()
    status, _, wrong = run()
    assert status == 1 and f"{filled.digest} is neither here nor there" in wrong
    bucket.put_object(Bucket="records", Key=name_of(CHAIN, filled.digest), Body=b"other")
    status, _, wrong = run()
    assert status == 1 and "was altered" in wrong


def test_without_a_bucket_there_is_nothing_to_do(db, settings):
    settings.BLOB_BUCKET = None
    with pytest.raises(CommandError, match="COUNTERSHADE_BLOBS"):
        run()
    assert isinstance(blobs.store(), Folder)


def test_a_bucket_that_is_down_says_so(db, settings, server, filled):  # noqa: F811
    settings.BLOB_BUCKET = facts(server, bucket="no-such-bucket")
    with pytest.raises(CommandError, match="make it, or correct COUNTERSHADE_BLOBS"):
        run()
