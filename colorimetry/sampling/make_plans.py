"""Write ``plans.json``: code letters and the single sampling tables of MIL-STD-105E.

    python -m colorimetry.sampling.make_plans TRANSCRIPTION

Source: MIL-STD-105E (10 May 1989, approved for public release; distribution is unlimited), table I
(code letters) and tables II-A, II-B, II-C (single sampling, normal, tightened, reduced).
TRANSCRIPTION is a JSON file with the code letters and, for each table, letter and AQL, the plan
(n, Ac, Re) that is reached after its arrows, as transcribed in the CRAN package AQLSchemes 1.7-2.

The printed cells (plan or arrow) come from the rule by which the tables are built: cells on one
diagonal, letter number plus AQL number, share acceptance and rejection number. The arrows are then
followed, and nothing is written unless all 3 × 416 plans equal the transcription, which is written
out for the tests, one line for each table and letter (``tests/data/sampling_tables.csv``).
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

LETTERS = "ABCDEFGHJKLMNPQR"
SIZES = (2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800, 1250, 2000, 3150)
REDUCED_SIZES = (2, 2, *SIZES[:14])
AQLS = (
    *("0.010", "0.015", "0.025", "0.040", "0.065", "0.10", "0.15", "0.25", "0.40", "0.65"),
    *("1.0", "1.5", "2.5", "4.0", "6.5", "10", "15", "25", "40", "65"),
    *("100", "150", "250", "400", "650", "1000"),
)
SMALLEST = "ABCDE"  # letters on which the two highest diagonals still hold a plan
# Diagonal: acceptance number; rejection number one above. Not listed: an arrow.
NORMAL = {14: 0, 17: 1, 18: 2, 19: 3, 20: 5, 21: 7, 22: 10, 23: 14, 24: 21, 25: 30, 26: 44}
TIGHTENED = {15: 0, 18: 1, 19: 2, 20: 3, 21: 5, 22: 8, 23: 12, 24: 18, 25: 27, 26: 41}
# Reduced inspection of 105E: (Ac, Re) with a gap between them.
REDUCED = {
    14: (0, 1),
    17: (0, 2),
    18: (1, 3),
    19: (1, 4),
    20: (2, 5),
    21: (3, 6),
    22: (5, 8),
    23: (7, 10),
    24: (10, 13),
    25: (14, 17),
    26: (21, 24),
}
# A sample is never smaller than two: letter A keeps its normal plans, letter B has numbers between.
REDUCED_A = {14: (0, 1)} | {k: (ac, ac + 1) for k, ac in NORMAL.items() if 17 <= k <= 25}
REDUCED_B = {
    14: (0, 1),
    17: (0, 2),
    18: (1, 3),
    19: (2, 4),
    20: (3, 5),
    21: (5, 6),
    22: (7, 8),
    23: (10, 11),
    24: (14, 15),
    25: (21, 22),
    26: (30, 31),
}
TARGET = Path(__file__).with_name("plans.json")
CHECK = Path(__file__).resolve().parents[2] / "tests" / "data" / "sampling_tables.csv"
TABLES = {
    "normal": "single_normal_IIA",
    "tightened": "single_tightened_IIB",
    "reduced": "single_reduced_IIC_105E",
}


def numbers(severity: str, letter: str, diagonal: int) -> tuple[int, int] | None:
    """Return (Ac, Re) of a diagonal's cell, None where an arrow stands."""
    if diagonal > 24 and letter not in SMALLEST:
        return None
    if severity == "reduced":
        special = {"A": REDUCED_A, "B": REDUCED_B}
        return special.get(letter, REDUCED).get(diagonal)
    if severity == "tightened" and (letter, diagonal) == ("A", 15):
        return None  # two pieces never accept by Ac = 0 under tightened inspection
    accepted = (NORMAL if severity == "normal" else TIGHTENED).get(diagonal)
    return None if accepted is None else (accepted, accepted + 1)


def printed(severity: str) -> dict[str, list[str]]:
    """Return the cells of one table by letter: "Ac/Re", "down" or "up"."""
    letters = LETTERS + "S" if severity == "tightened" else LETTERS
    plans = {
        (i, j): numbers(severity, letter, i + j)
        for i, letter in enumerate(letters)
        for j in range(len(AQLS))
        if letter != "S" or i + j == 18  # the added letter has one plan
    }
    table = {}
    for i, letter in enumerate(LETTERS):
        row = []
        for j in range(len(AQLS)):
            plan = plans[i, j]
            below = any(plans.get((k, j)) for k in range(i + 1, len(letters)))
            above = any(plans.get((k, j)) for k in range(i))
            # One diagonal past Ac = 0 a larger sample never helps; from two past it does.
            past = {"normal": (15,), "tightened": (), "reduced": (15,)}[severity]
            up = above and (not below or i + j in past or i + j > 24)
            row.append(f"{plan[0]}/{plan[1]}" if plan else "up" if up else "down")
        table[letter] = row
    if severity == "tightened":
        table["S"] = [
            "/".join(map(str, plan)) if (plan := plans.get((16, j))) else "up"
            for j in range(len(AQLS))
        ]
    return table


def reached(table: dict[str, list[str]], sizes: dict[str, int], letter: str, aql: int) -> str:
    """Return "n:Ac/Re" after following the arrows."""
    letters = list(table)
    place = letters.index(letter)
    while (cell := table[letters[place]][aql]) in ("up", "down"):
        place += 1 if cell == "down" else -1
    return f"{sizes[letters[place]]}:{cell}"


def document(letters: list[dict[str, Any]]) -> dict[str, Any]:
    """Return the whole data file as plain values."""
    levels = ("S-1", "S-2", "S-3", "S-4", "I", "II", "III")
    names = (*LETTERS, "S")
    return {
        "about": "MIL-STD-105E (1989, public release): tables I, II-A, II-B, II-C",
        "made_by": "colorimetry/sampling/make_plans.py",
        "levels": levels,
        "aqls": AQLS,
        "code_letters": [
            [row["lot_min"], row["lot_max"], *(row[level] for level in levels)] for row in letters
        ],
        "sizes": {
            "normal": dict(zip(LETTERS, SIZES[:16], strict=True)),
            "tightened": dict(zip(names, SIZES, strict=True)),
            "reduced": dict(zip(LETTERS, REDUCED_SIZES, strict=True)),
        },
        "tables": {severity: printed(severity) for severity in TABLES},
    }


def main() -> None:
    """Write both files; SystemExit naming the first cell in which rule and transcription differ."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("transcription", type=Path)
    given = json.loads(parser.parse_args().transcription.read_text(encoding="utf-8"))
    made = document(given["code_letters"])
    lines = ["table,letter," + ",".join(AQLS)]
    for severity, name in TABLES.items():
        table, sizes = made["tables"][severity], made["sizes"][severity]
        for letter in LETTERS:
            cells = [given[name][letter][aql] for aql in AQLS]
            row = [f"{cell['n']}:{cell['Ac']}/{cell['Re']}" for cell in cells]
            for j, cell in enumerate(row):
                if reached(table, sizes, letter, j) != cell:
                    rule = reached(table, sizes, letter, j)
                    raise SystemExit(f"{severity} {letter} {AQLS[j]}: {rule}, transcribed {cell}")
            lines.append(f"{severity},{letter}," + ",".join(row))
    text = json.dumps(made, separators=(",", ":"))
    text = text.replace("],", "],\n").replace('":{', '":{\n').replace("},", "},\n")
    TARGET.write_text(text + "\n", encoding="ascii")
    CHECK.write_text("\n".join(lines) + "\n", encoding="ascii")


if __name__ == "__main__":
    main()
