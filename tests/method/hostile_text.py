"""Hostile text files, one per trick; ``make_hostile`` writes them."""

from __future__ import annotations

import numpy as np

from method.readers.text import MAX_BYTES, MAX_ROWS
from tests.method.dialects import Dialect, factors, write

NM = list(range(400, 701, 10))
LABELS = ["a", "b", "c"]
TABLE = factors(3, NM)
GOOD = write(Dialect(), LABELS, NM, TABLE)
LINES = GOOD.decode().splitlines()
CELLS = [line.split(",") for line in LINES]


def with_cell(row, column, text):
    """The good file with one cell replaced (positions from 1)."""
    cells = [list(line) for line in CELLS]
    cells[row - 1][column - 1] = text
    return "\n".join(",".join(line) for line in cells).encode() + b"\n"


def with_labels(labels):
    """The good table under other labels."""
    table = np.resize(TABLE, (len(labels), len(NM)))
    return write(Dialect(), labels, NM, table)


def framed(stated=3, fields=32, head="", columns=(), more=()):
    """The good table framed by keywords; columns and more: further fields and their values."""
    names = ["SAMPLE_ID", *(f"SPECTRAL_NM{nm}" for nm in NM), *columns]
    rows = [
        [label, *map(str, row), *extra]
        for label, row, extra in zip(LABELS, TABLE, more or [()] * 3, strict=True)
    ]
    body = "\n".join("\t".join(row) for row in rows)
    return (
        f"CGATS.17\n{head}NUMBER_OF_FIELDS {fields}\nBEGIN_DATA_FORMAT\n"
        + "\t".join(names)
        + f"\nEND_DATA_FORMAT\nNUMBER_OF_SETS {stated}\nBEGIN_DATA\n{body}\nEND_DATA\n"
    ).encode()


def turned(order):
    """The good file with its wavelengths (and values) in another order."""
    lines = [[cells[0], *(cells[1 + at] for at in order)] for cells in CELLS]
    return "\n".join(",".join(line) for line in lines).encode() + b"\n"


def meter():
    """A meter's export of a lamp, by column."""
    lines = ["LUX\t812", "CCT\t5003", "Duv\t0.001"]
    lines += [f"{nm}nm\t{0.01 + nm % 70 / 100:.4f}" for nm in range(380, 781, 5)]
    return "\r\n".join(lines).encode() + b"\r\n"


def many_rows(count):
    """So many readings at eight wavelengths."""
    head = "label," + ",".join(map(str, NM[::4])) + "\n"
    return head.encode() + b"a,1,2,3,4,5,6,7,8\n" * count


def other_table():
    """A second table with other wavelengths below the good one."""
    nm = list(range(400, 701, 20))
    return GOOD + b"\n" + write(Dialect(), ["x", "y"], nm, factors(2, nm, seed=1))


WIDE = "x" * 9_999
TRICKS = {
    "nothing.csv": lambda: b"",
    "only-blanks.txt": lambda: b" \r\n\t\r\n" * 1_000,
    "only-a-header.csv": lambda: LINES[0].encode(),
    "no-wavelengths.csv": lambda: b"label,L,a,b\nq,50,1\nr,51,2\n",
    "nul-in-a-cell.csv": lambda: with_cell(3, 4, "0.1\0"),
    "nul-in-a-label.csv": lambda: with_cell(3, 1, "b\0"),
    "escape-sequence-in-a-label.csv": lambda: with_cell(3, 1, "\x1b[2Jb"),
    "nan-for-a-number.csv": lambda: with_cell(3, 4, "NaN"),
    "infinity-for-a-number.csv": lambda: with_cell(3, 4, "-inf"),
    "minus-zero.csv": lambda: with_cell(3, 4, "-0.0"),
    "1e308-for-a-number.csv": lambda: with_cell(3, 4, "1e308"),
    "1e999-for-a-number.csv": lambda: with_cell(3, 4, "1e999"),
    "1e-320-for-a-number.csv": lambda: with_cell(3, 4, "1e-320"),
    "number-of-5000-digits.csv": lambda: with_cell(3, 4, "1" * 5_000),
    "number-of-5000-decimals.csv": lambda: with_cell(3, 4, "0." + "1" * 5_000),
    "number-in-other-digits.csv": lambda: with_cell(3, 4, "٠.٥"),
    "error-for-a-number.csv": lambda: with_cell(3, 4, "#N/A"),
    "hexadecimal-for-a-number.csv": lambda: with_cell(3, 4, "0x1p-3"),
    "utf-16-le-with-mark.csv": lambda: b"\xff\xfe" + GOOD.decode().encode("utf-16-le"),
    "utf-16-be-with-mark.csv": lambda: b"\xfe\xff" + GOOD.decode().encode("utf-16-be"),
    "utf-16-le-without-mark.csv": lambda: GOOD.decode().encode("utf-16-le"),
    "utf-16-be-without-mark.csv": lambda: GOOD.decode().encode("utf-16-be"),
    "utf-16-cut-in-a-character.csv": lambda: GOOD.decode().encode("utf-16")[:-1],
    "utf-32.csv": lambda: GOOD.decode().encode("utf-32-le"),
    "utf-8-with-mark.csv": lambda: b"\xef\xbb\xbf" + GOOD,
    "utf-7-looking.csv": lambda: with_cell(3, 1, "+AGEAYg-"),
    "surrogates-as-cesu-8.csv": lambda: GOOD.replace(b"\nb,", b"\nb\xed\xa0\xbd\xed\xb8\x80,"),
    "surrogate-alone-in-utf-16.csv": lambda: (
        b"\xff\xfe"
        + GOOD.decode()
        .encode("utf-16-le")
        .replace(b"\nb,".decode().encode("utf-16-le"), b"\n\0\0\xd8,\0")
    ),
    "carriage-returns-only.csv": lambda: GOOD.replace(b"\n", b"\r"),
    "line-ends-mixed.csv": lambda: GOOD.replace(b"\n", b"\r\n", 1).replace(b"\nc", b"\rc"),
    "line-separators-of-unicode-in-labels.csv": lambda: with_labels(["a\u2028b", "c\u0085d", "e"]),
    "cut-in-a-row.csv": lambda: GOOD[: GOOD.rindex(b",")],
    "cut-in-a-quoted-cell.csv": lambda: GOOD + b'"d,0.1,0.2',
    "quotes-alone.csv": lambda: b'"' * 1_000_001,
    "one-quote-over-many-lines.csv": lambda: b'"' + b"a,b,c\n" * 200_000,
    "two-tables.csv": other_table,
    "the-same-table-twice.csv": lambda: GOOD + GOOD,
    "a-thousand-tables.csv": lambda: (GOOD + b"\n") * 1_000,
    "counts-that-lie.txt": lambda: framed(stated=1624, fields=51),
    "cut-in-the-data-block.txt": lambda: framed()[: framed().index(b"\nc\t") + 1],
    "stated-lab-unlike-its-spectra.txt": lambda: framed(
        fields=35,
        head='KEYWORD "COMPUTATIONAL_PARAMETER"\nILLUMINANT D50\nOBSERVER "2 degree"\n',
        columns=("LAB_L", "LAB_A", "LAB_B"),
        more=[("50.00", "0.00", "0.00")] * 3,
    ),
    "picture-named.csv": lambda: b"\x89PNG\r\n\x1a\n" + b"\0" * 500,
    "printed-page-named.txt": lambda: b"%PDF-1.7\n" + b"\0" * 500,
    "compressed-named.csv": lambda: b"\x1f\x8b\x08" + b"\0" * 500,
    "text-named.xlsx": lambda: GOOD,
    "text-named.cxf": lambda: GOOD,
    "tabs-named.csv": lambda: write(Dialect(separator="tab"), LABELS, NM, TABLE),
    "lamp-as-reflectance.sp": meter,
    "counts-of-a-sensor.csv": lambda: with_cell(3, 4, "40321"),
    "wavelength-twice.csv": lambda: with_cell(1, 5, "420"),
    "wavelengths-falling.csv": lambda: turned(range(len(NM))[::-1]),
    "wavelengths-in-disorder.csv": lambda: turned([5, *range(5), *range(6, len(NM))]),
    "wavelength-missing.csv": lambda: turned([*range(9), *range(10, len(NM))]),
    "formulas-for-labels.csv": lambda: with_labels(
        ["=1+1", "+1", "-1", "@SUM(A1)", "=cmd|' /C calc'!A0"]
    ),
    "formula-for-a-number.csv": lambda: with_cell(3, 4, "=0.1+0.2"),
    "marks-of-direction-in-labels.csv": lambda: with_labels(
        ["\u202etxt.exe", "a\u200bb", "\u2066c\u2069"]
    ),
    "labels-that-differ-in-form-alone.csv": lambda: with_labels(["\u00e9", "e\u0301", "E"]),
    "label-of-ten-thousand-characters.csv": lambda: with_cell(3, 1, WIDE),
    "a-million-columns.csv": lambda: b"label" + b",1" * 1_000_000 + b"\n" + GOOD,
    "a-million-rows-of-nothing.csv": lambda: GOOD + b",,,,\n" * 1_000_000,
    "a-million-blank-lines-first.csv": lambda: b"\n" * 1_000_000 + GOOD,
    "rows-beyond-the-limit.csv": lambda: many_rows(MAX_ROWS + 1),
    "one-line-beyond-the-limit.csv": lambda: b"x" * (MAX_BYTES + 1),
    "one-line-up-to-the-limit.csv": lambda: b"x" * MAX_BYTES,
    "one-line-of-cells-up-to-the-limit.csv": lambda: b"1," * (MAX_BYTES // 2),
    "one-line-of-blanks-and-cells.txt": lambda: b"1 " * (MAX_BYTES // 8),
    "a-remark-without-end.csv": lambda: b"#" * (MAX_BYTES // 4) + b"\n" + GOOD,
    "ten-thousand-columns-that-may-be-labels.csv": lambda: (
        b"x," * 3_900 + LINES[0].encode() + b"\n" + b"1," * 3_900 + LINES[1].encode()
    ),
    "wavelengths-beyond-belief.csv": lambda: GOOD.replace(b"label,400", b"label,99400"),
    "decimal-commas-between-commas.csv": lambda: GOOD.replace(b".", b","),
    "both-decimal-marks.csv": lambda: GOOD.replace(b",", b";").replace(b".", b",", 40),
    "one-reading-of-another-scale.csv": lambda: write(
        Dialect(), ["a", "b"], NM, np.array([[0.5] * 31, [50.0] * 31])
    ),
    "below-zero-throughout.csv": lambda: write(
        Dialect(), ["a", "b"], NM, np.array([[0.5] * 31, [-0.5] * 31])
    ),
    "a-value-far-below-zero.csv": lambda: with_cell(3, 4, "-0.4"),
    "percent-or-factor.csv": lambda: write(Dialect(), ["a"], NM, np.full((1, 31), 0.85)),
}
