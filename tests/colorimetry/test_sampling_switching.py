"""Switching between normal, tightened and reduced inspection from the history of like lots."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from colorimetry import DomainError
from colorimetry.sampling import LotResult, single_plan, standing
from colorimetry.sampling.switching import Switch

OLD, NEW = "MIL-STD-105E", "ISO 2859-1:1999"
LIKE = "cap, blue"
BAD = 10**3  # more nonconformities than any plan here accepts


def plan(severity="normal", edition=OLD, aql="1.0"):
    return single_plan(
        1000, "II", aql, severity=severity, edition=edition, counted="nonconformities"
    )


def lots(outcomes, severity="normal", edition=OLD, aql="1.0", **more):
    """A lot for each letter: a accepted with nothing found, r not accepted."""
    return [
        LotResult(LIKE, plan(severity, edition, aql), {"a": 0, "r": BAD}[letter], **more)
        for letter in outcomes
    ]


def after(history, edition=OLD, *, reduced=True, limit=5, start="normal"):
    return standing(
        history,
        like=LIKE,
        edition=edition,
        reduced_agreed=reduced,
        limit_number=limit,
        start=start,
    )


def test_without_history_inspection_is_normal():
    now = after([])
    assert (now.state, now.switches, now.score, now.ignored) == ("normal", (), 0, 0)
    assert after([], start="tightened").state == "tightened"


@pytest.mark.parametrize("edition", [OLD, NEW])
@pytest.mark.parametrize(
    ("outcomes", "state"),
    [
        # MIL-STD-105E 4.7.1: two of two, three, four or five consecutive lots
        ("r", "normal"),
        ("rr", "tightened"),
        ("rar", "tightened"),
        ("raar", "tightened"),
        ("raaar", "tightened"),
        ("raaaar", "normal"),
        ("raaaara", "normal"),
        ("raaaarar", "tightened"),
        ("aaar", "normal"),
        ("aaarr", "tightened"),
    ],
)
def test_two_of_five_or_fewer_rejected_lead_to_tightened(outcomes, state, edition):
    now = after(lots(outcomes, edition=edition), edition)
    assert now.state == state
    if state == "tightened":
        last = len(outcomes) - 1
        assert now.switches == (
            Switch(last, "normal", "tightened", "two of five or fewer rejected"),
        )


@pytest.mark.parametrize("edition", [OLD, NEW])
@pytest.mark.parametrize(
    ("outcomes", "state"),
    [
        # MIL-STD-105E 4.7.2 and 4.8
        ("aaaa", "tightened"),
        ("aaaaa", "normal"),
        ("aaraa", "tightened"),
        ("aaraaaa", "tightened"),
        ("aaraaaaa", "normal"),
        ("rrrr", "tightened"),
        ("rrrrr", "discontinued"),
        ("rararar", "tightened"),
        ("rarararar", "discontinued"),
        ("raaaaraaaaraaaaraaaar", "discontinued"),
    ],
)
def test_tightened_inspection_ends_after_five_accepted_or_five_rejected(outcomes, state, edition):
    history = lots(outcomes, "tightened", edition)
    assert after(history, edition, start="tightened").state == state


def test_five_accepted_in_a_row_count_from_the_switch_on():
    history = lots("aaarr") + lots("aaaa", "tightened")
    assert after(history).state == "tightened"
    now = after([*history, *lots("a", "tightened")])
    assert now.state == "normal"
    assert [(s.after, s.new) for s in now.switches] == [(4, "tightened"), (9, "normal")]


def test_rejections_before_the_switch_do_not_count_after_it():
    # rejected before tightened inspection began, and one after it ended
    history = lots("rr") + lots("aaaaa", "tightened") + lots("r")
    assert after(history).state == "normal"
    discontinued = lots("rr") + lots("rrr", "tightened")
    assert after(discontinued).state == "tightened"


def test_a_discontinued_series_takes_no_more_lots():
    history = lots("rr") + lots("rrrrr", "tightened")
    now = after(history)
    assert now.state == "discontinued"
    assert now.switches[-1].rule == "five rejected on tightened"
    with pytest.raises(DomainError, match="row 7: inspection was discontinued"):
        after([*history, *lots("a", "tightened")])


@pytest.mark.parametrize(
    ("found", "limit", "state"),
    [
        # MIL-STD-105E 4.7.3: ten lots accepted, nonconformities within the limit number
        ([0] * 9, 5, "normal"),
        ([0] * 10, 0, "reduced"),
        ([1, 1, 1, 1, 1, 0, 0, 0, 0, 0], 5, "reduced"),
        ([1, 1, 1, 1, 1, 1, 0, 0, 0, 0], 5, "normal"),
        ([1, 1, 1, 1, 1, 1, 0, 0, 0, 0, 0], 5, "reduced"),
        ([0] * 10, None, "normal"),
    ],
)
def test_105e_asks_for_ten_accepted_lots_within_the_limit_number(found, limit, state):
    history = [LotResult(LIKE, plan(), count) for count in found]
    now = after(history, limit=limit)
    assert now.state == state
    if state == "reduced":
        assert now.switches[0].rule == "ten in a row accepted within the limit number"


def test_a_rejected_lot_among_the_last_ten_keeps_inspection_normal():
    assert after(lots("r" + "a" * 9), limit=BAD * 10).state == "normal"
    assert after(lots("r" + "a" * 10), limit=BAD * 10).state == "reduced"


@pytest.mark.parametrize("edition", [OLD, NEW])
def test_reduced_inspection_needs_consent_and_steady_production(edition):
    history = lots("a" * 10, edition=edition)
    assert after(history, edition, reduced=False).state == "normal"
    unsteady = [*history[:-1], *lots("a", edition=edition, steady=False)]
    assert after(unsteady, edition).state == "normal"
    # as soon as production is steady again
    assert after([*unsteady, *lots("a", edition=edition)], edition).state == "reduced"


def score(found, aql="1.0"):
    """The switching score after these lots."""
    history = [LotResult(LIKE, plan(edition=NEW, aql=aql), count) for count in found]
    return after(history, NEW).score


def test_the_score_grows_by_three_where_the_next_smaller_aql_would_have_accepted():
    # ISO 2859-1:1999 as remembered: 80, 2/3 at AQL 1.0; 1/2 at 0.65
    assert score([0]) == 3
    assert score([1]) == 3
    assert score([0, 1, 0]) == 9
    assert score([0, 1, 2]) == 0
    assert score([0, 1, 2, 1]) == 3
    assert score([0, 1, 3]) == 0


def test_the_score_grows_by_two_for_plans_with_small_acceptance_numbers():
    # 80, 1/2 at AQL 0.65; 125, 1/2 by the arrow at 0.40; 50, 0/1 by the arrow at 0.25
    for aql in ("0.65", "0.40", "0.25"):
        assert score([0], aql) == 2
        assert score([0, 0], aql) == 4
        assert score([0, 0, BAD], aql) == 0
    assert score([0, 1], "0.65") == 4


@pytest.mark.parametrize(("aql", "needed"), [("1.0", 10), ("0.65", 15)])
def test_a_score_of_thirty_leads_to_reduced_inspection(aql, needed):
    # ISO 2859-1:1999 as remembered: ten times 3, fifteen times 2
    before = lots("a" * (needed - 1), edition=NEW, aql=aql)
    assert after(before, NEW).state == "normal"
    now = after([*before, *lots("a", edition=NEW, aql=aql)], NEW, limit=None)
    assert (now.state, now.score) == ("reduced", 0)
    assert now.switches == (Switch(needed - 1, "normal", "reduced", "switching score reached"),)


def test_a_score_below_thirty_is_not_enough():
    # nine times 3 and once 2: 29; once more 2: 31
    history = lots("a" * 9, edition=NEW) + lots("a", edition=NEW, aql="0.65")
    assert (after(history, NEW).state, after(history, NEW).score) == ("normal", 29)
    assert after([*history, *lots("a", edition=NEW, aql="0.65")], NEW).state == "reduced"


def test_inspection_begins_as_normal_and_without_a_limit_number():
    asked = {"like": LIKE, "edition": OLD, "reduced_agreed": True}
    assert standing([], **asked).state == "normal"
    assert standing(lots("a" * 10), **asked).state == "normal"


def test_105e_keeps_no_score_and_the_later_edition_says_what_is_remembered():
    old, new = after(lots("aaa")), after(lots("aaa", edition=NEW), NEW)
    assert (old.score, new.score) == (0, 9)
    assert old.from_memory == ()
    assert "from memory" in new.from_memory[0]
    assert (old.edition, new.edition) == (OLD, NEW)


def test_the_score_stands_still_on_tightened_inspection():
    history = lots("aaaa", "tightened", NEW)
    assert after(history, NEW, start="tightened").score == 0


@pytest.mark.parametrize(
    ("found", "steady", "rule"),
    [
        # MIL-STD-105E 4.7.4; the reduced plan is 32, 1/3
        (0, True, None),
        (1, True, None),
        (2, True, "accepted in the gap on reduced"),
        (3, True, "rejected on reduced"),
        (0, False, "production unsteady on reduced"),
    ],
)
def test_reduced_inspection_ends_with_a_rejection_a_gap_or_unsteady_production(found, steady, rule):
    history = [*lots("a" * 10), LotResult(LIKE, plan("reduced"), found, steady=steady)]
    now = after(history)
    assert now.state == ("normal" if rule else "reduced")
    assert [s.rule for s in now.switches[1:]] == ([rule] if rule else [])


def test_after_reduced_inspection_ten_lots_are_asked_for_again():
    history = [*lots("a" * 10), *lots("r", "reduced")]
    assert after([*history, *lots("a" * 9)]).state == "normal"
    assert after([*history, *lots("a" * 10)]).state == "reduced"


def test_lots_that_are_submitted_again_do_not_count():
    again = lots("rrr", original=False)
    now = after([*lots("r"), *again, *lots("aaaa")])
    assert (now.state, now.ignored) == ("normal", 3)
    assert now.recent == (False, True, True, True, True)
    # whatever severity they were inspected at
    assert after([*lots("r", "tightened", original=False), *lots("a")]).ignored == 1


def test_the_outcomes_since_the_last_switch_are_told():
    assert after(lots("ara")).recent == (True, False, True)
    assert after(lots("rr")).recent == ()


def test_lots_of_another_kind_are_refused():
    other = LotResult("cap, green", plan(), 0)
    with pytest.raises(DomainError, match="row 1: a lot of 'cap, green'") as caught:
        after([*lots("a"), other])
    assert caught.value.row == 1


def test_a_lot_by_another_edition_is_refused():
    with pytest.raises(DomainError, match="planned by MIL-STD-105E"):
        after(lots("a"), NEW)


@pytest.mark.parametrize("severity", ["tightened", "reduced"])
def test_a_severity_that_was_not_due_is_refused(severity):
    with pytest.raises(DomainError, match=f"as {severity} where normal was due"):
        after(lots("a", severity))


@pytest.mark.parametrize(
    ("change", "what"),
    [
        ({"edition": "105E"}, "edition"),
        ({"start": "reduced"}, "start"),
        ({"limit": -1}, "limit_number"),
        ({"limit": 2.5}, "limit_number"),
    ],
)
def test_unknown_rules_are_refused_by_name(change, what):
    with pytest.raises(DomainError) as caught:
        after([], **change)
    assert caught.value.what == what


@st.composite
def histories(draw):
    """A history that always follows what was due, and the states along it."""
    history, states = [], ["normal"]
    for _ in range(draw(st.integers(0, 60))):
        state = states[-1]
        if state == "discontinued":
            break
        found = draw(st.sampled_from([0, 0, 0, 0, 1, 2, 3, BAD]))
        history.append(LotResult(LIKE, plan(state), found, steady=draw(st.booleans())))
        states.append(after(history).state)
    return history, states


NEXT = {
    "normal": {"normal", "tightened", "reduced"},
    "tightened": {"tightened", "normal", "discontinued"},
    "reduced": {"reduced", "normal"},
}


@given(histories())
def test_no_state_is_skipped_and_every_change_is_told(played):
    history, states = played
    now = after(history)
    changes = [(i, a, b) for i, (a, b) in enumerate(pairwise(states)) if a != b]
    assert [(s.after, s.old, s.new) for s in now.switches] == changes
    assert all(b in NEXT[a] for a, b in pairwise(states))


@given(histories(), st.data())
def test_a_history_of_other_lots_in_between_changes_nothing_but_the_count(played, data):
    history, _states = played
    again = [LotResult(LIKE, plan(), BAD, original=False)]
    cut = data.draw(st.integers(0, len(history)))
    one, other = (
        after(history),
        after(history[:cut] + again + history[cut:])
        if (after(history[:cut]).state != "discontinued")
        else after(history),
    )
    assert one.state == other.state
    assert one.recent == other.recent


@given(st.lists(st.booleans(), max_size=40))
def test_a_supplier_who_never_fails_is_never_tightened(steady):
    history = []
    for is_steady in steady:
        state = after(history).state
        history.append(LotResult(LIKE, plan(state), 0, steady=is_steady))
    assert after(history).state in ("normal", "reduced")
