"""Everyone × every address × every method, against the table written by hand."""

from __future__ import annotations

import pytest

from tests.access.checks import check_rule, names_in_resolver
from tests.access.stage import Stage
from tests.access.table import RULES, Rule

pytestmark = pytest.mark.django_db


def test_the_table_names_every_address_of_the_resolver():
    """An address that nobody wrote down fails, and so does one that is no longer there."""
    assert {rule.name for rule in RULES} == names_in_resolver()
    assert len({rule.id for rule in RULES}) == len(RULES)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_everyone_meets_what_the_table_says(stage: Stage, rule: Rule):
    """Who may come in, who is refused, who learns nothing; and somebody succeeds."""
    check_rule(stage, rule)
