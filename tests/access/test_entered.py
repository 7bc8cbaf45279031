"""Every act enters what the written table says, in its dossier's chain, or nothing for a reason."""

from __future__ import annotations

import pytest

from jobs import queue
from ledger.kinds import Kind
from ledger.models import ChainHead, Entry
from tests.access.checks import ask, case_of, filled, url_of
from tests.access.entered import ELSEWHERE, ENTERED, TASKS, Entered, Private
from tests.access.stage import SEATS, Stage, undone
from tests.access.table import RULES, Rule

pytestmark = pytest.mark.django_db
# Beside the acts themselves: whoever signs here for the first time has the key certified first.
FIRST = {Kind.KEY_CERTIFIED, Kind.SEAL_CERTIFIED}
LOG = ".reading"
MAILED = {Kind.READING_OPENED, Kind.CHECKPOINT_GIVEN}
# What is open to everybody is about accounts and language; only this one concerns a dossier.
OPEN = {"parties:accept"}
ACTS = [
    rule
    for rule in RULES
    if rule.allows("POST") and not rule.call and (rule.place != "all" or rule.name in OPEN)
]


def heads() -> dict[str, int]:
    return dict(ChainHead.objects.values_list("chain", "number"))


def since(before: dict[str, int]) -> dict[str, list[Kind]]:
    """Kinds of the entries that came since, by chain, in order."""
    found: dict[str, list[Kind]] = {}
    for chain in sorted(heads()):
        rows = Entry.objects.filter(chain=chain, number__gt=before.get(chain, 0))
        kinds = [Kind(kind) for kind in rows.order_by("number").values_list("kind", flat=True)]
        if kinds:
            found[chain] = kinds
    return found


def do(stage: Stage, rule: Rule) -> tuple[dict[str, list[Kind]], dict[str, list[Kind]]]:
    """Do the act as its case says, as a browser would; what it entered, and what its jobs did."""
    case = case_of(stage, rule)
    queue.drain()
    client, url = stage.client(case.who), url_of(stage, rule, case)
    shown = client.get(url, case.asked, follow=True)
    data = filled(shown.context["form"]) | case.data
    before = heads()
    answer = ask(client, "POST", shown.request["PATH_INFO"], rule, data)
    assert answer.status_code == 302, f"{rule.id}: {answer.status_code}"
    at_once, middle = since(before), heads()
    queue.drain()
    return at_once, since(middle)


def without_first(kinds: list[Kind]) -> tuple[Kind, ...]:
    return tuple(kind for kind in kinds if kind not in FIRST)


def test_the_table_names_every_act_and_every_job():
    assert set(ENTERED) == {rule.id for rule in ACTS}
    assert set(TASKS) == {name for name in queue.registered() if not name.startswith("test")}
    reasons = [
        one.reason for one in [*ENTERED.values(), *TASKS.values()] if isinstance(one, Private)
    ]
    assert all(len(reason) > 20 for reason in reasons)


def test_every_kind_is_entered_by_something():
    written = [one for one in [*ENTERED.values(), *TASKS.values()] if isinstance(one, Entered)]
    named = {kind for one in written for kind in (*one.kinds, *one.then, *one.others)}
    named |= {kind for one in ENTERED.values() for kind in one.log}
    assert named.isdisjoint(ELSEWHERE), "either a table or the other"
    assert named | set(ELSEWHERE) == set(Kind)
    by_jobs = {kind for one in ENTERED.values() if isinstance(one, Entered) for kind in one.then}
    assert by_jobs == {
        kind for one in TASKS.values() if isinstance(one, Entered) for kind in one.kinds
    }


@pytest.mark.parametrize("rule", ACTS, ids=lambda rule: rule.id)
def test_an_act_enters_what_the_table_says(stage: Stage, rule: Rule):
    with undone():
        at_once, then = do(stage, rule)
    own = stage.dossier(rule.place if rule.place in SEATS else "agreement").chain
    want = ENTERED[rule.id]
    if isinstance(want, Private):
        want = Entered((), log=want.log)
    assert without_first(at_once.pop(own, [])) == want.kinds
    assert without_first(then.pop(own, [])) == want.then
    log = [kind for name in list(at_once) if name.endswith(LOG) for kind in at_once.pop(name)]
    assert tuple(kind for kind in log if kind not in MAILED) == want.log
    if not want.kinds:
        assert MAILED.isdisjoint(log), "a mail tells of something that was entered"
    assert {kind for kinds in at_once.values() for kind in kinds} == set(want.others)
    assert then == {}
