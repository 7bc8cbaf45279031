"""The archive of an .xlsx workbook: what it is, and its XML members within limits.

Nothing is unpacked to a disk, and nothing beyond the members that a reader of cells needs. What
comes out is a new archive made of exactly the bytes that were checked: members that overlap, hide
behind another's name or lie about their size never reach the library that reads the workbook.
"""

from __future__ import annotations

import io
import re
import zlib
from collections.abc import Iterable
from itertools import pairwise
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from method.readers import text as limits
from method.readers.errors import ReadError

MAX_MEMBERS = 2_000
MAX_UNPACKED = 64 * 1024 * 1024
# Sheets of numbers shrink 5 to 30 times; what shrinks more than this is made to (common practice,
# no published source). Members up to SMALL bytes are never held against it.
MAX_RATIO, SMALL = 250, 1024 * 1024
CONTENT_TYPES = "[Content_Types].xml"
_CENTRAL = b"PK\x01\x02"
_LOCAL_HEADER = 30
_CHUNK = 256 * 1024
_ENCRYPTED_STREAM = "EncryptedPackage".encode("utf-16-le")
_UNUSED = re.compile(
    r"docProps/|customXml/|.*/(theme|drawings|charts|chartsheets|externalLinks|comments|media"
    r"|pivotTables|pivotCache|queryTables|tables|printerSettings|embeddings)/|.*/worksheets/_rels/"
    r"|xl/comments\d*\.xml|xl/persons/|xl/threadedComments/|xl/calcChain\.xml"
)


def members(data: bytes, name: str) -> dict[str, bytes]:
    """Return the XML members of a workbook that reading its cells needs, by name.

    Raises ReadError for what is no .xlsx workbook (older, binary, encrypted and macro forms by
    name), for damaged archives, and for those that go over the limits or lie about themselves.
    """
    _check_kind(data, name)
    if len(data) > limits.MAX_BYTES:
        params = {"size": str(len(data)), "limit": str(limits.MAX_BYTES)}
        raise ReadError("too-large", name, params=params)
    if data.count(_CENTRAL) > MAX_MEMBERS:  # before they are listed
        raise ReadError("zip-members", name, params={"limit": str(MAX_MEMBERS)})
    try:
        with ZipFile(io.BytesIO(data)) as archive:
            infos = archive.infolist()
            _check_list(infos, name)
            _check_workbook([info.filename for info in infos], name)
            return _unpacked(archive, infos, name)
    except ReadError:  # itself a ValueError
        raise
    except (
        BadZipFile,
        zlib.error,
        NotImplementedError,
        RuntimeError,
        EOFError,
        OSError,
        ValueError,
        OverflowError,
    ) as error:
        raise ReadError("zip-broken", name) from error


def repacked(found: dict[str, bytes]) -> io.BytesIO:
    """Return a plain archive of the members."""
    clean = io.BytesIO()
    with ZipFile(clean, "w", ZIP_STORED) as archive:
        for name, content in found.items():
            archive.writestr(ZipInfo(name), content)
    clean.seek(0)
    return clean


def _check_kind(data: bytes, name: str) -> None:
    """Raise ReadError for files that do not even begin as an archive."""
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        if _ENCRYPTED_STREAM in data:
            raise ReadError("xlsx-encrypted", name)
        raise ReadError("xlsx-old", name)
    if not data:
        raise ReadError("empty", name)
    if not data.startswith(b"PK\x03\x04"):
        raise ReadError("xlsx-not-workbook", name)


def _check_list(infos: list[ZipInfo], name: str) -> None:
    """Raise ReadError for members that are encrypted, named twice, or lie over each other."""
    names = [info.filename for info in infos]
    if len(set(names)) < len(names):
        twice = next(one for one in names if names.count(one) > 1)
        raise ReadError("zip-twice", name, params={"member": twice[:80]})
    if any(info.flag_bits & 0x1 for info in infos):
        raise ReadError("xlsx-encrypted", name)
    for one, other in pairwise(sorted(infos, key=lambda info: info.header_offset)):
        end = one.header_offset + _LOCAL_HEADER + len(one.orig_filename) + one.compress_size
        if end > other.header_offset:
            raise ReadError("zip-overlap", name, params={"member": other.filename[:80]})


def _check_workbook(names: Iterable[str], name: str) -> None:
    """Raise ReadError for archives that hold something else than an .xlsx workbook."""
    there = set(names)
    if any(one.lower().endswith("vbaproject.bin") for one in there):
        raise ReadError("xlsx-macros", name)
    if any(one.lower().endswith("workbook.bin") for one in there):
        raise ReadError("xlsx-binary", name)
    if CONTENT_TYPES not in there or not any(one.endswith("workbook.xml") for one in there):
        raise ReadError("xlsx-not-workbook", name)


def _unpacked(archive: ZipFile, infos: list[ZipInfo], name: str) -> dict[str, bytes]:
    """Return the members that are needed, unpacked within the limits."""
    found: dict[str, bytes] = {}
    left = MAX_UNPACKED
    for info in infos:
        if not info.filename.endswith((".xml", ".rels")) or _UNUSED.match(info.filename):
            continue
        if info.compress_type not in (ZIP_STORED, ZIP_DEFLATED):
            raise ReadError("zip-broken", name)
        content = _content(archive, info, left, name)
        left -= len(content)
        found[info.filename] = content
    types = found[CONTENT_TYPES]
    if b"macroEnabled" in types:
        raise ReadError("xlsx-macros", name)
    return found


def _content(archive: ZipFile, info: ZipInfo, left: int, name: str) -> bytes:
    """Return one member, stopping as soon as it grows over a limit."""
    pieces: list[bytes] = []
    size = 0
    member = {"member": info.filename[:80]}
    with archive.open(info) as stream:
        while piece := stream.read(_CHUNK):
            size += len(piece)
            if size > left or (size > SMALL and size > MAX_RATIO * max(info.compress_size, 1)):
                raise ReadError("zip-bomb", name, params=member)
            pieces.append(piece)
    if size != info.file_size:
        raise ReadError("zip-sizes", name, params=member)
    return b"".join(pieces)
