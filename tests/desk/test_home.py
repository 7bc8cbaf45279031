"""The desk: what awaits each person, and nothing of dossiers in which they do not sit."""

from __future__ import annotations

from django.db import connection
from django.test.utils import CaptureQueriesContext

from disputes.transitions import offer_remedy, sign_settlement, withdraw
from shipments import transitions as shipping


def waiting(sign_in, who) -> list[str]:
    """The ids of what the desk shows, registers left out."""
    found = sign_in(who).get("/").context["waiting"]
    return [one.id for one in found if ":" not in one.id]


def both(world, sign_in) -> tuple[list[str], list[str]]:
    """What awaits the customer's and the supplier's lead."""
    cast = world.cast
    return waiting(sign_in, cast.customer_lead), waiting(sign_in, cast.supplier_lead)


def test_each_step_awaits_the_side_whose_move_it_is(world, sign_in):
    assert both(world, sign_in) == ([], [])
    lot = world.open_lot()
    assert both(world, sign_in) == ([], ["hand_in"])
    world.gather(world.staff, lot.subject)
    shipping.submit_lot(lot, by=world.staff)
    assert both(world, sign_in) == ([], [])
    shipping.judge_submission(world.last_submission(lot))
    assert both(world, sign_in) == ([], ["release"])
    lot.refresh_from_db()
    shipping.release_lot(lot, by=world.supplier)
    assert both(world, sign_in) == (["receive"], [])
    shipping.receive_lot(lot, by=world.customer, received_on=world.today)
    assert both(world, sign_in) == (["accept"], [])
    shipping.accept_lot(lot, by=world.customer)
    assert both(world, sign_in) == ([], [])


def test_a_dispute_awaits_answer_then_both_then_the_signature(world, sign_in):
    dispute = world.answered()
    assert both(world, sign_in) == (["examine"], ["examine"])
    values = {"remedy": "replace", "text": "x", "pieces": {"returned": 100}, "costs": "supplier"}
    offer = offer_remedy(dispute, by=world.supplier, **values)
    assert both(world, sign_in) == (["sign"], [])
    sign_settlement(offer, by=world.customer)
    assert both(world, sign_in) == ([], ["sign"])
    sign_settlement(offer, by=world.supplier)
    assert both(world, sign_in) == ([], [])


def test_a_withdrawn_dispute_leaves_nothing_to_sign(world, sign_in):
    offer = world.offered()
    withdraw(offer.dispute, by=world.customer, reason="Our instrument was wrong.")
    assert both(world, sign_in) == ([], [])


def test_neither_auditor_nor_observer_nor_stranger_is_asked_for_anything(world, sign_in):
    world.rejected_lot()
    for who in ("auditor", "supplier_observer", "customer_observer", "stranger"):
        page = sign_in(getattr(world.cast, who)).get("/")
        assert page.status_code == 200
        assert [one for one in page.context["waiting"] if ":" not in one.id] == [], who
    assert b"Grey housings" not in sign_in(world.cast.stranger).get("/").content


def test_it_asks_the_database_as_often_for_many_lots_as_for_one(world, sign_in):
    client = sign_in(world.cast.supplier_lead)
    world.open_lot("L-1")
    client.get("/")
    with CaptureQueriesContext(connection) as one:
        client.get("/")
    for number in range(2, 12):
        world.open_lot(f"L-{number}")
    with CaptureQueriesContext(connection) as many:
        assert len(client.get("/").context["waiting"]) >= 11
    assert len(many) == len(one)
