"""Writes one table of spectra in every dialect that the reader should understand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

SPELLINGS = (
    "SPECTRAL_NM{}",
    "SPECTRAL_{}",
    "SPEC_{}",
    "nm{}",
    "{}nm",
    "{} nm",
    "{}",
    "R{}",
    "R({})",
)
SEPARATORS = {"comma": ",", "semicolon": ";", "tab": "\t", "spaces": "   "}


@dataclass(frozen=True)
class Dialect:
    """How a file is written. newline, encoding, quoting and remarks as their names say."""

    separator: str = "comma"
    mark: str = "."
    spelling: str = "{}"
    layout: str = "rows"
    percent: bool = False
    newline: str = "\n"
    encoding: str = "utf-8"
    quoted: bool = False
    remarks: bool = False
    descending: bool = False


def factors(readings, wavelengths, seed=0):
    """Reflectances of invented specimens, four decimals as factors, one of them dark."""
    rng = np.random.default_rng(seed)
    table = rng.uniform(0.12, 0.9, (readings, len(wavelengths))).round(4)
    table[0, 3] = 0.0423
    return table


def write(dialect, labels, wavelengths, table):
    """Return the bytes of ``table`` (factors, readings x bands) in a dialect."""
    order = list(range(len(wavelengths)))[:: -1 if dialect.descending else 1]
    names = [dialect.spelling.format(wavelengths[i]) for i in order]
    numbers = [[_number(row[i], dialect) for i in order] for row in table]
    if dialect.layout == "rows":
        grid = [["label", *names]]
        grid += [[_label(label, dialect), *row] for label, row in zip(labels, numbers, strict=True)]
    else:
        grid = [["wavelength", *(_label(label, dialect) for label in labels)]]
        grid += [
            [name, *column] for name, column in zip(names, zip(*numbers, strict=True), strict=True)
        ]
    lines = [SEPARATORS[dialect.separator].join(row) for row in grid]
    if dialect.remarks:
        lines = ['# an invented "remark', *lines[:1], "", "# another", *lines[1:], "#end"]
    return (dialect.newline.join(lines) + dialect.newline).encode(dialect.encoding)


def _number(value, dialect):
    text = f"{value * 100:.2f}" if dialect.percent else f"{value:.4f}"
    text = text.replace(".", dialect.mark)
    return f'"{text}"' if dialect.quoted else text


def _label(label, dialect):
    return f'"{label}"' if dialect.quoted else label
