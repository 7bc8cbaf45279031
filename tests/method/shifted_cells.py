"""Texts in which a cell too few or too many would move readings to another wavelength."""

from __future__ import annotations

NM = range(400, 701, 10)
BANDS = [f"{0.05 + i / 100:.4f}" for i in range(31)]
WHOLE = [["A", *BANDS], ["B", *BANDS], ["C", *BANDS]]


def text(rows, more=(), separator="\t", first=("SAMPLE_ID",)):
    """A plain text: header with columns behind the bands, and rows of cells."""
    header = [*first, *map(str, NM), *more]
    return "\n".join(separator.join(row) for row in [header, *rows]).encode() + b"\n"


def framed_text(rows, more=(), separator="\t"):
    """The same as CGATS.17 text."""
    header, *body = text(rows, more, separator).decode().splitlines()
    frame = ["CGATS.17", "BEGIN_DATA_FORMAT", header, "END_DATA_FORMAT", "BEGIN_DATA"]
    return "\n".join([*frame, *body, "END_DATA"]).encode() + b"\n"
