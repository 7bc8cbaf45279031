"""What a GET leaves behind: nothing in any agreement's chain, and of a guest's reading one entry in
the reading chain."""

from __future__ import annotations

import pytest

from desk.reading_words import PAGES
from ledger.models import ChainHead, Entry
from parties import reading
from parties.reading import SUFFIX
from tests.access.builders import Case
from tests.access.checks import ask, case_of, filled, page_of, sees, url_of
from tests.access.reading import cases
from tests.access.stage import Stage, undone
from tests.access.table import RULES, TAKEN, Rule, logged

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
    """Of a guest every page, file and answer leaves one entry, by its name and thing, in the
    reading chain alone; of the two sides what they take out."""
    before, client, read = heads(), stage.client(who), set()
    entries = Entry.objects.exclude(chain__endswith=SUFFIX).count()
    for rule, case in cases(stage):
        if who not in rule.may or not sees(rule, who, case.obj):
            continue
        with undone():
            known = reading.entries(stage.agreement).count()
            for _again in range(2):
                answer = client.get(url_of(stage, rule, case), case.asked)
                # 409: an act that cannot be done now says so.
                assert answer.status_code in {200, 409}, rule.id
            check_logged(rule, case, who, list(reading.entries(stage.agreement))[known:])
            assert heads() == before and len(before) >= 1, rule.id
        read.add(rule.name)
    assert Entry.objects.exclude(chain__endswith=SUFFIX).count() == entries
    assert len(read) > 25 and read & TAKEN


def check_logged(rule: Rule, case: Case, who: str, fresh: list[Entry]) -> None:
    """What a reading left in the log, though the page was opened twice."""
    if not logged(rule, who):
        assert fresh == [], rule.id
        return
    (entry,) = fresh
    if rule.name in TAKEN:
        assert entry.kind in {"checkpoint.given", "record.taken"}, rule.id
        return
    assert entry.kind == "page.read" and entry.payload["page"] == rule.name
    assert case.obj is None or str(case.obj.pk) in entry.subject, rule.id
    assert str(PAGES[rule.name]), rule.id
    known = set(case.kwargs.values()) - {entry.payload.get("entry")}
    assert all(str(one) in entry.subject for one in known), rule.id


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
