"""Judging a lot of 200 specimens, each read three times and seen by three observers.

The invented case of tests/method/cases.py, made large: 600 readings of 31 bands against the master
under D65, A and F11, and 600 judgements. What is timed is `method.judge.judge`: reading the bytes
of terms and submission, the evidence check, the numbers, the verdict's bytes. Beside it stands
reading the same bytes as plain JSON and hashing them, in the same run.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator

from benchmarks.row import Row, seconds
from ledger.canonical import parse
from method.judge import judge
from tests.method.cases import Case, clauses, due, spectrum, tolerance, votes

SPECIMENS = 200
READINGS = 3
LIGHTS = ("D65", "A", "F11")
CHECKED = "a lot of 200 × 3 readings, 3 illuminants"


def case(*, seen: bool) -> Case:
    """The lot; `seen`: with three observers' judgements of each specimen as well."""
    labels = [str(n) for n in range(1, SPECIMENS + 1)]
    terms = clauses("both" if seen else "instrument")
    items = [tolerance(n, illuminant=light) for n, light in enumerate(LIGHTS, start=1)]
    terms["tolerances"] = {"items": items}
    terms["measurement"]["readings"] = READINGS
    terms["decision"] |= {"sample_size": SPECIMENS}
    if not seen:
        terms["evidence"] = {"items": [due(1, "spectral")]}
    rows = {
        label: [spectrum(0.40 + 0.00001 * n, 0.0001 * reading) for reading in range(READINGS)]
        for n, label in enumerate(labels)
    }
    judgements = votes(specimens=tuple(labels)) if seen else ()
    return Case(terms=terms, rows=rows, judgements=judgements, sat=seen)


def rows() -> Iterator[Row]:
    """By instrument alone, and by eye and instrument."""
    for seen, words in ((False, CHECKED), (True, f"{CHECKED}, 600 judgements")):
        terms, submission, blobs = case(seen=seen).inputs
        verdict = parse(judge(terms, submission, blobs))
        if verdict["outcome"] not in ("conforming", "nonconforming"):
            raise RuntimeError(f"the case was to be judged, and is {verdict['outcome']}")
        taken = seconds(lambda given=(terms, submission, blobs): judge(*given), repeat=9)
        bare = seconds(lambda given=(terms, submission, blobs): _bare(*given), repeat=9)
        yield Row(f"{words}: checked and judged", taken * 1e3, "ms", bare * 1e3, "figure <= 50")


def _bare(terms: bytes, submission: bytes, blobs: dict[str, bytes]) -> None:
    """Plain JSON and SHA-256 of the same bytes."""
    for data in (terms, submission):
        json.loads(data)
        hashlib.sha256(data).hexdigest()
    for data in blobs.values():
        hashlib.sha256(data).hexdigest()
