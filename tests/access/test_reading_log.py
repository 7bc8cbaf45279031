"""What a GET leaves behind: nothing in any agreement's chain, and of a guest's reading one entry in
the reading chain."""

from __future__ import annotations

import pytest

from ledger.models import ChainHead, Entry
from parties import reading
from parties.reading import SUFFIX
from tests.access.checks import ask, case_of, filled, page_of, sees, url_of
from tests.access.reading import cases
from tests.access.stage import Stage, undone
from tests.access.table import LOGGED, RULES

pytestmark = pytest.mark.django_db
WHAT_AN_AUDITOR_MAY = {
    "desk:make-record",
    "desk:compare-checkpoint",
    "desk:lots-part-record",
    "desk:disputes-part-record",
    "desk:record-try-again",
}


def heads() -> dict[str, tuple[int, str]]:
    """Every chain but the reading chains, with its head."""
    rows = ChainHead.objects.exclude(chain__endswith=SUFFIX)
    return {row.chain: (row.number, row.hash) for row in rows}


@pytest.mark.parametrize("who", ["auditor", "customer_lead", "supplier_staff"])
def test_no_page_that_is_read_makes_a_chain_grow(stage: Stage, who: str):
    before, client, read = heads(), stage.client(who), set()
    entries = Entry.objects.exclude(chain__endswith=SUFFIX).count()
    with undone():
        logged = reading.entries(stage.agreement).count()
        for rule, case in cases(stage):
            if who in rule.may and sees(rule, who, case.obj):
                answer = client.get(url_of(stage, rule, case), case.asked)
                # 409: an act that cannot be done now says so.
                assert answer.status_code in {200, 409}, rule.id
                read.add(rule.name)
        assert heads() == before and len(before) >= 1
        assert Entry.objects.exclude(chain__endswith=SUFFIX).count() == entries
        fresh = list(reading.entries(stage.agreement))[logged:]
    assert len(read) > 25 and read & LOGGED
    pages = {entry.payload["page"] for entry in fresh if entry.kind == "page.read"}
    assert pages == ({"timeline", "entry", "header"} if who == "auditor" else set())
    assert {entry.kind for entry in fresh} - {"page.read"} <= {"checkpoint.given", "record.taken"}


def test_whatever_an_auditor_may_do_changes_no_chain(stage: Stage):
    """By the table: the acts that are open to an auditor are these, and none of them tells the
    agreement's chain anything."""
    rules = [rule for rule in RULES if rule.allows("POST") and rule.place == "agreement"]
    open_to = [rule for rule in rules if "auditor" in rule.may]
    names = {rule.name.replace("-api:", ":").removesuffix("-api") for rule in open_to}
    assert names == WHAT_AN_AUDITOR_MAY
    done = 0
    for rule in open_to:
        with undone():
            case = case_of(stage, rule)
            if not sees(rule, "auditor", case.obj):
                continue
            before, client = heads(), stage.client("auditor")
            form = client.get(url_of(stage, page_of(rule) if rule.call else rule, case))
            data = filled(form.context["form"]) | case.data
            answer = ask(client, "POST", url_of(stage, rule, case), rule, data)
            assert answer.status_code == (200 if rule.call else 302), rule.id
            assert heads() == before, rule.id
            done += 1
    assert done == 8
