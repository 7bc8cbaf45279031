"""Made tests/data/readings-v1.json once, with the first version of the text reader.

Every file there must replay for ever: the mapping recorded then gives the packed set recorded then,
and what was refused then is refused by the same id. The first version stays in
method.readers.csv. What is committed is never made anew; the script shows how it came to be.

    python -m tests.method.make_readings_v1
"""

from __future__ import annotations

import base64
import itertools
import json
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from ledger.canonical import digest
from method.packed import pack
from method.readers import csv
from method.readers.errors import ReadError
from tests.method.dialects import SEPARATORS, SPELLINGS, Dialect, factors, write
from tests.method.test_readers_faults import FAULTS

TARGET = Path(__file__).parents[1] / "data" / "readings-v1.json"
WAVELENGTHS = list(range(400, 701, 20))
LABELS = ["A-1", "A-1", "B-2"]
TABLE = factors(3, WAVELENGTHS)


def files() -> Iterator[tuple[str, bytes, dict[str, str]]]:
    """Yield name, bytes and answers of invented files, one for each thing the reader knew."""
    for separator, layout, percent in itertools.product(
        SEPARATORS, ("rows", "columns"), (True, False)
    ):
        dialect = Dialect(separator=separator, layout=layout, percent=percent)
        yield f"{separator} {layout} {percent}", write(dialect, LABELS, WAVELENGTHS, TABLE), {}
    for spelling in SPELLINGS:
        yield spelling, write(Dialect(spelling=spelling), LABELS, WAVELENGTHS, TABLE), {}
    forms = {
        "CR only": Dialect(newline="\r"),
        "CRLF, decimal commas": Dialect(newline="\r\n", separator="tab", mark=","),
        "UTF-16": Dialect(encoding="utf-16-le", remarks=True),
        "quoted": Dialect(quoted=True, mark=","),
        "descending": Dialect(descending=True),
    }
    for name, dialect in forms.items():
        yield name, write(dialect, LABELS, WAVELENGTHS, TABLE), {"geometry": "45:0"}
    yield from _asked()


def _asked() -> Iterator[tuple[str, bytes, dict[str, str]]]:
    """Yield files about which the reader asked, and odd ones."""
    white = write(Dialect(), ["white"], WAVELENGTHS, np.full((1, len(WAVELENGTHS)), 0.85))
    yield "scale asked", white, {"scale": "percent"}
    yield "scale declared", b"Reflectance factor\n" + white, {}
    yield "scale not answered", white, {}
    names = ",".join(map(str, WAVELENGTHS))
    row = ",".join(map(str, TABLE[0]))
    asked = f"sample,batch,name,{names}\nx,7,n,{row}\n".encode()
    yield "label column asked", asked, {"label_column": "3"}
    both = ",".join(f"{kind}_{nm}" for kind in ("SCI", "SCE") for nm in WAVELENGTHS)
    yield "two sets asked", f"label,{both}\nx,{row},{row}\n".encode(), {"columns": "SCE"}
    lamp = f"CCT\t5000\nLux\t700\nlabel\t{names}\nx\t{row}\n".replace(",", "\t").encode()
    yield "lamp or surface asked", lamp, {"surface": "surface"}
    square = write(Dialect(), list(map(str, WAVELENGTHS)), WAVELENGTHS, factors(16, WAVELENGTHS))
    yield "layout asked", square, {"layout": "columns"}
    odd = TABLE.copy()
    odd[1, 5], odd[2, 6], odd[0, 8:10] = -0.01, 1.31, 0.0
    odd[:, 0] = odd[:, 1]
    yield "odd values", write(Dialect(), LABELS, WAVELENGTHS, odd), {}
    framed = (
        'CREATED\t"1/2/2003"  # Time: 1:00\nBEGIN_DATA_FORMAT\nSampleID\t'
        + names.replace(",", "\t")
        + "\nEND_DATA_FORMAT\nNUMBER_OF_SETS\t10\nBEGIN_DATA\nx\t\t"
        + row.replace(",", "\t")
        + "\nEND_DATA\n"
    )
    yield "framed, counts that lie", framed.encode(), {}
    for fault, (text, *_) in FAULTS.items():
        if len(text) < 5_000:
            yield f"fault: {fault}", text.encode(), {}


def recorded(data: bytes, answers: dict[str, str]) -> dict[str, str]:
    """Return what the first version makes of a file: mapping and packed digest, or refusal."""
    try:
        reading = csv.read(data, "file")
        values = pack(csv.resolve(reading, answers))
        return {"mapping": reading.mapping(answers).decode(), "packed": digest(values)}
    except ReadError as error:
        return {"refused": error.id}


def document() -> str:
    """Return the text of the file."""
    made = [
        {"name": name, "file": base64.b64encode(data).decode()} | recorded(data, answers)
        for name, data, answers in files()
    ]
    return json.dumps(made, indent=1) + "\n"


if __name__ == "__main__":
    TARGET.write_text(document(), encoding="ascii")
