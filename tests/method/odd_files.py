"""Text files with one oddity each, named after it: what measurement files of all makes do.

    python -m tests.method.odd_files FOLDER

writes them. The specimens are invented.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from colorimetry import Grid, lab, weights, white, xyz
from tests.method.dialects import Dialect, factors, write

WAVELENGTHS = list(range(380, 731, 10))
LABELS = ["A-1", "B-2", "C-3"]


def smooth(readings=3, wavelengths=WAVELENGTHS, seed=3):
    """Smooth reflectances of invented specimens, four decimals, the first one dark."""
    rng = np.random.default_rng(seed)
    nm = np.asarray(wavelengths)
    centre = rng.uniform(420, 680, (readings, 1))
    width = rng.uniform(40, 120, (readings, 1))
    table = 0.06 + rng.uniform(0.3, 0.7, (readings, 1)) * np.exp(-(((nm - centre) / width) ** 2))
    table = table + (nm - 380) / 10_000  # no two neighbouring bands alike
    return table.round(4)


def colours(table, illuminant="D50", observer=2, of_white=None):
    """L*a*b* of reflectances on WAVELENGTHS, perhaps with another observer's white."""
    grid = Grid.of(WAVELENGTHS)
    reference = white(illuminant, of_white or observer, grid)
    return lab(xyz(table, weights(illuminant, observer, grid)), reference)


def framed(
    names,
    rows,
    *,
    keywords=(),
    fields=None,
    sets=None,
    magic="CGATS.17",
    separator="\t",
    end=True,
):
    """A framed text. fields, sets: the counts stated (None: absent)."""
    lines = [magic] if magic else []
    lines += list(keywords)
    if fields is not None:
        lines.append(f"NUMBER_OF_FIELDS {fields}")
    lines += ["BEGIN_DATA_FORMAT", separator.join(names), "END_DATA_FORMAT"]
    if sets is not None:
        lines.append(f"NUMBER_OF_SETS {sets}")
    lines += ["BEGIN_DATA", *(separator.join(map(str, row)) for row in rows)]
    return "\n".join([*lines, *(["END_DATA"] if end else [])]) + "\n"


def named(spelling="nm{}", wavelengths=WAVELENGTHS, first="SAMPLE_ID"):
    """Names of fields: the id and the bands."""
    return [first, *(spelling.format(nm) for nm in wavelengths)]


def rows_of(table=None, labels=LABELS, digits=4, scale=1):
    """Rows of cells: label and values."""
    table = smooth() if table is None else table
    return [
        [label, *(f"{value * scale:.{digits}f}" for value in row)]
        for label, row in zip(labels, table, strict=False)
    ]


def with_colours(values, names=("LAB_L", "LAB_A", "LAB_B"), digits=2, **more):
    """A framed text whose rows state colours before the bands."""
    rows = [
        [row[0], *(f"{value:.{digits}f}" for value in stated), *row[1:]]
        for row, stated in zip(rows_of(), values, strict=True)
    ]
    head = named("SPECTRAL_NM{}")
    return framed([head[0], *names, *head[1:]], rows, **more)


def conditions():
    """Files that say where the condition stands, or do not."""
    names, rows = named(), rows_of()
    quoted = 'MEASUREMENT_SOURCE "Illumination=D65\tObserverAngle=10°\tFilter=No"'
    return {
        "observer inside a quoted string": framed(names, rows, keywords=[quoted]),
        "observer as a bare keyword": framed(names, rows, keywords=["OBSERVER_ANGLE 10"]),
        "observer nowhere": framed(names, rows),
        "two observers": framed(
            names, rows, keywords=["OBSERVER_ANGLE 10", 'MEASUREMENT_SOURCE "Observer 2 degree"']
        ),
        "the standard's weighting function": framed(
            names,
            rows,
            keywords=[
                'WEIGHTING_FUNCTION "ILLUMINANT, D50"',
                'WEIGHTING_FUNCTION "OBSERVER, 2 degree"',
                'MEASUREMENT_GEOMETRY "45/0"',
                'SAMPLE_BACKING "black"',
                'MEASUREMENT_CONDITION "M1"',
                'MEASUREMENT_NOTE "aperture 4 mm"',
            ],
        ),
    }


def layouts():
    """Files that are laid out oddly."""
    names, rows = named(), rows_of()
    plain = framed(names, rows)
    data = "\n".join("\t".join(row) for row in rows)
    aligned = "\n".join("".join(f"{cell:<12}" for cell in row) for row in [named("{}"), *rows])
    padded = "\n".join(line + "\t\t\t" for line in plain.splitlines()[4:-1])
    return {
        "double tabs after the id": framed(names, [[row[0], "", *row[1:]] for row in rows]),
        "tabs inside quotes": framed(names, [[f'"{row[0]}\tleft"', *row[1:]] for row in rows]),
        "padded with tabs": plain.replace(data, padded.replace("BEGIN_DATA\t\t\t\n", "")),
        "columns aligned by blanks": aligned,
        "framed, columns aligned by blanks": framed(names, rows, separator="   "),
        "quoted ids": framed(names, [[f'"{row[0]}"', *row[1:]] for row in rows]),
        "id column SAMPLE_LOC": framed(named(first="SAMPLE_LOC"), rows),
        "id column INDEX": framed(
            named(first="INDEX"), [[str(i + 1), *row[1:]] for i, row in enumerate(rows)]
        ),
        "no magic line": framed(names, rows, magic=""),
        "keywords twice": framed(names, rows, keywords=["ORIGINATOR me", "ORIGINATOR you"]),
        "remarks behind": plain.replace("BEGIN_DATA\n", "BEGIN_DATA  # 12:00\n").replace(
            "\nB-2", "  # first\nB-2"
        ),
        "format over several lines": plain.replace("\tnm500", "\nnm500"),
        "CR only": plain.replace("\n", "\r"),
        "CRLF": plain.replace("\n", "\r\n"),
        "Latin-1 in the head": framed(
            names, rows, keywords=['MEASUREMENT_SOURCE "Observer 10°"']
        ).encode("latin-1"),
        "decimal commas and tabs": plain.replace(data, data.replace(".", ",")),
        "decimal commas and semicolons": write(
            Dialect(separator="semicolon", mark=","), LABELS, WAVELENGTHS, smooth()
        ),
        "pairs of wavelength and percent": framed(
            ["SAMPLE_ID", *(["SPECTRAL_NM", "SPECTRAL_PCT"] * len(WAVELENGTHS))],
            [
                [row[0], *(x for nm, v in zip(WAVELENGTHS, row[1:], strict=True) for x in (nm, v))]
                for row in rows_of(scale=100, digits=2)
            ],
        ),
        "95 bands from 360 to 830": write(
            Dialect(), LABELS, list(range(360, 831, 5)), factors(3, list(range(360, 831, 5)))
        ),
        "range that stops at 680": write(
            Dialect(), LABELS, list(range(380, 681, 10)), factors(3, list(range(380, 681, 10)))
        ),
    }


def disagreements():
    """Files that contradict themselves."""
    names, rows = named(), rows_of()
    agreed = colours(smooth())
    other = colours(smooth(), "D65", 10)
    lch = np.hypot(agreed[:, 1], agreed[:, 2]) * 0.8
    d50 = ['WEIGHTING_FUNCTION "ILLUMINANT, D50"', 'WEIGHTING_FUNCTION "OBSERVER, 2 degree"']
    with_lch = [[*colour, chroma, 10.0] for colour, chroma in zip(agreed, lch, strict=True)]
    return {
        "counts that lie": framed(names, rows, fields=15, sets=1624),
        "no counts": framed(names, rows),
        "cut off": framed(names, rows, sets=10, end=False),
        "keywords unlike the names": framed(
            names, rows, keywords=["SPECTRAL_BANDS 31", "SPECTRAL_START_NM 400"]
        ),
        "stated colours that agree": with_colours(agreed, keywords=d50),
        "stated colours of another light": with_colours(other, keywords=d50),
        "stated colours, light unsaid": with_colours(other),
        "stated colours with the other observer's white": with_colours(
            colours(smooth(), "D50", 10, 2), keywords=[d50[0], 'OBSERVER "10"'], digits=4
        ),
        "stated colours of nothing": with_colours(agreed + 5, keywords=d50),
        "averaged chroma and hue": with_colours(
            with_lch, ("LAB_L", "LAB_A", "LAB_B", "LAB_C", "LAB_H"), keywords=d50
        ),
    }


def several():
    """Files with more than one table."""
    names, rows = named(), rows_of()
    one = write(Dialect(), LABELS, WAVELENGTHS, smooth()).decode()
    short = list(range(400, 701, 20))
    two = write(Dialect(), ["D", "E"], short, factors(2, short)).decode()
    down = write(Dialect(layout="columns"), ["D", "E"], short, factors(2, short)).decode()
    lab_only = framed(["SAMPLE_ID", "LAB_L", "LAB_A", "LAB_B"], [["x", 50, 1, 2]], magic="")
    return {
        "two tables": one + "\nSecond place\n" + two,
        "two tables by column": write(
            Dialect(layout="columns"), LABELS, WAVELENGTHS, smooth()
        ).decode()
        + "\n"
        + down,
        "a short table by column above a longer one": down
        + write(Dialect(layout="columns"), LABELS, WAVELENGTHS, smooth()).decode(),
        "by row, then by column": one + "\n" + down,
        "two framed tables": framed(names, rows)
        + framed(named("SPEC_{}", short), rows_of(factors(2, short), ["D", "E"]), magic=""),
        "two framed tables, one format": framed(names, rows)
        + "\n".join(["NUMBER_OF_SETS 1", "BEGIN_DATA", "\t".join(rows[0]), "END_DATA", ""]),
        "one with spectra, one with colours": framed(names, rows) + lab_only,
        "colours only": lab_only,
        "two tables, the second one open": one
        + "\n"
        + write(Dialect(), ["D", "E"], short, factors(2, short) * 0.5 + 0.2).decode(),
        "two tables, one broken": one + "\n" + two.replace("0.0423", "n/a"),
    }


def fractional():
    """Steps of ten thirds of a nanometre, under rounded and under exact names."""
    true = [380 + i * 10 / 3 for i in range(106)]
    table = smooth(3, true)
    rounded, exact = [round(nm) for nm in true], [f"{nm:.2f}" for nm in true]
    return {
        "thirds under rounded names": write(Dialect(), LABELS, rounded, table),
        "thirds under exact names": write(Dialect(), LABELS, exact, table),
        "thirds by column": write(Dialect(layout="columns"), LABELS, rounded, table),
        "steps of 7.5 nm": write(
            Dialect(), LABELS, [f"{380.25 + 7.5 * i:g}" for i in range(40)], table[:, :40]
        ),
    }


def with_cell(text):
    """A plain table with one cell written otherwise: line 3, column 5, 410 nm."""
    rows = rows_of()
    rows[1][4] = text
    return "\n".join(",".join(row) for row in [named("{}", first="label"), *rows]) + "\n"


def values():
    """Values that are unlikely or none."""
    table = smooth()
    copied, dead, bright = table.copy(), table.copy(), table.copy()
    copied[:, 0] = copied[:, 1]
    dead[1, -4:] = 0.0
    bright[2, 12:15] = 1.21
    good = write(Dialect(), LABELS, WAVELENGTHS, table).decode()
    norm = ["SPECTRAL_NORM 100"]
    pale = np.full((1, len(WAVELENGTHS)), 0.85) + np.arange(len(WAVELENGTHS)) / 1000
    lamp = ["INSTRUMENTATION none", 'MEASUREMENT_TYPE "Emission"']
    return {
        "first band copied from the second": write(Dialect(), LABELS, WAVELENGTHS, copied),
        "zeros where nothing was measured": write(Dialect(), LABELS, WAVELENGTHS, dead),
        "values above 1": write(Dialect(), LABELS, WAVELENGTHS, bright),
        "scale by keyword": framed(named(), rows_of(pale, ["w"]), keywords=norm),
        "a display, not a surface": framed(named(), rows_of(), keywords=lamp),
        "rows behind remark signs": good + "#" + good.splitlines()[2] + "\n",
        "minus zero": with_cell("-0.0000"),
        "NaN": with_cell("NaN"),
        "infinity": with_cell("inf"),
        "1e308": with_cell("1e308"),
        "NUL": with_cell("0.1\0"),
        "UTF-16 with a mark": good.encode("utf-16"),
        "UTF-16 without a mark": good.encode("utf-16-le"),
        "UTF-8 broken": good.replace("B-2", "B-é").encode().replace(b"\xc3\xa9", b"\xc3("),
        "a million columns": "label," + ",".join(map(str, range(1_000_000))) + "\nx,1\n",
        "one endless line": "x" * 2_000_000,
        "digits without end": with_cell("0." + "1" * 9_000),
        "cut in a row": good[:-60],
    }


def odd_files():
    """Name to bytes of every file."""
    found = {
        **conditions(),
        **layouts(),
        **disagreements(),
        **several(),
        **fractional(),
        **values(),
    }
    return {
        name: data if isinstance(data, bytes) else data.encode() for name, data in found.items()
    }


if __name__ == "__main__":
    for name, data in odd_files().items():
        Path(sys.argv[1], f"{name}.txt").write_bytes(data)
