"""`manage.py move_blobs`: take all files from the folder into the bucket of COUNTERSHADE_BLOBS.

Each is read and checked, put where nothing stands, read back and checked again. Run again it goes
on: what lies in the bucket already is only checked. Nothing is removed from the folder.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from ledger.blobs import BlobError, BlobMissing, StorageDown, checked, key_of, store
from ledger.models import Blob
from ledger.storage import Folder, Store

PAGE = 500


class Command(BaseCommand):
    """For a service that is stopped, with the new setting in its environment."""

    help = "Copy all files from the folder into the bucket, each checked before and after."

    def handle(self, *args: Any, **options: Any) -> None:
        """Copy; status 1 where a file could not be copied or is not what it was."""
        if not settings.BLOB_BUCKET:
            raise CommandError("set COUNTERSHADE_BLOBS=s3://bucket/prefix: it names no bucket yet")
        folder, bucket = Folder(Path(settings.BLOB_DIR)), store()
        copied = there = 0
        bad: list[str] = []
        for blob in Blob.objects.order_by("pk").iterator(chunk_size=PAGE):
            try:
                if move(blob, folder, bucket):
                    copied += 1
                else:
                    there += 1
            except StorageDown as error:
                raise CommandError(
                    f"{error}. {copied + there} files are in the bucket; run this again to go on"
                ) from None
            except BlobError as error:
                bad.append(f"chain {blob.chain}: {error}")
                self.stderr.write(bad[-1])
        self.stdout.write(f"{copied} copied and checked, {there} were there already and are right")
        if bad:
            self.stderr.write(f"{len(bad)} not copied: the service must not start on the bucket")
            sys.exit(1)
        self.stdout.write(f"the folder {settings.BLOB_DIR} is no longer read; keep it as a backup")


def move(blob: Blob, folder: Store, bucket: Store) -> bool:
    """Have the bytes of one blob in the bucket; False where they are there already.

    Raises BlobError: missing in both, altered in either, or the bucket cannot be asked.
    """
    key = key_of(blob.chain, blob.digest)
    if bucket.size(key) is not None:
        checked(bucket, key, blob.digest)
        return False
    try:
        data = checked(folder, key, blob.digest)
    except BlobMissing:
        raise BlobMissing(f"the file of blob {blob.digest} is neither here nor there") from None
    bucket.put(key, data)
    checked(bucket, key, blob.digest)
    return True
