"""The desk: what awaits each person, and nothing of dossiers in which they do not sit."""

from __future__ import annotations

import datetime as dt

from django.db import connection
from django.test.utils import CaptureQueriesContext

from disputes.transitions import offer_remedy, sign_settlement, withdraw
from parties.models import Dossier, Membership, Organisation, Role, Seat, Side, Sitter
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


def further_register(world, who, number: int) -> None:
    """A register of one more firm in which `who` is the lead, with something overdue in it."""
    firm = Organisation.objects.create(name=f"Works {number} (invented)")
    Membership.objects.create(organisation=firm, person=who, role=Role.QUALITY_LEAD)
    dossier = Dossier.objects.create(purpose="register", title=f"Register {number}")
    seat = Seat.objects.create(dossier=dossier, organisation=firm, side=Side.OWN, code="O-1")
    Sitter.objects.create(
        dossier=dossier, seat=seat, person=who, role=Role.QUALITY_LEAD, code="P-1"
    )
    by = world.cast.capacity(who, dossier)
    due = world.today - dt.timedelta(days=1)
    world.instrument(by, name=f"Overdue {number}", calibration_due=due)
    tested = world.today - dt.timedelta(days=900)
    world.observer(by, f"Observer of works {number}", tested_on=tested)


def test_it_asks_the_database_as_often_for_four_registers_as_for_one(world, sign_in):
    who = world.cast.supplier_lead
    client = sign_in(who)
    client.get("/")
    with CaptureQueriesContext(connection) as one:
        before = {one.url for one in client.get("/").context["waiting"]}
    for number in range(3):
        further_register(world, who, number)
    with CaptureQueriesContext(connection) as four:
        after = {one.url: one.id for one in client.get("/").context["waiting"]}
    assert len(four) == len(one)
    fresh = sorted(id.partition(":")[0] for url, id in after.items() if url not in before)
    assert fresh == ["calibration"] * 3 + ["retest"] * 3
