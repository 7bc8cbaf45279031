"""Files that entries refer to: addressed by content within one chain, never shared across chains.

The bytes are in the store before the row, so that a row without its file does not arise; a file
without a row (the transaction rolled back) is harmless and is taken over by the next put. Where the
bytes lie is a matter of `ledger.storage`; that they are the right ones is checked here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import IntegrityError, transaction

from ledger import clock
from ledger.bucket import Bucket
from ledger.canonical import digest as digest_of
from ledger.models import Blob
from ledger.storage import BlobAltered as BlobAltered
from ledger.storage import BlobError as BlobError
from ledger.storage import BlobMissing as BlobMissing
from ledger.storage import Folder, Store
from ledger.storage import StorageDown as StorageDown

MAX_BYTES = 256 * 1024 * 1024

_CHAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")
_DIGEST = re.compile(r"[0-9a-f]{64}")


def store() -> Store:
    """The store that the settings name: BLOB_BUCKET, or the folder BLOB_DIR."""
    if settings.BLOB_BUCKET:
        return _bucket(tuple(sorted(settings.BLOB_BUCKET.items())))
    return Folder(Path(settings.BLOB_DIR))


@lru_cache(maxsize=4)
def _bucket(facts: tuple[tuple[str, Any], ...]) -> Bucket:
    """One client for all threads of a process."""
    return Bucket(**dict(facts))


def put(chain: str, data: bytes, media_type: str) -> str:
    """Store the bytes in this chain and return their SHA-256; storing again changes nothing.

    Raises BlobError: too large, the store is down, or other bytes stand under this digest (they
    are left as they are: what was altered is evidence).
    """
    if len(data) > MAX_BYTES:
        raise BlobError(f"a file of {len(data)} bytes; at most {MAX_BYTES} are kept")
    digest = digest_of(data)
    store().put(key_of(chain, digest), data)
    if not Blob.objects.filter(chain=chain, digest=digest).exists():
        _row(chain, digest, len(data), media_type)
    return digest


def get(chain: str, digest: str) -> bytes:
    """The stored bytes, checked against their digest. Raises BlobError."""
    key = key_of(chain, digest)
    if not Blob.objects.filter(chain=chain, digest=digest).exists():
        raise BlobError(f"blob {digest} is not stored in chain {chain!r}")
    return checked(store(), key, digest)


def get_many(chain: str, digests: Iterable[str]) -> dict[str, bytes]:
    """The bytes of several blobs by digest, as `get` gives each, with one query."""
    wanted = sorted(set(digests))
    known = set(
        Blob.objects.filter(chain=chain, digest__in=wanted).values_list("digest", flat=True)
    )
    for digest in wanted:
        if digest not in known:
            raise BlobError(f"blob {digest} is not stored in chain {chain!r}")
    place = store()
    return {digest: checked(place, key_of(chain, digest), digest) for digest in wanted}


def checked(place: Store, key: str, digest: str) -> bytes:
    """The bytes under a key of a store, checked against the digest; the error names the blob."""
    try:
        data = place.get(key, MAX_BYTES)
    except BlobMissing:
        raise BlobMissing(f"the file of blob {digest} is missing") from None
    except StorageDown as error:
        raise StorageDown(f"blob {digest}: {error}") from None
    if digest_of(data) != digest:
        raise BlobAltered(f"the file of blob {digest} was altered")
    return data


def key_of(chain: str, digest: str) -> str:
    """The key under which a store has the bytes: `chain/aa/digest`."""
    if not _CHAIN.fullmatch(chain) or not _DIGEST.fullmatch(digest):
        raise BlobError(f"no blob can be named {digest!r} in chain {chain!r}")
    return f"{chain}/{digest[:2]}/{digest}"


def path_of(chain: str, digest: str) -> Path:
    """Where the bytes lie in the folder of files, where that is the store."""
    return Folder(Path(settings.BLOB_DIR)).path(key_of(chain, digest))


def _row(chain: str, digest: str, size: int, media_type: str) -> None:
    try:
        with transaction.atomic():
            Blob.objects.create(
                chain=chain,
                digest=digest,
                size=size,
                media_type=media_type,
                stored_at=clock.now(),
            )
    except IntegrityError:
        # Somebody stored the same bytes at the same moment: then the row is there.
        if not Blob.objects.filter(chain=chain, digest=digest).exists():
            raise
