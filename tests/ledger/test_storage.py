"""Blobs in a bucket, against a local server of the S3 protocol from the registries (moto)."""

from __future__ import annotations

import io
import logging
import socket
import threading
from concurrent.futures import ThreadPoolExecutor

import boto3
import pytest
from moto.server import ThreadedMotoServer
from urllib3.exceptions import IncompleteRead

from ledger import blobs
from ledger.blobs import BlobAltered, BlobError, BlobMissing, StorageDown
from ledger.bucket import Bucket
from ledger.canonical import digest
from ledger.models import Blob
from ledger.selfcheck import findings
from ledger.storage import Folder
from tests.ledger import small as make

DATA = b"lot,band\n17,0.41\n"
KEY_ID, KEY_SECRET = "invented-key-id", "invented-key-secret-0123456789"


@pytest.fixture(scope="module")
def server():
    made = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    made.start()
    host, port = made.get_host_and_port()
    yield f"http://{host}:{port}"
    made.stop()


def facts(endpoint: str, **more):
    return {
        "bucket": "records",
        "prefix": "here/blobs",
        "endpoint": endpoint,
        "region": "us-east-1",
        "key_id": KEY_ID,
        "key_secret": KEY_SECRET,
        "timeout": 2,
    } | more


def client(endpoint: str):
    return boto3.client(
        "s3",
        endpoint_url=endpoint,
        region_name="us-east-1",
        aws_access_key_id=KEY_ID,
        aws_secret_access_key=KEY_SECRET,
    )


@pytest.fixture
def bucket(server, settings):
    """A fresh bucket that the settings name; gives a client of its own for looking and altering."""
    own = client(server)
    own.create_bucket(Bucket="records")
    settings.BLOB_BUCKET = facts(server)
    yield own
    for found in own.list_objects_v2(Bucket="records").get("Contents", []):
        own.delete_object(Bucket="records", Key=found["Key"])
    own.delete_bucket(Bucket="records")


def names(own) -> list[str]:
    return [one["Key"] for one in own.list_objects_v2(Bucket="records").get("Contents", [])]


def name_of(chain: str, of: str) -> str:
    return f"here/blobs/{chain}/{of[:2]}/{of}"


def test_what_was_put_is_got_and_lies_under_its_digest(db, bucket):
    of = blobs.put("chain-1", DATA, "text/csv")
    assert of == digest(DATA)
    assert names(bucket) == [name_of("chain-1", of)]
    assert blobs.get("chain-1", of) == DATA
    assert blobs.put("chain-1", DATA, "text/csv") == of
    assert Blob.objects.count() == 1
    assert not blobs.path_of("chain-1", of).exists(), "nothing goes to the folder as well"


def test_chains_share_no_object(db, bucket):
    of = blobs.put("chain-1", DATA, "text/csv")
    with pytest.raises(BlobError, match="not stored in chain"):
        blobs.get("chain-2", of)
    blobs.put("chain-2", DATA, "text/csv")
    assert len(names(bucket)) == 2


def test_an_empty_file_is_kept_like_any_other(db, bucket):
    assert blobs.get("chain-1", blobs.put("chain-1", b"", "text/plain")) == b""


def test_a_missing_object_is_noticed_and_mended_by_putting_it_again(db, bucket):
    of = blobs.put("chain-1", DATA, "text/csv")
    bucket.delete_object(Bucket="records", Key=name_of("chain-1", of))
    with pytest.raises(BlobMissing, match=f"blob {of} is missing"):
        blobs.get("chain-1", of)
    assert findings() == [f"chain chain-1: the file of blob {of} is missing"]
    blobs.put("chain-1", DATA, "text/csv")
    assert blobs.get("chain-1", of) == DATA


@pytest.mark.parametrize("other", [DATA.replace(b"0.41", b"0.14"), b"", DATA * 2])
def test_an_altered_object_is_an_alarm_and_never_written_over(db, bucket, other):
    of = blobs.put("chain-1", DATA, "text/csv")
    bucket.put_object(Bucket="records", Key=name_of("chain-1", of), Body=other)
    with pytest.raises(BlobAltered, match="was altered"):
        blobs.get("chain-1", of)
    with pytest.raises(BlobAltered, match="nothing was written over them"):
        blobs.put("chain-1", DATA, "text/csv")
    kept = bucket.get_object(Bucket="records", Key=name_of("chain-1", of))["Body"].read()
    assert kept == other
    assert findings() == [f"chain chain-1: the file of blob {of} was altered"]


def test_an_altered_file_in_the_folder_is_not_written_over_either(db):
    of = blobs.put("chain-1", DATA, "text/csv")
    blobs.path_of("chain-1", of).write_bytes(b"other")
    with pytest.raises(BlobAltered, match="nothing was written over them"):
        blobs.put("chain-1", DATA, "text/csv")
    assert blobs.path_of("chain-1", of).read_bytes() == b"other"


def test_a_server_that_is_down_leaves_no_row_and_says_what_to_do(db, settings, server):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))  # bound and not listening: whoever connects is refused
        settings.BLOB_BUCKET = facts(f"http://127.0.0.1:{taken.getsockname()[1]}")
        with pytest.raises(StorageDown, match="COUNTERSHADE_S3_ENDPOINT"):
            blobs.put("chain-1", DATA, "text/csv")
        assert Blob.objects.count() == 0


def test_a_server_that_never_answers_is_waited_for_a_bounded_time(settings):
    with socket.socket() as silent:
        silent.bind(("127.0.0.1", 0))
        silent.listen(8)
        store = Bucket(**facts(f"http://127.0.0.1:{silent.getsockname()[1]}", timeout=1))
        stopped = threading.Event()

        def ask():
            with pytest.raises(StorageDown, match="does not answer"):
                store.get("chain-1/00/x", 10)
            stopped.set()

        asking = threading.Thread(target=ask, daemon=True)
        asking.start()
        assert stopped.wait(40)


class Breaking(io.BytesIO):
    """The body of an answer that breaks off while it is read."""

    def read(self, *_):
        raise IncompleteRead(3, 14)


def test_an_answer_that_breaks_off_is_asked_for_again(server, bucket, monkeypatch):
    store = Bucket(**facts(server))
    store.put("chain-1/00/x", DATA)
    get, broken = store.client.get_object, [True, True]

    def breaking(**request):
        return {"Body": Breaking()} if broken and broken.pop() else get(**request)

    monkeypatch.setattr(store.client, "get_object", breaking)
    assert store.get("chain-1/00/x", 100) == DATA
    broken[:] = [True] * 9
    with pytest.raises(StorageDown, match="does not answer"):
        store.get("chain-1/00/x", 100)
    assert len(broken) == 6, "three tries, no more"


def test_a_missing_bucket_is_named(db, server, settings):
    settings.BLOB_BUCKET = facts(server, bucket="no-such-bucket")
    with pytest.raises(StorageDown, match="no-such-bucket: make it"):
        blobs.put("chain-1", DATA, "text/csv")
    with pytest.raises(StorageDown, match="no-such-bucket: make it"):
        Bucket(**facts(server, bucket="no-such-bucket")).get("chain-1/00/x", 10)
    assert Blob.objects.count() == 0


def test_writers_of_the_same_bytes_at_the_same_moment_agree(server, bucket):
    store = Bucket(**facts(server))
    with ThreadPoolExecutor(6) as pool:
        made = list(pool.map(lambda _: store.put("chain-1/00/x", DATA), range(12)))
    assert made == [None] * 12
    assert store.get("chain-1/00/x", 100) == DATA


def test_who_comes_second_with_other_bytes_is_refused_by_the_condition(server, bucket, monkeypatch):
    """Both looked before either wrote: then the condition of the request decides."""
    first, second = Bucket(**facts(server)), Bucket(**facts(server))
    first.put("chain-1/00/x", DATA)
    sizes = iter([None])
    monkeypatch.setattr(second, "size", lambda key: next(sizes))
    with pytest.raises(BlobAltered):
        second.put("chain-1/00/x", b"other")
    assert first.get("chain-1/00/x", 100) == DATA


def test_a_server_that_knows_no_condition_still_takes_bytes(server, bucket, monkeypatch):
    store, asked = Bucket(**facts(server)), []
    put = store.client.put_object

    def old_server(**request):
        asked.append("IfNoneMatch" in request)
        if "IfNoneMatch" in request:
            error = {"Error": {"Code": "NotImplemented", "Message": "unknown header"}}
            raise store.client.exceptions.ClientError(error, "PutObject")
        return put(**request)

    monkeypatch.setattr(store.client, "put_object", old_server)
    store.put("chain-1/00/x", DATA)
    assert asked[-1] is False and True in asked
    assert store.get("chain-1/00/x", 100) == DATA


def test_neither_bytes_nor_credentials_reach_messages_logs_or_reprs(db, bucket, caplog, settings):
    said = io.StringIO()
    handler = logging.StreamHandler(said)
    logging.getLogger().addHandler(handler)
    try:
        with caplog.at_level(logging.DEBUG):
            of = blobs.put("chain-1", b"a secret recipe", "text/plain")
            bucket.put_object(Bucket="records", Key=name_of("chain-1", of), Body=b"other recipe")
            with pytest.raises(BlobAltered) as altered:
                blobs.put("chain-1", b"a secret recipe", "text/plain")
    finally:
        logging.getLogger().removeHandler(handler)
    text = said.getvalue() + caplog.text + str(altered.value) + repr(blobs.store())
    assert "recipe" not in text
    assert KEY_SECRET not in text and KEY_ID not in text


def test_stores_agree_on_what_is_there(tmp_path, server, bucket):
    for store in (Folder(tmp_path), Bucket(**facts(server))):
        assert store.size("chain-1/00/x") is None
        with pytest.raises(BlobMissing):
            store.get("chain-1/00/x", 10)
        store.put("chain-1/00/x", DATA)
        assert store.size("chain-1/00/x") == len(DATA)
        assert store.get("chain-1/00/x", 100) == DATA
        assert len(store.get("chain-1/00/x", 5)) == 6, "no more than asked for is read"


def test_a_record_and_the_self_check_read_from_the_bucket(db, bucket, judge):
    small = make.signed()
    assert len(names(bucket)) == Blob.objects.count() > 0
    assert judge(small.record(), small.fingerprint).outcome == "verified"
    assert findings() == []


def test_the_small_world_is_played_with_a_bucket(bucket, world):
    lot = world.released_lot()
    assert lot.status == "released"
    assert names(bucket)
    assert findings() == []
