"""What is wrong with a container, once something is: the member, the field, the byte.

Reached only after the walk found bytes that differ from those that have to stand there; nothing
here is on the way of a sound record.
"""

from __future__ import annotations

import zlib
from hashlib import sha256
from typing import NoReturn, Protocol

from ledger.verify import zipform
from ledger.verify.crc import flipped_byte
from ledger.verify.report import Refusal
from ledger.verify.strict import shown

MAX_LOCATED = 4 * 1024 * 1024  # beyond it only a blob's digest can confirm the byte that was found
FLIP_LIMIT = 256 * 1024 * 1024


class Buffer(Protocol):
    """A memory map or bytes."""

    def __len__(self) -> int: ...

    def __getitem__(self, key: slice) -> bytes: ...

    def find(self, sub: bytes, start: int, /) -> int: ...


def member(data: Buffer, name: str, position: int, size: int) -> NoReturn:
    """Name what is wrong: a header field, or a content that does not fit its CRC-32."""
    start = position + zipform.LOCAL.size + len(name)
    said = int.from_bytes(data[position + 14 : position + 18], "little")
    crc = zlib.crc32(data[start : start + size])
    header(data, position, name, zipform.local_header(name.encode(), size, said))
    central = data.find(b"PK\1\2", start + size)
    while central >= 0 and data[central + 46 : central + 46 + len(name)] != name.encode():
        central = data.find(b"PK\1\2", central + 4)
    if central >= 0 and int.from_bytes(data[central + 16 : central + 20], "little") == crc:
        raise Refusal(
            "zip.header", "CRC-32 differs from content and directory", member=name,
            field="local header: CRC-32", offset=position + 14, length=4,
        )  # fmt: skip
    at = _flipped(data, name, start, size, said ^ crc)
    raise Refusal(
        "zip.content", "content does not fit its CRC-32", member=name, field="content",
        offset=start if at is None else start + at, length=max(1, size) if at is None else 1,
    )  # fmt: skip


def _flipped(data: Buffer, name: str, start: int, size: int, syndrome: int) -> int | None:
    """The byte of the content with one bit altered; None where several are, or it is unsure."""
    at = flipped_byte(syndrome, size)
    if at is None or size <= MAX_LOCATED:
        return at
    if not name.startswith("blobs/") or size > FLIP_LIMIT:
        return None
    content = bytearray(data[start : start + size])
    for bit in range(8):
        content[at] ^= 1 << bit
        if sha256(content).hexdigest() == name[6:]:
            return at
        content[at] ^= 1 << bit
    return None


def header(data: Buffer, position: int, name: str, expected: bytes) -> None:
    """Refuse the first byte of a local header that differs; size and CRC-32 are taken as read."""
    found = data[position : position + len(expected)]
    for at, (have, want) in enumerate(zip(found, expected, strict=False)):
        field, start, length = zipform.field_at(zipform.LOCAL_FIELDS, at)
        if have == want or (name.endswith("…") and (14 <= at < 26 or at >= 36)):
            continue
        if field == "uncompressed size":
            # Either of the two sizes may be the altered one.
            field, start, length = "compressed size and uncompressed size", 18, 8
        raise Refusal(
            "zip.header" if field != "name" else "zip.name",
            "not the member that has to stand here" if field == "name"
            else "header field is not what it has to be",
            member=name, field=f"local header: {field}", offset=position + start, length=length,
        )  # fmt: skip


def truncated(name: str, position: int, length: int) -> NoReturn:
    """The file ends where a member's header has to stand."""
    raise Refusal(
        "zip.truncated", "the file ends inside a member's header", member=name,
        field="local header", offset=position, length=max(1, length),
    )  # fmt: skip


def size(data: Buffer, name: str, position: int, size: int) -> NoReturn:
    """A size that passes the file's end or the limit."""
    said = int.from_bytes(data[position + 14 : position + 18], "little")
    header(data, position, name, zipform.local_header(name.encode("ascii"), size, said))
    raise Refusal(
        "zip.size", f"a size of {size} bytes passes the end of the file or the limit",
        member=name, field="local header: compressed size and uncompressed size",
        offset=position + 18, length=8,
    )  # fmt: skip


def blob_name(data: Buffer, position: int, name: bytes) -> NoReturn:
    """A member that has to be a blob and is not named by a digest."""
    prefix = b"blobs/"
    header(data, position, "blobs/…", zipform.local_header(prefix + b"0" * 64, 0, 0))
    raise Refusal(
        "zip.name", "not the name of a blob", member="blobs/…", field="local header: name",
        offset=position + zipform.LOCAL.size, length=max(1, len(name)),
    )  # fmt: skip


def blob_order(name: str, position: int) -> NoReturn:
    """A blob that does not come after the one before it."""
    raise Refusal(
        "zip.order", "blobs are not in ascending order, or one stands twice",
        member=name, field="local header: name", offset=position + zipform.LOCAL.size,
        length=len(name),
    )  # fmt: skip


def named_by_another_digest(name: str, content: bytes, start: int) -> None:
    """Where directory and local header differ over a blob's name, its content tells."""
    if name.startswith("blobs/") and sha256(content).hexdigest() != name[6:]:
        raise Refusal(
            "zip.name", "content does not have the digest it is named by", member=name,
            field="local header: name", offset=start - len(name), length=len(name),
        )  # fmt: skip


def line(
    data: Buffer, position: int, line: bytes, name: str, what: str, fields: zipform.Fields
) -> None:
    """Refuse the first byte of the directory or the end record that differs from `line`."""
    found = data[position : position + len(line)]
    if found == line:
        return
    at = next((n for n, (a, b) in enumerate(zip(found, line, strict=False)) if a != b), len(found))
    field, _, _ = zipform.field_at(fields, at)
    raise Refusal(
        "zip.truncated" if at == len(found) else "zip.header",
        "the file ends too early" if at == len(found) else "header field is not what it has to be",
        member=shown(name), field=f"{what}: {field}", offset=position + at, length=1,
    )  # fmt: skip
