"""Check 1 and 2: the manifest, and every byte of the file around the members' contents.

Nothing is kept per member but a mark at every 64th entry: later checks walk through the file again,
and pages that were read are given back, so that memory does not grow with the record.
"""

from __future__ import annotations

import mmap
import re
import zlib
from array import array
from collections.abc import Iterator
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any

from ledger.verify import faults, zipform
from ledger.verify.faults import Buffer
from ledger.verify.report import Refusal
from ledger.verify.strict import HEX, in_field, read_object

MANIFEST = "manifest.json"
ROOT = "root.der"
CHECKPOINT = "checkpoint.json"
CHECKPOINT_JWS = "checkpoint.jws"
WHOLE = "whole"
PART = "part"
MAX_SMALL = 64 * 1024  # manifest, root, checkpoint and its signature
MAX_ENTRY = 8 * 1024 * 1024
MAX_BLOB = 256 * 1024 * 1024
MAX_COUNT = 10_000_000
SUBJECT = r"[!#-\[\]-~](?:[ !#-\[\]-~]{0,118}[!#-\[\]-~])?"
STEP = 64  # a mark at every such entry
GIVE_BACK = 16 * 1024 * 1024  # bytes of the file that may stay in memory

_LOCAL = zipform.LOCAL.size
_BLOB = len("blobs/") + 64
_DONT_NEED = getattr(mmap, "MADV_DONTNEED", None)  # not every system gives pages back


def entry_name(number: int) -> str:
    """The member that holds an entry."""
    return f"entries/{number:06d}"


def blob_name(digest: str) -> str:
    """The member that holds a blob."""
    return f"blobs/{digest}"


def manifest_fields() -> dict[str, type | tuple[type, ...]]:
    """Fields of every manifest and their types."""
    return {"v": int, "form": str, "chain": str, "entries": int, "blobs": int}


@dataclass
class Container:
    """A record whose container was checked: where members lie in the file."""

    data: Buffer
    manifest: dict[str, Any] = field(default_factory=dict)
    marks: array[int] = field(default_factory=lambda: array("Q"))  # of entries 1, 65, 129, …
    after_entries: int = 0
    single: dict[str, tuple[int, int]] = field(default_factory=dict)  # name → start and size
    given_back: int = 0

    @property
    def entries(self) -> int:
        """How many entries the manifest promises."""
        return int(self.manifest["entries"])

    @property
    def blobs(self) -> int:
        """How many blobs the manifest promises."""
        return int(self.manifest["blobs"])

    @property
    def is_part(self) -> bool:
        """Whether payloads are withheld: a record about one thing."""
        return bool(self.manifest["form"] == PART)

    def named(self, name: str) -> tuple[bytes, int]:
        """The content of manifest, root, checkpoint or its signature, and where it starts."""
        start, size = self.single[name]
        return self.data[start : start + size], start

    def entry(self, number: int) -> tuple[bytes, int]:
        """An entry's content and where it starts in the file."""
        mark, further = divmod(number - 1, STEP)
        position = self.marks[mark]
        for before in range(number - further, number):
            position += _LOCAL + len(entry_name(before)) + self._size(position)
        start = position + _LOCAL + len(entry_name(number))
        return self.data[start : start + self._size(position)], start

    def each_entry(self) -> Iterator[tuple[int, bytes, int]]:
        """Number, content and start of every entry, in order."""
        data, position = self.data, self.marks[0]
        self.given_back = 0  # another pass begins
        for number in range(1, self.entries + 1):
            start = position + (44 if number < 1_000_000 else _LOCAL + len(entry_name(number)))
            position = start + int.from_bytes(data[position + 18 : position + 22], "little")
            yield number, data[start:position], start
            if position - self.given_back > GIVE_BACK:
                self.give_back(position)
        self.give_back(position)

    def each_blob(self, *, content: bool = True) -> Iterator[tuple[str, bytes, int]]:
        """Digest, content (empty where none is asked for) and start of every blob, ascending."""
        position = self.after_entries
        for _ in range(self.blobs):
            start = position + _LOCAL + _BLOB
            digest = self.data[start - 64 : start].decode("ascii")
            size = self._size(position)
            yield digest, self.data[start : start + size] if content else b"", start
            position = start + size
            self.give_back(position)

    def give_back(self, position: int) -> None:
        """Pages of the file before this position need not stay in memory."""
        if position < self.given_back:
            self.given_back = 0  # a pass that began again
        page = position - position % mmap.PAGESIZE
        if isinstance(self.data, mmap.mmap) and _DONT_NEED is not None and page > self.given_back:
            self.data.madvise(_DONT_NEED, self.given_back, page - self.given_back)
        self.given_back = page

    def _size(self, position: int) -> int:
        return int.from_bytes(self.data[position + 18 : position + 22], "little")


def open_manifest(data: Buffer) -> Container:
    """Check 1: the first member is a manifest that this verifier knows."""
    if len(data) > zipform.MAX_FILE:
        raise Refusal("file.size", "the file is larger than 4 GiB")
    box = Container(data)
    start, size, _ = _member(data, MANIFEST, 0, MAX_SMALL)
    box.single[MANIFEST] = start, size
    content = data[start : start + size]
    try:
        box.manifest = _manifest(content)
    except Refusal as refusal:
        raise refusal.at(MANIFEST, start, len(content)) from None
    return box


def _manifest(content: bytes) -> dict[str, Any]:
    value = read_object(content, manifest_fields(), {"about": str, "erased": int})
    if value["v"] != 1:
        raise in_field(content, "v", "manifest.version", "a version this verifier does not know")
    if value["form"] not in (WHOLE, PART):
        raise in_field(content, "form", "manifest.form", "a form this verifier does not know")
    for name, least in (("entries", 1), ("blobs", 0)):
        if not least <= value[name] <= MAX_COUNT:
            raise in_field(content, name, "manifest.count", "a count that cannot be")
    _form_fields(content, value)
    return value


def _form_fields(content: bytes, value: dict[str, Any]) -> None:
    """`about` belongs to a part, `erased` to a whole; neither stands there for nothing."""
    if (value["form"] == PART) != ("about" in value):
        name = "about" if "about" in value else "form"
        raise in_field(content, name, "manifest.about", "a part, and no other, says about what")
    if "about" in value and not re.fullmatch(SUBJECT, value["about"], re.ASCII):
        raise in_field(content, "about", "manifest.about", "not a subject")
    if "erased" in value:
        if value["form"] == PART:
            raise in_field(content, "erased", "manifest.erased", "a part does not count erasures")
        if not 1 <= value["erased"] <= value["entries"]:
            raise in_field(content, "erased", "manifest.erased", "a count that cannot be")


class _Directory:
    """The central directory that has to follow, hashed while the members go by."""

    def __init__(self) -> None:
        self.hash = sha256()
        self.pending = bytearray()
        self.size = 0
        self.count = 0

    def add(self, name: bytes, size: int, crc: int, offset: int) -> None:
        self.pending += zipform.central_header(name, size, crc, offset)
        self.count += 1
        if len(self.pending) > 65_536:
            self.flush()

    def flush(self) -> bytes:
        self.hash.update(self.pending)
        self.size += len(self.pending)
        self.pending.clear()
        return self.hash.digest()


def walk(box: Container) -> None:
    """Check 2: the members stand in order, and the file is what the writer would have written."""
    directory = _Directory()
    position = 0
    for name in (MANIFEST, ROOT):
        position = _single(box, directory, name, position)
    position = _walk_entries(box, directory, position)
    box.after_entries = position
    position = _walk_blobs(box, directory, position)
    for name in (CHECKPOINT, CHECKPOINT_JWS):
        position = _single(box, directory, name, position)
    _compare(box, directory, position)
    box.give_back(len(box.data))


def _single(box: Container, directory: _Directory, name: str, position: int) -> int:
    start, size, crc = _member(box.data, name, position, MAX_SMALL)
    box.single[name] = start, size
    directory.add(name.encode("ascii"), size, crc, position)
    return start + size


def _walk_entries(box: Container, directory: _Directory, position: int) -> int:
    for number in range(1, box.entries + 1):
        name = entry_name(number)
        if number % STEP == 1:
            box.marks.append(position)
        start, size, crc = _member(box.data, name, position, MAX_ENTRY)
        directory.add(name.encode("ascii"), size, crc, position)
        position = start + size
        if position - box.given_back > GIVE_BACK:
            box.give_back(position)
    return position


def _walk_blobs(box: Container, directory: _Directory, position: int) -> int:
    """A blob's name is read from the file: a digest, in ascending order."""
    last = ""
    for _ in range(box.blobs):
        at = position + _LOCAL
        encoded = box.data[at : at + _BLOB]
        digest = encoded[6:].decode("ascii", "replace")
        if not encoded.startswith(b"blobs/") or not HEX.fullmatch(digest):
            if len(encoded) < _BLOB:
                faults.truncated("blobs/…", position, len(box.data) - position)
            faults.blob_name(box.data, position, encoded)
        if digest <= last:
            faults.blob_order(blob_name(digest), position)
        last = digest
        start, size, crc = _member(box.data, blob_name(digest), position, MAX_BLOB)
        directory.add(encoded, size, crc, position)
        position = start + size
        box.give_back(position)
    return position


def _member(data: Buffer, name: str, position: int, limit: int) -> tuple[int, int, int]:
    """The member that has to stand at `position`: where its content starts, size and CRC-32."""
    encoded = name.encode("ascii")
    start = position + _LOCAL + len(encoded)
    found = data[position:start]
    if len(found) < start - position:
        faults.truncated(name, position, len(found))
    size = int.from_bytes(found[18:22], "little")
    end = start + size
    if size > limit or end > len(data):
        faults.size(data, name, position, size)
    crc = zlib.crc32(data[start:end])
    if found != zipform.local_header(encoded, size, crc):
        faults.member(data, name, position, size)
    return start, size, crc


def _compare(box: Container, directory: _Directory, begin: int) -> None:
    """The central directory and the end record are those that have to stand here."""
    wanted, size = directory.flush(), directory.size
    found = sha256()
    for at in range(begin, begin + size, 1 << 20):
        found.update(box.data[at : min(at + (1 << 20), begin + size)])
        box.give_back(at)
    if found.digest() != wanted:
        _find_line(box, begin)
    position = begin + size
    end = zipform.end_record(directory.count, size, begin)
    fields = zipform.END_FIELDS if len(end) == zipform.END.size else (("zip64 end", len(end)),)
    faults.line(box.data, position, end, "", "end record", fields)
    position += len(end)
    if position != len(box.data):
        raise Refusal(
            "zip.trailing", "bytes after the end of the record", field="after the end record",
            offset=position, length=len(box.data) - position,
        )  # fmt: skip


def _find_line(box: Container, begin: int) -> None:
    """The first line of the directory that differs, named; the members were found sound."""
    line_at = begin
    for name, position in _members(box):
        encoded = name.encode("ascii")
        start = position + _LOCAL + len(encoded)
        head = box.data[position:start]
        size, crc = int.from_bytes(head[18:22], "little"), int.from_bytes(head[14:18], "little")
        line = zipform.central_header(encoded, size, crc, position)
        if box.data[line_at : line_at + len(line)] != line:
            faults.named_by_another_digest(name, box.data[start : start + size], start)
        faults.line(box.data, line_at, line, name, "central directory", zipform.CENTRAL_FIELDS)
        line_at += len(line)


def _members(box: Container) -> Iterator[tuple[str, int]]:
    """Name and position of every member, in the order of the file."""
    for name in (MANIFEST, ROOT):
        yield name, box.single[name][0] - _LOCAL - len(name)
    for number, _, start in box.each_entry():
        yield entry_name(number), start - _LOCAL - len(entry_name(number))
    for digest, _, start in box.each_blob(content=False):
        yield blob_name(digest), start - _LOCAL - _BLOB
    for name in (CHECKPOINT, CHECKPOINT_JWS):
        yield name, box.single[name][0] - _LOCAL - len(name)
