"""Check 1 and 2: the manifest, and every byte of the file around the members' contents."""

from __future__ import annotations

import zlib
from array import array
from collections.abc import Iterator
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any, Protocol

from ledger.verify import zipform
from ledger.verify.report import Refusal
from ledger.verify.strict import HEX, in_field, read_object, shown

MANIFEST = "manifest.json"
ROOT = "root.der"
CHECKPOINT = "checkpoint.json"
CHECKPOINT_JWS = "checkpoint.jws"
FORM = "whole"
MAX_SMALL = 64 * 1024  # manifest, root, checkpoint and its signature
MAX_ENTRY = 8 * 1024 * 1024
MAX_BLOB = 256 * 1024 * 1024
MAX_COUNT = 10_000_000
MAX_LOCATED = 4 * 1024 * 1024  # contents up to this size are searched for the flipped bit


class Buffer(Protocol):
    """A memory map or bytes."""

    def __len__(self) -> int: ...

    def __getitem__(self, key: slice) -> bytes: ...

    def find(self, sub: bytes, start: int, /) -> int: ...


def entry_name(number: int) -> str:
    """The member that holds an entry."""
    return f"entries/{number:06d}"


def blob_name(digest: str) -> str:
    """The member that holds a blob."""
    return f"blobs/{digest}"


def manifest_fields() -> dict[str, type | tuple[type, ...]]:
    """Fields of the manifest and their types."""
    return {"v": int, "form": str, "chain": str, "entries": int, "blobs": int}


@dataclass
class Container:
    """The members of a record whose container was checked, by position in the file."""

    data: Buffer
    manifest: dict[str, Any] = field(default_factory=dict)
    blobs: list[str] = field(default_factory=list)
    starts: array[int] = field(default_factory=lambda: array("Q"))
    sizes: array[int] = field(default_factory=lambda: array("Q"))
    crcs: array[int] = field(default_factory=lambda: array("L"))

    @property
    def entries(self) -> int:
        """How many entries the manifest promises."""
        return int(self.manifest["entries"])

    def content(self, index: int) -> bytes:
        """The content of the member at this position."""
        start = self.starts[index]
        return self.data[start : start + self.sizes[index]]

    def entry(self, number: int) -> tuple[bytes, int]:
        """An entry's content and where it starts in the file."""
        index = number + 1
        return self.content(index), self.starts[index]

    def blob(self, position: int) -> tuple[bytes, int]:
        """A blob's content and where it starts in the file; `position` counts in `blobs`."""
        index = 2 + self.entries + position
        return self.content(index), self.starts[index]

    def named(self, name: str) -> tuple[bytes, int]:
        """The content of the root, checkpoint or its signature, and where it starts."""
        last = len(self.starts)
        index = {MANIFEST: 0, ROOT: 1, CHECKPOINT: last - 2, CHECKPOINT_JWS: last - 1}[name]
        return self.content(index), self.starts[index]

    def names(self) -> Iterator[str]:
        """Names of all members in their order; blobs by what was read so far."""
        yield MANIFEST
        yield ROOT
        for number in range(1, self.entries + 1):
            yield entry_name(number)
        for position in range(int(self.manifest["blobs"])):
            yield blob_name(self.blobs[position])
        yield CHECKPOINT
        yield CHECKPOINT_JWS


def open_manifest(data: Buffer) -> Container:
    """Check 1: the first member is a manifest that this verifier knows."""
    if len(data) > zipform.MAX_FILE:
        raise Refusal("file.size", "the file is larger than 4 GiB")
    box = Container(data)
    start = _member(box, MANIFEST, 0, MAX_SMALL)
    content = data[start : start + box.sizes[0]]
    try:
        box.manifest = _manifest(content)
    except Refusal as refusal:
        raise refusal.at(MANIFEST, start, len(content)) from None
    return box


def _manifest(content: bytes) -> dict[str, Any]:
    value = read_object(content, manifest_fields())
    if value["v"] != 1:
        raise in_field(content, "v", "manifest.version", "a version this verifier does not know")
    if value["form"] != FORM:
        raise in_field(content, "form", "manifest.form", "a form this verifier does not know")
    for name, least in (("entries", 1), ("blobs", 0)):
        if not least <= value[name] <= MAX_COUNT:
            raise in_field(content, name, "manifest.count", "a count that cannot be")
    return value


def walk(box: Container) -> None:
    """Check 2: the members stand in order, and the file is what the writer would have written."""
    position = box.starts[0] + box.sizes[0]
    position = _next(box, ROOT, position, MAX_SMALL)
    for number in range(1, box.entries + 1):
        position = _next(box, entry_name(number), position, MAX_ENTRY)
    for _ in range(int(box.manifest["blobs"])):
        position = _next_blob(box, position)
    position = _next(box, CHECKPOINT, position, MAX_SMALL)
    position = _next(box, CHECKPOINT_JWS, position, MAX_SMALL)
    _directory(box, position)


def _next(box: Container, name: str, position: int, limit: int) -> int:
    start = _member(box, name, position, limit)
    return start + box.sizes[-1]


def _next_blob(box: Container, position: int) -> int:
    """A blob's name is read from the file: a digest, in ascending order."""
    at = position + zipform.LOCAL.size
    prefix = b"blobs/"
    name = box.data[at : at + len(prefix) + 64]
    digest = name[len(prefix) :].decode("ascii", "replace")
    if not name.startswith(prefix) or not HEX.fullmatch(digest):
        _header_differs(box, position, "blobs/…", zipform.local_header(prefix + b"0" * 64, 0, 0))
        raise Refusal(
            "zip.name", "not the name of a blob", member="blobs/…", field="local header: name",
            offset=at, length=len(name),
        )  # fmt: skip
    if box.blobs and digest <= box.blobs[-1]:
        raise Refusal(
            "zip.order", "blobs are not in ascending order, or one stands twice",
            member=blob_name(digest), field="local header: name", offset=at, length=len(name),
        )  # fmt: skip
    box.blobs.append(digest)
    return _next(box, blob_name(digest), position, MAX_BLOB)


def _member(box: Container, name: str, position: int, limit: int) -> int:
    """Read the member that has to stand at `position`; returns where its content starts."""
    encoded = name.encode("ascii")
    start = position + zipform.LOCAL.size + len(encoded)
    found = box.data[position:start]
    if len(found) < start - position:
        raise Refusal(
            "zip.truncated", "the file ends inside a member's header", member=name,
            field="local header", offset=position, length=max(1, len(found)),
        )  # fmt: skip
    size = int.from_bytes(found[18:22], "little")
    end = start + size
    if size > limit or end > len(box.data):
        said = int.from_bytes(found[14:18], "little")
        _header_differs(box, position, name, zipform.local_header(encoded, size, said))
        _refuse_size(name, position, size)
    crc = zlib.crc32(box.data[start:end])
    if found != zipform.local_header(encoded, size, crc):
        _refuse_member(box, name, position, found, size, crc)
    box.starts.append(start)
    box.sizes.append(size)
    box.crcs.append(crc)
    return start


def _refuse_member(
    box: Container, name: str, position: int, found: bytes, size: int, crc: int
) -> None:
    """Name what is wrong: a header field, or a content that does not fit its CRC-32."""
    said = int.from_bytes(found[14:18], "little")
    _header_differs(box, position, name, zipform.local_header(name.encode(), size, said))
    start = position + zipform.LOCAL.size + len(name)
    central = box.data.find(b"PK\1\2", start + size)
    while central >= 0 and box.data[central + 46 : central + 46 + len(name)] != name.encode():
        central = box.data.find(b"PK\1\2", central + 4)
    if central >= 0 and int.from_bytes(box.data[central + 16 : central + 20], "little") == crc:
        raise Refusal(
            "zip.header", "CRC-32 differs from content and directory", member=name,
            field="local header: CRC-32", offset=position + 14, length=4,
        )  # fmt: skip
    bit = flipped_byte(said ^ crc, size) if size <= MAX_LOCATED else None
    raise Refusal(
        "zip.content", "content does not fit its CRC-32", member=name, field="content",
        offset=start if bit is None else start + bit, length=max(1, size) if bit is None else 1,
    )  # fmt: skip


def _header_differs(box: Container, position: int, name: str, expected: bytes) -> None:
    """Refuse the first byte of a local header that differs; size and CRC-32 are taken as read."""
    found = box.data[position : position + len(expected)]
    for at, (have, want) in enumerate(zip(found, expected, strict=False)):
        field_name, start, length = zipform.field_at(zipform.LOCAL_FIELDS, at)
        if have == want or (name.endswith("…") and (14 <= at < 26 or at >= 36)):
            continue
        if field_name == "uncompressed size":
            # Either of the two sizes may be the altered one.
            field_name, start, length = "compressed size and uncompressed size", 18, 8
        raise Refusal(
            "zip.header" if field_name != "name" else "zip.name",
            "not the member that has to stand here" if field_name == "name"
            else "header field is not what it has to be",
            member=name, field=f"local header: {field_name}", offset=position + start,
            length=length,
        )  # fmt: skip


def _refuse_size(name: str, position: int, size: int) -> None:
    raise Refusal(
        "zip.size", f"a size of {size} bytes passes the end of the file or the limit",
        member=name, field="local header: compressed size and uncompressed size",
        offset=position + 18, length=8,
    )  # fmt: skip


def _directory(box: Container, begin: int) -> None:
    """The central directory and the end record, made again and compared."""
    position = begin
    for index, name in enumerate(box.names()):
        encoded = name.encode("ascii")
        offset = box.starts[index] - zipform.LOCAL.size - len(encoded)
        line = zipform.central_header(encoded, box.sizes[index], box.crcs[index], offset)
        if box.data[position : position + len(line)] != line:
            _check_blob_name(box, index, name)
            _refuse_line(box, position, line, name, "central directory", zipform.CENTRAL_FIELDS)
        position += len(line)
    end = zipform.end_record(len(box.starts), position - begin, begin)
    fields = zipform.END_FIELDS if len(end) == zipform.END.size else (("zip64 end", len(end)),)
    if box.data[position : position + len(end)] != end:
        _refuse_line(box, position, end, "", "end record", fields)
    position += len(end)
    if position != len(box.data):
        raise Refusal(
            "zip.trailing", "bytes after the end of the record", field="after the end record",
            offset=position, length=len(box.data) - position,
        )  # fmt: skip


def _check_blob_name(box: Container, index: int, name: str) -> None:
    """Where directory and local header differ over a blob's name, its content tells."""
    if name.startswith("blobs/") and sha256(box.content(index)).hexdigest() != name[6:]:
        raise Refusal(
            "zip.name", "content does not have the digest it is named by", member=name,
            field="local header: name", offset=box.starts[index] - len(name), length=len(name),
        )  # fmt: skip


def _refuse_line(
    box: Container,
    position: int,
    line: bytes,
    name: str,
    what: str,
    fields: tuple[tuple[str, int], ...],
) -> None:
    found = box.data[position : position + len(line)]
    at = next((n for n, (a, b) in enumerate(zip(found, line, strict=False)) if a != b), len(found))
    field_name, _, _ = zipform.field_at(fields, at)
    raise Refusal(
        "zip.truncated" if at == len(found) else "zip.header",
        "the file ends too early" if at == len(found) else "header field is not what it has to be",
        member=shown(name), field=f"{what}: {field_name}", offset=position + at, length=1,
    )  # fmt: skip


def flipped_byte(syndrome: int, size: int) -> int | None:
    """Which byte of a content, had one bit of it flipped, gives this difference of CRC-32s.

    A CRC is linear: the difference is that of the flipped bit alone, moved through the zero bytes
    after it. Going backwards from the end, one byte at a time, it is recognised when bare.
    """
    for back in range(size):
        if syndrome in _BARE:
            return size - 1 - back
        index = _BY_TOP[syndrome >> 24]
        syndrome = ((syndrome ^ _TABLE[index]) << 8 | index) & 0xFFFFFFFF
    return None


def _crc_table() -> list[int]:
    table = []
    for value in range(256):
        for _ in range(8):
            value = value >> 1 ^ (0xEDB88320 if value & 1 else 0)
        table.append(value)
    return table


_TABLE = _crc_table()
_BY_TOP = {value >> 24: index for index, value in enumerate(_TABLE)}
_BARE = frozenset(_TABLE[1 << bit] for bit in range(8))
