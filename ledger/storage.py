"""Where the bytes of blobs lie: a folder, or a bucket of a server that speaks the S3 protocol.

A store knows keys (`chain/aa/digest`) and bytes, nothing of rows. Bytes are put where nothing
stands and never over others: what stands there already must be the same, or it is an alarm. The
bucket is `ledger.bucket`; `ledger.blobs.store` takes the one that the settings name.
"""

from __future__ import annotations

import hashlib
import hmac
import os
import tempfile
from pathlib import Path
from typing import Protocol


class BlobError(Exception):
    """A blob that cannot be stored or read back; the message names it and says what to do."""


class BlobMissing(BlobError):
    """The store answers, and has nothing under the blob's name."""


class BlobAltered(BlobError):
    """Under the blob's name stand other bytes than those that were stored."""


class StorageDown(BlobError):
    """The store does not answer, or refuses this service: nothing can be said of the blob."""


class Store(Protocol):
    """Bytes by key. Every method raises StorageDown where the store cannot be asked."""

    def put(self, key: str, data: bytes) -> None:
        """Keep the bytes under a key where nothing stands; BlobAltered where others stand."""

    def get(self, key: str, most: int) -> bytes:
        """The bytes under a key, of more than `most` one more only; BlobMissing where none are."""

    def size(self, key: str) -> int | None:
        """How many bytes stand under a key; None where there are none."""


class Folder:
    """Files below one folder: written beside their place, synced, renamed, the folder synced."""

    def __init__(self, place: Path) -> None:
        self.place = place

    def path(self, key: str) -> Path:
        """Where the bytes of a key lie."""
        return self.place / key

    def put(self, key: str, data: bytes) -> None:
        """See Store; what stands already is read and compared."""
        path = self.path(key)
        try:
            if path.exists():
                same(path.read_bytes(), data, key)
            else:
                _write(path, data)
        except OSError as error:
            raise StorageDown(_says(error)) from None

    def get(self, key: str, most: int) -> bytes:
        """See Store."""
        try:
            with self.path(key).open("rb") as opened:
                data = opened.read(most + 1)
        except FileNotFoundError:
            raise BlobMissing(f"nothing stands under {key}") from None
        except OSError as error:
            raise StorageDown(_says(error)) from None
        return data

    def size(self, key: str) -> int | None:
        """See Store."""
        try:
            return self.path(key).stat().st_size
        except FileNotFoundError:
            return None
        except OSError as error:
            raise StorageDown(_says(error)) from None


def same(found: bytes, data: bytes, key: str) -> None:
    """BlobAltered unless what stands under the key is what should stand there."""
    # By digest, so that the error and the comparison never hold the bytes themselves.
    if not hmac.compare_digest(hashlib.sha256(found).digest(), hashlib.sha256(data).digest()):
        raise BlobAltered(
            f"other bytes stand under {key}: they were altered, and nothing was written over them. "
            "Set the altered file aside, keep it, and put the right one in its place from a backup"
        )


def _says(error: OSError) -> str:
    return (
        f"the folder for files cannot be used ({error.strerror or type(error).__name__}): "
        "look at the disk and at the rights of the service, then try again"
    )


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
