"""The one form of a record's zip: stored members, fixed attributes, fixed order, no freedom left.

Every byte outside the members' contents follows from names, sizes and contents. The writer makes
these bytes; the verifier makes them again and compares.
"""

from __future__ import annotations

import struct
import zlib
from typing import BinaryIO

VERSION_NEEDED = 10  # stored, no directories
VERSION_MADE_BY = (3 << 8) | 20  # Unix, so that unpacked files are readable
ATTRIBUTES = 0o100644 << 16
DATE_1980_01_01 = 0x21
MAX_FILE = 2**32 - 1  # offsets stay within 32 bits
MAX_PLAIN_COUNT = 0xFFFE  # more members than this and a zip64 end record is written

LOCAL = struct.Struct("<4sHHHHHIIIHH")
CENTRAL = struct.Struct("<4sHHHHHHIIIHHHHHII")
END64 = struct.Struct("<4sQHHIIQQQQ")
LOCATOR = struct.Struct("<4sIQI")
END = struct.Struct("<4sHHHHIIH")

Fields = tuple[tuple[str, int], ...]

LOCAL_FIELDS = (
    ("signature", 4), ("version needed", 2), ("flags", 2), ("method", 2), ("time", 2),
    ("date", 2), ("CRC-32", 4), ("compressed size", 4), ("uncompressed size", 4),
    ("name length", 2), ("extra length", 2),
)  # fmt: skip
CENTRAL_FIELDS = (
    ("signature", 4), ("version made by", 2), ("version needed", 2), ("flags", 2), ("method", 2),
    ("time", 2), ("date", 2), ("CRC-32", 4), ("compressed size", 4), ("uncompressed size", 4),
    ("name length", 2), ("extra length", 2), ("comment length", 2), ("disk", 2),
    ("internal attributes", 2), ("external attributes", 4), ("offset", 4),
)  # fmt: skip
END_FIELDS = (
    ("signature", 4), ("disk", 2), ("directory disk", 2), ("members on disk", 2), ("members", 2),
    ("directory size", 4), ("directory offset", 4), ("comment length", 2),
)  # fmt: skip


def local_header(name: bytes, size: int, crc: int) -> bytes:
    """What stands before a member's content."""
    fixed = LOCAL.pack(
        b"PK\3\4", VERSION_NEEDED, 0, 0, 0, DATE_1980_01_01, crc, size, size, len(name), 0
    )
    return fixed + name


def central_header(name: bytes, size: int, crc: int, offset: int) -> bytes:
    """A member's line in the central directory."""
    fixed = CENTRAL.pack(
        b"PK\1\2", VERSION_MADE_BY, VERSION_NEEDED, 0, 0, 0, DATE_1980_01_01, crc, size, size,
        len(name), 0, 0, 0, 0, ATTRIBUTES, offset,
    )  # fmt: skip
    return fixed + name


def end_record(count: int, size: int, offset: int) -> bytes:
    """The end of the file: a zip64 end record only where the count needs it."""
    before = b""
    if count > MAX_PLAIN_COUNT:
        before = END64.pack(b"PK\6\6", 44, VERSION_MADE_BY, 45, 0, 0, count, count, size, offset)
        before += LOCATOR.pack(b"PK\6\7", 0, offset + size, 1)
    short = min(count, 0xFFFF)
    return before + END.pack(b"PK\5\6", 0, 0, short, short, size, offset, 0)


def field_at(fields: Fields, position: int) -> tuple[str, int, int]:
    """The header field at a byte position: its name, start and length; the name lies beyond."""
    start = 0
    for name, length in fields:
        if position < start + length:
            return name, start, length
        start += length
    return "name", position, 1


class Writer:
    """Writes members in the order they are added; `close` writes the directory."""

    def __init__(self, out: BinaryIO) -> None:
        self.out = out
        self.offset = 0
        self.directory: list[tuple[bytes, int, int, int]] = []

    def add(self, name: str, data: bytes) -> None:
        """One member; OverflowError where the record would pass 4 GiB."""
        encoded = name.encode("ascii")
        crc = zlib.crc32(data)
        header = local_header(encoded, len(data), crc)
        if self.offset + len(header) + len(data) > MAX_FILE:
            raise OverflowError("a record holds less than 4 GiB")
        self.directory.append((encoded, len(data), crc, self.offset))
        self.out.write(header)
        self.out.write(data)
        self.offset += len(header) + len(data)

    def close(self) -> None:
        """The central directory and the end record."""
        size = 0
        for name, length, crc, offset in self.directory:
            line = central_header(name, length, crc, offset)
            self.out.write(line)
            size += len(line)
        if self.offset + size > MAX_FILE:
            raise OverflowError("a record holds less than 4 GiB")
        self.out.write(end_record(len(self.directory), size, self.offset))
