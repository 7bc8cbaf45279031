"""Files that people upload: one limit and one way to keep them, for every app."""

from __future__ import annotations

from dataclasses import dataclass

from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext_lazy as _

from ledger import blobs
from parties.refusal import Refusal

MAX_BYTES = 20 * 2**20
LONGEST_NAME = 200


@dataclass(frozen=True)
class Kept:
    """A file whose bytes are a blob of a chain now; `name` is what its owner called it."""

    name: str
    digest: str
    size: int
    media_type: str


def keep(chain: str, upload: UploadedFile, *, field: str = "upload") -> Kept:
    """Keep a file's bytes as they came. Raises Refusal where it is empty or too large; `field` is
    the form field to blame."""
    if not upload.size:
        raise Refusal("file_empty", _("The file is empty. Nothing was stored."), field=field)
    if upload.size > MAX_BYTES:
        raise Refusal(
            "file_large", _("The file has more than 20 MiB. Nothing was stored."), field=field
        )
    data = upload.read()
    media_type = (upload.content_type or "application/octet-stream")[:100]
    name = (upload.name or "file")[:LONGEST_NAME]
    return Kept(name, blobs.put(chain, data, media_type), len(data), media_type)
