"""One verdict for one body of evidence: order, rows, and labels never reach the numbers."""

from __future__ import annotations

import random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ledger.canonical import canonical_bytes, digest, parse
from method.judge import judge
from method.submission import Measured, readings_of, submission_bytes
from method.terms import terms_bytes, upgrade
from method.verdict.spectra import mean
from tests.method.cases import CONDITION, DAY, INSTRUMENT, Case, packed, spectrum, votes

LEVELS = st.floats(0.02, 0.98, allow_nan=False)


def _sets(rows: dict[str, list[list[float]]]) -> list[tuple[Measured, bytes]]:
    """One measured set per specimen, as if each had been a file of its own."""
    made = []
    for label, readings in rows.items():
        data = packed({label: readings})
        one = Measured(
            file=digest(data + b"file"), name=f"{label}.csv", mapping=digest(b"mapping"),
            packed=digest(data), instrument=INSTRUMENT.id, measured_on=DAY, zone="Europe/Rome",
            condition=CONDITION, readings=readings_of([label] * len(readings)),
        )  # fmt: skip
        made.append((one, data))
    return made


def _values(verdict: bytes) -> Any:
    return [item["values"] for item in parse(verdict)["instrument"]["items"]]


@settings(max_examples=20)
@given(levels=st.lists(LEVELS, min_size=2, max_size=5), rng=st.randoms(use_true_random=False))
def test_files_and_judgements_in_any_order_give_the_same_verdict_bytes(
    levels: list[float], rng: random.Random
) -> None:
    rows = {str(n): [spectrum(level), spectrum(level * 0.99)] for n, level in enumerate(levels)}
    made = _sets(rows)
    case = Case(rows=rows, judgements=votes(specimens=tuple(rows)))
    blobs = {**case.blobs, **{digest(data): data for _, data in made}}
    terms = case.inputs[0]
    given_bytes = set()
    for _ in range(3):
        rng.shuffle(made)
        said = list(case.judgements)
        rng.shuffle(said)
        fields = {"measured": tuple(one for one, _ in made)}
        mixed = case.but(judgements=tuple(said), fields=fields)
        given_bytes.add(judge(terms, submission_bytes(mixed.submission()), blobs))
    assert len(given_bytes) == 1


@settings(max_examples=20)
@given(levels=st.lists(LEVELS, min_size=2, max_size=4))
def test_values_do_not_depend_on_how_readings_are_spread_over_files(levels: list[float]) -> None:
    rows = {str(n): [spectrum(level), spectrum(level * 0.99)] for n, level in enumerate(levels)}
    case = Case(rows=rows, judgements=votes(specimens=tuple(rows)))
    together = judge(*case.inputs)
    made = _sets(rows)
    apart = case.but(fields={"measured": tuple(one for one, _ in made)})
    blobs = {**case.blobs, **{digest(data): data for _, data in made}}
    assert _values(judge(case.inputs[0], submission_bytes(apart.submission()), blobs)) == _values(
        together
    )


@given(st.lists(st.lists(st.floats(0, 1), min_size=3, max_size=3), min_size=1, max_size=6),
       st.randoms(use_true_random=False))  # fmt: skip
def test_a_mean_has_the_same_bits_in_any_order(rows: list[list[float]], rng: random.Random) -> None:
    mixed = rng.sample(rows, len(rows))
    assert [value.hex() for value in mean(rows)] == [value.hex() for value in mean(mixed)]


def test_the_verdict_is_canonical_and_the_same_again() -> None:
    data = judge(*Case().inputs)
    assert canonical_bytes(parse(data)) == data
    assert judge(*Case().inputs) == data


@pytest.mark.parametrize("case", [Case(), Case().rejection(), Case(rows={}, measured=False)])
def test_equal_terms_of_either_schema_give_the_same_verdict(case: Case) -> None:
    """Of the schema nothing enters a verdict but the digests of what it was given."""
    old = case.document()
    new = upgrade(old)
    assert (old.schema_version, new.schema_version) == (1, 2)
    verdicts = []
    for terms in (terms_bytes(old), terms_bytes(new)):
        named = case.but(fields={**case.fields, "terms": digest(terms)})
        handed_in = submission_bytes(named.submission())
        verdict = parse(judge(terms, handed_in, case.blobs))
        assert verdict.pop("terms") == digest(terms)
        assert verdict.pop("submission") == digest(handed_in)
        verdicts.append(canonical_bytes(verdict))
    assert verdicts[0] == verdicts[1]
