"""Whose move it is about lots, first articles and disputes: in every state, as the acts have it."""

import pytest

from disputes.models import Dispute, Offer
from disputes.moves import dispute_move
from parties.whose_move import whose
from shipments.acts import ARTICLE_ACTS, lot_acts
from shipments.models import FirstArticle, Lot
from shipments.moves import article_move, lot_move

OUTCOMES = ["conforming", "nonconforming", "inconclusive", "incomplete"]
# A lot can be withdrawn at any time, and a judged one handed in again: no duty, so no move.
DUTIES = {"submit", "release", "receive", "accept", "approve", "return"}


def doers(acts, status):
    return {
        str(side)
        for act in acts
        if act.name in DUTIES and status in (act.states or ())
        for side in act.sides
    }


@pytest.mark.parametrize("unsigned", [False, True])
@pytest.mark.parametrize("outcome", OUTCOMES)
@pytest.mark.parametrize("status", Lot.Status.values)
def test_a_lot_moves_whoever_has_an_act_on_it(status, outcome, unsigned):
    move = lot_move(Lot(status=status), outcome=outcome, unsigned=unsigned)
    assert move.act
    assert move.sides == doers(lot_acts(outcome), status)


@pytest.mark.parametrize("status", FirstArticle.Status.values)
def test_a_first_article_moves_whoever_has_an_act_on_it(status):
    move = article_move(FirstArticle(status=status), unsigned=False)
    assert move.act
    assert move.sides == doers(ARTICLE_ACTS, status)


def test_missing_signatures_are_the_suppliers_move_too():
    waiting = FirstArticle(status="submitted")
    assert article_move(waiting, unsigned=True).sides == {"customer", "supplier"}
    judged = lot_move(Lot(status="judged"), outcome="conforming", unsigned=True)
    assert (judged.id, judged.sides) == ("sign", {"supplier"})


@pytest.mark.parametrize(
    ("status", "offers", "sides"),
    [
        ("raised", [], {"supplier"}),
        ("answered", [], {"customer", "supplier"}),
        ("examining", [Offer(side="supplier", status="declined")], {"customer", "supplier"}),
        ("remedy_offered", [Offer(side="supplier", status="open")], {"customer"}),
        (
            "remedy_offered",
            [Offer(side="supplier", status="signed_by_one", first_signer="customer")],
            {"supplier"},
        ),
        ("settled", [Offer(side="supplier", status="signed")], set()),
        ("withdrawn", [], set()),
    ],
)
def test_a_dispute_waits_for_whom_it_names(status, offers, sides):
    move = dispute_move(Dispute(status=status), offers)
    assert move.act
    assert move.sides == sides


@pytest.mark.parametrize(
    ("sides", "reader", "said"),
    [
        ({"customer"}, "customer", "Your move:"),
        ({"customer"}, "supplier", "The customer's move:"),
        ({"supplier"}, "auditor", "The supplier's move:"),
        ({"customer", "supplier"}, "supplier", "Your move:"),
        ({"customer", "supplier"}, "", "Both sides' move:"),
        (set(), "supplier", "Nobody's move:"),
    ],
)
def test_every_reader_is_told_in_their_place(sides, reader, said):
    assert str(whose(frozenset(sides), reader)[1]) == said
