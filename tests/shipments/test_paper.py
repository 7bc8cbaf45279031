"""What the verdict's page and paper show beside words and figures."""

from __future__ import annotations

import pytest
from django.template.loader import render_to_string

from evidence import transitions as evidencing
from evidence.transitions import Said
from jobs import queue
from shipments import transitions
from shipments.figures import drawn
from shipments.paper import context_of
from shipments.wording import shown


def paper(submission) -> str:
    return render_to_string("shipments/paper.html", context_of(submission.verdict, "", "en"))


@pytest.mark.parametrize("demo", [True, False])
def test_a_paper_of_the_demo_says_so(world, settings, demo):
    submission = world.last_submission(world.judged_lot())
    settings.DEMO = demo
    assert ("Demo: invented firms, people and keys" in paper(submission)) is demo


def test_a_paper_names_who_signed(world):
    submission = world.last_submission(world.judged_lot())
    assert "this evidence</td>" not in paper(submission)
    transitions.sign_submission(submission, by=world.supplier)
    html = paper(submission)
    assert "this evidence</td>" in html and world.cast.supplier_lead.name in html
    assert html.count("key held by this service") == 3  # both sides under the terms, and this


def test_the_panel_is_drawn_as_it_judged(world, sign_in):
    """As many acceptable judgements as count for each piece, in figure and table."""
    lot = world.open_lot()
    world.measure(world.staff, lot.subject, [("1", [0.3] * 31), ("2", [0.3] * 31)])
    sitting = world.sit(world.staff, lot.subject, {"1": "accept", "2": "accept"})
    submission = transitions.submit_lot(lot, by=world.staff)
    queue.drain()
    submission.refresh_from_db()
    figure = drawn(shown(submission.verdict))["visual"]["figure"]
    judged = sitting.judgements.count() // 2
    assert judged >= 2
    assert [line[:3] for line in figure.table.rows] == [
        ("1", str(judged), "0"),
        ("2", str(judged), "0"),
    ]
    page = sign_in(world.cast.customer_lead).get(submission.get_absolute_url()).content.decode()
    for html in (page, paper(submission)):
        assert f"1: {judged} × acceptable" in html or f">{judged} : 0<" in html


def test_judgements_under_two_lights_are_told_apart(world, sign_in):
    lot = world.open_lot()
    world.measure(world.staff, lot.subject, [("1", [0.3] * 31)])
    sitting = world.sit(world.staff, lot.subject, {"1": "accept"})
    other = evidencing.open_sitting(
        lot.dossier, by=world.staff, subject=lot.subject, day=world.today,
        booth=world.booths["supp"], procedure="blind", comparator="master",
        reference=world.master, illuminants=["D65", "A"], specimens=["1"],
        warm_up_minutes=30, adaptation_minutes=5,
    )  # fmt: skip
    for light, outcome in (("D65", "accept"), ("A", "reject")):
        evidencing.judge_specimens(
            other, by=world.staff, observer=world.observers["supp"][0], illuminant=light,
            said=[Said("1", outcome)],
        )  # fmt: skip
    assert sitting.illuminants == ["A", "D65", "F11"]
    submission = transitions.submit_lot(lot, by=world.staff)
    queue.drain()
    submission.refresh_from_db()
    client = sign_in(world.cast.customer_lead)
    for html in (client.get(submission.get_absolute_url()).content.decode(), paper(submission)):
        for light, said in (("D65", "accept"), ("A", "reject"), ("all of the sitting", "accept")):
            assert f"<td>1</td><td>{light}</td><td>{said}</td>" in html
