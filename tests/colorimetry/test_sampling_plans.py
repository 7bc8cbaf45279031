"""Single sampling plans against MIL-STD-105E: every cell, the rule behind it, lots at the edges."""

import csv
import json
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from colorimetry import DomainError
from colorimetry.sampling import aqls, code_letter, levels, make_plans, single_plan
from colorimetry.sampling.plans import one_step_tighter, whole
from tests.house.source import ROOT

LETTERS = "ABCDEFGHJKLMNPQR"
SIZES = (2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800, 1250, 2000)
# A lot size for each letter at some level, so that every row of the tables can be asked for.
LOTS = {
    "A": (2, "II"),
    "B": (10, "II"),
    "C": (20, "II"),
    "D": (40, "II"),
    "E": (60, "II"),
    "F": (100, "II"),
    "G": (200, "II"),
    "H": (400, "II"),
    "J": (1000, "II"),
    "K": (3000, "II"),
    "L": (5000, "II"),
    "M": (20_000, "II"),
    "N": (100_000, "II"),
    "P": (200_000, "II"),
    "Q": (600_000, "II"),
    "R": (600_000, "III"),
}
with open(ROOT / "tests" / "data" / "sampling_tables.csv", encoding="ascii") as lines:
    ROWS = list(csv.DictReader(lines))


def plan(lot, level, aql, severity="normal", edition="MIL-STD-105E", counted="nonconformities"):
    return single_plan(lot, level, aql, severity=severity, edition=edition, counted=counted)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['table']} {row['letter']}")
def test_the_plan_is_the_one_transcribed_from_the_standard(row):
    # MIL-STD-105E tables II-A, II-B, II-C as transcribed in the CRAN package AQLSchemes 1.7-2
    lot, level = LOTS[row["letter"]]
    for aql in aqls():
        found = plan(lot, level, aql, row["table"])
        assert f"{found.table_n}:{found.ac}/{found.re}" == row[aql], aql
        assert found.n == min(found.table_n, lot)


def test_all_48_rows_and_26_columns_are_compared():
    assert len(ROWS) == 48
    assert {len(row) for row in ROWS} == {28}
    assert {code_letter(*LOTS[letter]) for letter in LETTERS} == set(LETTERS)


def on_diagonal(letter, column):
    """n, Ac by the rule of the normal table, and how many rows its arrow goes."""
    rule = {14: 0, 17: 1, 18: 2, 19: 3, 20: 5, 21: 7, 22: 10, 23: 14, 24: 21}

    def cell(row):
        k = row + column
        high = {25: 30, 26: 44}.get(k) if row < 5 else None
        return rule.get(k, high)

    start = LETTERS.index(letter)
    k = start + column
    ways = [range(start, 16), range(start, -1, -1)]
    if cell(start) is None and (k == 15 or k > 24):
        ways.reverse()
    for way in ways:
        for row in way:
            if cell(row) is not None:
                return SIZES[row], cell(row), row - start
    raise AssertionError((letter, column))


@pytest.mark.parametrize("letter", LETTERS)
def test_the_normal_table_follows_the_rule_of_its_diagonals(letter):
    # the rule regenerates all 416 cells of table II-A
    for column, aql in enumerate(aqls()):
        found = plan(*LOTS[letter], aql)
        assert (found.table_n, found.ac, found.arrows) == on_diagonal(letter, column), aql
        assert found.re == found.ac + 1


@pytest.mark.parametrize("letter", LETTERS)
def test_tightened_plans_accept_the_next_diagonal_over_with_smaller_numbers(letter):
    # table II-B: the plan without nonconforming items moves one diagonal; numbers by the standard
    numbers = {18: 1, 19: 2, 20: 3, 21: 5, 22: 8, 23: 12, 24: 18}
    row = LETTERS.index(letter)
    for column, aql in enumerate(aqls()):
        found = plan(*LOTS[letter], aql, "tightened")
        if row + column in numbers:
            assert (found.table_n, found.ac) == (SIZES[row], numbers[row + column])
        if row + column == 15 and row > 0:
            assert (found.table_n, found.ac) == (SIZES[row], 0)


@pytest.mark.parametrize(
    ("lot", "aql", "letters", "numbers"),
    [
        # checked against MIL-STD-105E tables I and II-A
        (1000, "1.0", "JJ", (80, 2, 3)),
        (1000, "2.5", "JJ", (80, 5, 6)),
        (3000, "0.65", "KK", (125, 2, 3)),
        (100, "1.0", "FE", (13, 0, 1)),
        (200, "1.0", "GH", (50, 1, 2)),
        (20_000, "0.40", "MM", (315, 3, 4)),
    ],
)
def test_known_plans_are_found(lot, aql, letters, numbers):
    found = plan(lot, "II", aql, counted="items")
    assert found.code_letter + found.letter == letters
    assert (found.n, found.ac, found.re) == numbers
    assert found.arrows == LETTERS.index(letters[1]) - LETTERS.index(letters[0])
    assert not found.every_piece


def test_an_arrow_may_lead_to_a_larger_sample_than_the_table_of_letters_has():
    # tightened, letter R and Q at AQL 0.025: the added sample of 3150
    for level, arrows in (("II", 2), ("III", 1)):
        found = plan(600_000, level, "0.025", "tightened")
        assert (found.letter, found.arrows) == ("S", arrows)
        assert (found.n, found.ac, found.re) == (3150, 1, 2)


@pytest.mark.parametrize(
    ("lot", "expected"),
    [
        # MIL-STD-105E table I, level II, both ends of each range
        ((2, 8), "A"),
        ((9, 15), "B"),
        ((16, 25), "C"),
        ((26, 50), "D"),
        ((51, 90), "E"),
        ((91, 150), "F"),
        ((151, 280), "G"),
        ((281, 500), "H"),
        ((501, 1200), "J"),
        ((1201, 3200), "K"),
        ((3201, 10_000), "L"),
        ((10_001, 35_000), "M"),
        ((35_001, 150_000), "N"),
        ((150_001, 500_000), "P"),
        ((500_001, 10**9), "Q"),
    ],
)
def test_both_ends_of_a_lot_range_have_its_letter(lot, expected):
    assert {code_letter(size, "II") for size in lot} == {expected}


@pytest.mark.parametrize(
    ("lot", "expected"),
    [(5, "AAAAAAB"), (1000, "CCEFGJK"), (10_000, "CDFGJLM"), (500_001, "DEHKNQR")],
)
def test_each_level_has_its_own_letter(lot, expected):
    # MIL-STD-105E table I
    assert levels() == ("S-1", "S-2", "S-3", "S-4", "I", "II", "III")
    assert "".join(code_letter(lot, level) for level in levels()) == expected


@given(st.integers(2, 10**7), st.sampled_from(levels()))
def test_a_larger_lot_never_has_an_earlier_letter(lot, level):
    assert LETTERS.index(code_letter(lot, level)) <= LETTERS.index(code_letter(lot + 1, level))


def test_where_the_sample_is_as_large_as_the_lot_every_piece_is_inspected():
    found = plan(40, "II", "0.10", counted="items")
    assert (found.table_n, found.n, found.every_piece) == (125, 40, True)
    assert (found.ac, found.re) == (0, 1)
    assert (found.letter, found.arrows) == ("K", 6)
    exact = plan(2, "II", "6.5", counted="items")
    assert (exact.table_n, exact.n, exact.every_piece) == (2, 2, True)
    assert not plan(3, "II", "6.5", counted="items").every_piece


@pytest.mark.parametrize("severity", ["normal", "tightened", "reduced"])
def test_a_lot_of_one_is_below_the_table_and_inspected(severity):
    found = plan(1, "II", "1.0", severity)
    assert (found.n, found.ac, found.re, found.every_piece) == (1, 0, 1, True)
    assert (found.code_letter, found.letter, found.arrows, found.table_n) == ("", "", 0, 1)
    with pytest.raises(DomainError, match="below 2"):
        code_letter(1, "II")


def test_the_plan_says_by_what_it_was_found():
    found = plan(1000, "I", "1.0", "tightened", "ISO 2859-1:1999", "items")
    stated = (found.edition, found.severity, found.level, found.aql, found.counted, found.lot)
    assert stated == ("ISO 2859-1:1999", "tightened", "I", "1.0", "items", 1000)


@pytest.mark.parametrize("aql", ["1", "1.00", "0.1", ".10", "0.1000", "", "2", "1.0 "])
def test_an_aql_is_a_key_of_the_table_and_not_a_number(aql):
    with pytest.raises(DomainError, match=r"AQL: range: .* is none of 0\.010") as caught:
        plan(1000, "II", aql)
    assert repr(aql) in str(caught.value)
    assert plan(1000, "II", "0.10").aql == "0.10"


@pytest.mark.parametrize("aql", [1.0, 0.1, 10, None])
def test_a_number_is_no_aql(aql):
    with pytest.raises(DomainError, match="AQL: type"):
        plan(1000, "II", aql)


@pytest.mark.parametrize(
    ("change", "what"),
    [
        ({"level": "IV"}, "level"),
        ({"level": "s-1"}, "level"),
        ({"severity": "strict"}, "severity"),
        ({"edition": "105E"}, "edition"),
        ({"counted": "pieces"}, "counted"),
        ({"lot": 0}, "lot"),
        ({"lot": -5}, "lot"),
        ({"lot": 10.0}, "lot"),
        ({"lot": True}, "lot"),
        ({"lot": "10"}, "lot"),
    ],
)
def test_what_the_tables_do_not_know_is_refused_by_name(change, what):
    asked = {"lot": 1000, "level": "II", "aql": "1.0"} | change
    with pytest.raises(DomainError) as caught:
        plan(**asked)
    assert caught.value.what == what


def test_a_lot_begins_with_one_piece():
    with pytest.raises(DomainError, match="lot: range: 0 is below 1"):
        plan(0, "II", "1.0")


def test_a_level_is_asked_for_even_where_the_lot_is_one():
    with pytest.raises(DomainError, match="level"):
        plan(1, "IV", "1.0")


def test_aqls_above_ten_count_nonconformities_only():
    assert plan(1000, "II", "10", counted="items").ac == 14
    assert plan(1000, "II", "15").ac == 21
    with pytest.raises(DomainError, match="15 counts nonconformities"):
        plan(1000, "II", "15", counted="items")


def test_reduced_plans_of_the_later_edition_are_refused_and_not_replaced():
    # foreword of ISO 2859-1:1999: its reduced plans have no gap; those of 105E have
    assert (plan(1000, "II", "1.0", "reduced").ac, plan(1000, "II", "1.0", "reduced").re) == (1, 3)
    with pytest.raises(DomainError, match="without gap"):
        plan(1000, "II", "1.0", "reduced", "ISO 2859-1:1999")


@pytest.mark.parametrize("severity", ["normal", "tightened"])
def test_both_editions_share_normal_and_tightened_plans(severity):
    for letter in LETTERS:
        ours = plan(*LOTS[letter], "1.0", severity)
        later = plan(*LOTS[letter], "1.0", severity, "ISO 2859-1:1999")
        assert (ours.n, ours.ac, ours.re) == (later.n, later.ac, later.re)


def test_an_outcome_follows_from_what_was_found():
    normal = plan(1000, "II", "1.0", counted="items")
    assert [normal.outcome(d) for d in (0, 2, 3, 80)] == [
        "accepted",
        "accepted",
        "not accepted",
        "not accepted",
    ]
    reduced = plan(1000, "II", "1.0", "reduced")
    assert [reduced.outcome(d) for d in (1, 2, 3)] == [
        "accepted",
        "accepted in the gap",
        "not accepted",
    ]


def test_no_more_items_can_be_nonconforming_than_were_inspected():
    with pytest.raises(DomainError, match="81 of 80"):
        plan(1000, "II", "1.0", counted="items").outcome(81)
    assert plan(1000, "II", "1.0").outcome(81) == "not accepted"
    with pytest.raises(DomainError, match="found"):
        plan(1000, "II", "1.0").outcome(-1)


def test_one_step_tighter_has_the_same_sample_and_smaller_numbers():
    # the switching score of ISO 2859-1: 80, 5/6 at 2.5 against 3/4 at 1.5
    assert one_step_tighter(plan(1000, "II", "2.5")) == (3, 4)
    assert one_step_tighter(plan(1000, "II", "1.0")) == (1, 2)
    with pytest.raises(DomainError, match="below 2"):
        one_step_tighter(plan(1000, "II", "0.65"))


@given(
    st.integers(2, 10**7),
    st.sampled_from(levels()),
    st.sampled_from(aqls()),
    st.sampled_from(["normal", "tightened"]),
)
def test_wherever_the_score_asks_for_a_tighter_plan_there_is_one(lot, level, aql, severity):
    found = plan(lot, level, aql, severity)
    if found.ac >= 2:
        assert one_step_tighter(found)[0] < found.ac


def test_whole_numbers_of_numpy_are_taken():
    import numpy as np

    assert whole(np.int64(3), "n") == 3
    assert code_letter(np.int32(1000), "II") == "J"


def test_the_script_makes_the_data_that_are_shipped(tmp_path):
    shipped = json.loads((ROOT / "colorimetry" / "sampling" / "plans.json").read_text())
    assert shipped["tables"] == {name: make_plans.printed(name) for name in make_plans.TABLES}
    assert tuple(shipped["aqls"]) == make_plans.AQLS
    assert shipped["sizes"]["normal"] == dict(zip(LETTERS, SIZES, strict=True))


def test_plans_are_found_without_heavy_libraries():
    code = (
        "import sys, colorimetry.sampling as s\n"
        "s.single_plan(1000, 'II', '1.0', severity='normal', edition='MIL-STD-105E',"
        " counted='items')\n"
        "assert 'scipy' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=True)
