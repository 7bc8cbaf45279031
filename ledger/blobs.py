"""Files that entries refer to: addressed by content within one chain, never shared across chains.

The bytes are written and synced before the row, so that a row without its file does not arise; a
file without a row (the transaction rolled back) is harmless and is taken over by the next put.
"""

from __future__ import annotations

import os
import re
import tempfile
from pathlib import Path

from django.conf import settings
from django.db import IntegrityError, transaction

from ledger import clock
from ledger.canonical import digest as digest_of
from ledger.models import Blob

MAX_BYTES = 256 * 1024 * 1024

_CHAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")
_DIGEST = re.compile(r"[0-9a-f]{64}")


class BlobError(Exception):
    """A blob that cannot be stored or read back; the message names it."""


def put(chain: str, data: bytes, media_type: str) -> str:
    """Store the bytes in this chain and return their SHA-256; storing again changes nothing."""
    if len(data) > MAX_BYTES:
        raise BlobError(f"a file of {len(data)} bytes; at most {MAX_BYTES} are kept")
    digest = digest_of(data)
    path = path_of(chain, digest)
    if not path.exists() or path.stat().st_size != len(data):
        _write(path, data)
    if not Blob.objects.filter(chain=chain, digest=digest).exists():
        _row(chain, digest, len(data), media_type)
    return digest


def get(chain: str, digest: str) -> bytes:
    """The stored bytes, checked against their digest."""
    path = path_of(chain, digest)
    if not Blob.objects.filter(chain=chain, digest=digest).exists():
        raise BlobError(f"blob {digest} is not stored in chain {chain!r}")
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        raise BlobError(f"the file of blob {digest} is missing") from None
    if digest_of(data) != digest:
        raise BlobError(f"the file of blob {digest} was altered")
    return data


def path_of(chain: str, digest: str) -> Path:
    """Where the bytes lie."""
    if not _CHAIN.fullmatch(chain) or not _DIGEST.fullmatch(digest):
        raise BlobError(f"no blob can be named {digest!r} in chain {chain!r}")
    return Path(settings.BLOB_DIR) / chain / digest[:2] / digest


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


def _write(path: Path, data: bytes) -> None:
    """Write to a temporary file, sync it, rename it, sync the folder."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".new-")
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)
