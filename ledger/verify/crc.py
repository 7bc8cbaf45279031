"""Which byte of a content was altered, told from the difference of its CRC-32 alone."""

from __future__ import annotations

from functools import cache

_BABY = 1024  # bytes from the end that are looked up at once
_POLYNOMIAL = 0xEDB88320


def flipped_byte(syndrome: int, size: int) -> int | None:
    """Which byte of a content, had one bit of it flipped, gives this difference of CRC-32s.

    A CRC is linear: the difference is that of the flipped bit alone, moved on by the zero bytes
    after it. The last `_BABY` places are in a table; from there on the difference is moved back by
    as many bytes at once, which is a linear map again (four tables of 256). None where no single
    bit of `size` bytes gives it. Beyond some megabytes an altered pair of bits may look like one.
    """
    near, (one, two, three, four) = _tables()
    for back in range(0, size, _BABY):
        found = near.get(syndrome)
        if found is not None and back + found < size:
            return size - 1 - back - found
        syndrome = (
            one[syndrome & 255]
            ^ two[syndrome >> 8 & 255]
            ^ three[syndrome >> 16 & 255]
            ^ four[syndrome >> 24]
        )
    return None


def _crc_table() -> list[int]:
    table = []
    for value in range(256):
        for _ in range(8):
            value = value >> 1 ^ (_POLYNOMIAL if value & 1 else 0)
        table.append(value)
    return table


def _near(table: list[int]) -> dict[int, int]:
    """Difference → how many bytes stand behind the flipped one, for the last `_BABY`."""
    found = {}
    for bit in range(8):
        value = table[1 << bit]
        for back in range(_BABY):
            found[value] = back
            value = value >> 8 ^ table[value & 255]
    return found


def _far(table: list[int]) -> list[list[int]]:
    """Tables of the map that takes `_BABY` zero bytes away again."""
    by_top = {value >> 24: index for index, value in enumerate(table)}

    def back(value: int) -> int:
        for _ in range(_BABY):
            index = by_top[value >> 24]
            value = (value ^ table[index]) << 8 & 0xFFFFFFFF | index
        return value

    bits = [back(1 << bit) for bit in range(32)]
    tables = []
    for byte in range(4):
        row = [0] * 256
        for value in range(1, 256):
            low = value & -value
            row[value] = row[value ^ low] ^ bits[8 * byte + low.bit_length() - 1]
        tables.append(row)
    return tables


@cache
def _tables() -> tuple[dict[int, int], list[list[int]]]:
    """Made when the first content differs: a sound record needs none."""
    table = _crc_table()
    return _near(table), _far(table)
