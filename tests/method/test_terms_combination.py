"""The combination table: total, with the templates as people expect them."""

from __future__ import annotations

from itertools import product
from random import Random
from typing import get_args

import pytest

from method.terms.combination import (
    Template,
    combination_template,
    combine,
    decides_by_eye,
    decides_by_instrument,
    instrument_due,
    template_of,
    visual_due,
)
from method.terms.models import Combination, Decision
from method.terms.models.decision import Finding, Outcome

FINDINGS: tuple[Finding, ...] = get_args(Finding)
ORDER: tuple[Finding, ...] = ("conforming", "nonconforming", "inconclusive", "not_asked")

# Rows: by eye C N I A; columns: by instrument C N I A.
TABLES: dict[Template, str] = {
    "visual": "IIIC IIIN IIII IIII",
    "instrument": "IIII IIII IIII CNII",
    "both": "CNII NNNN INII INII",
    "instrument_then_visual": "CNCI CNNI CNII CNII",
}


def table(template: Template) -> Decision:
    return Decision(combination=combination_template(template, Random(1)))


@pytest.mark.parametrize("template", get_args(Template))
def test_templates_decide_every_pair(template: Template) -> None:
    letters = dict(zip("CNI", ORDER, strict=False))
    expected = [letters[letter] for letter in TABLES[template].replace(" ", "")]
    decision = table(template)
    assert [combine(decision, *pair) for pair in product(ORDER, repeat=2)] == expected
    assert template_of(decision) == template


def test_silence_is_inconclusive() -> None:
    for visual, instrument in product(FINDINGS, repeat=2):
        assert combine(Decision(), visual, instrument) == "inconclusive"
    row = Combination(id="cmb-000000", visual="conforming", instrument="conforming")
    assert combine(Decision(combination=(row,)), "conforming", "conforming") == "inconclusive"


def test_the_outcome_is_always_one_of_three() -> None:
    for template in get_args(Template):
        for visual, instrument in product(FINDINGS, repeat=2):
            assert combine(table(template), visual, instrument) in get_args(Outcome)


def test_what_is_due_follows_from_the_table() -> None:
    due = {
        template: (
            [visual_due(table(template), found) for found in ORDER],
            [instrument_due(table(template), found) for found in ORDER],
        )
        for template in get_args(Template)
    }
    yes, no = True, False
    assert due == {  # findings in the order C N I not asked
        "visual": ([no, no, no, yes], [no, no, no, no]),
        "instrument": ([no, no, no, no], [no, no, no, yes]),
        "both": ([yes, no, yes, yes], [yes, no, yes, yes]),
        "instrument_then_visual": ([no, no, yes, no], [yes, yes, yes, yes]),
    }


def test_what_decides() -> None:
    decides = {
        template: (decides_by_eye(table(template)), decides_by_instrument(table(template)))
        for template in get_args(Template)
    }
    assert decides == {
        "visual": (True, False),
        "instrument": (False, True),
        "both": (True, True),
        "instrument_then_visual": (True, True),
    }
    assert not decides_by_eye(Decision())


def test_a_table_of_ones_own_is_no_template() -> None:
    rows = combination_template("both", Random(1))
    assert template_of(Decision(combination=rows[1:])) is None
    assert template_of(Decision()) is None
