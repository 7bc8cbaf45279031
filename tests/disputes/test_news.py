"""A thread that is open is told what is new in it, and nothing where nothing is."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from django.urls import reverse

from disputes import transitions
from disputes.models import Dispute, Post
from ledger.models import Entry
from parties.reading import SUFFIX

ASKING = {"HX-Request": "true"}


@pytest.fixture
def dispute(world) -> Dispute:
    return world.offered("L-1").dispute


def address(dispute: Dispute) -> str:
    return reverse("disputes:dispute", kwargs={"dossier": dispute.dossier_id, "pk": dispute.pk})


def opened(client: Client, dispute: Dispute) -> str:
    """Open the page; where it asks again."""
    page = client.get(address(dispute)).content.decode()
    return re.search(r'hx-get="([^"]+)"', page).group(1)


def test_nothing_new_is_said_without_a_page(world, sign_in, dispute):
    client = sign_in(world.cast.customer_lead)
    answer = client.get(opened(client, dispute), headers=ASKING)
    assert (answer.status_code, answer.content) == (204, b"")


def test_a_statement_comes_alone_and_once(world, sign_in, dispute):
    transitions.post(dispute, by=world.staff, text="The oven was cold.")
    client = sign_in(world.cast.customer_lead)
    asks = opened(client, dispute)
    transitions.post(dispute, by=world.staff, text="The oven is <hot> again.")
    new = client.get(asks, headers=ASKING).content.decode()
    assert 'hx-swap-oob="beforeend:#posts"' in new
    assert new.count("<article") == 1 and "is &lt;hot&gt; again" in new
    assert "<h1" not in new and "<html" not in new
    again = re.search(r'hx-get="([^"]+)"', new).group(1)
    assert client.get(again, headers=ASKING).status_code == 204


def test_the_first_statement_takes_the_place_of_saying_that_there_is_none(world, sign_in, dispute):
    client = sign_in(world.cast.customer_lead)
    new = client.get(f"{address(dispute)}?seen=0-0-raised", headers=ASKING).content.decode()
    assert 'hx-swap-oob="innerHTML:#posts"' in new


def test_a_struck_statement_is_sent_again_and_an_offer_with_whose_move_it_is(
    world, sign_in, dispute
):
    transitions.post(dispute, by=world.staff, text="Taken back soon.")
    client = sign_in(world.cast.customer_lead)
    asks = opened(client, dispute)
    said = Post.objects.get(text="Taken back soon.")
    transitions.strike(said, by=world.staff, reason="Wrong lot.")
    new = client.get(asks, headers=ASKING).content.decode()
    assert f'id="post-{said.pk}" hx-swap-oob="true"' in new and "Wrong lot." in new
    assert "beforeend" not in new and 'id="stands"' not in new
    transitions.decline_offer(dispute.offers.get(), by=world.customer, reason="Too little.")
    new = client.get(asks, headers=ASKING).content.decode()
    assert '<div id="stands" hx-swap-oob="true">' in new
    assert '<div id="offers" hx-swap-oob="true">' in new


@pytest.mark.parametrize("seen", ["", "x", "-", "9" * 5000, "²-0-x", "-1-0-raised", "7"])
def test_what_nobody_could_have_seen_brings_no_error(world, sign_in, dispute, seen):
    client = sign_in(world.cast.customer_lead)
    asked = client.get(address(dispute), {"seen": seen}, headers=ASKING)
    assert asked.status_code == 200 and "hx-get" in asked.content.decode()


def test_without_htmx_the_whole_page_comes(world, sign_in, dispute):
    client = sign_in(world.cast.customer_lead)
    assert "<h1" in client.get(opened(client, dispute)).content.decode()


def test_a_closed_dispute_asks_no_more(world, sign_in):
    settled = world.settled("L-2")
    page = sign_in(world.cast.customer_lead).get(address(settled)).content.decode()
    assert "hx-get" not in page and "<script" not in page


def test_of_a_guest_it_is_logged_what_was_new_and_not_that_the_page_asked(world, sign_in, dispute):
    log = Entry.objects.filter(chain=dispute.dossier.chain + SUFFIX)
    asks = opened(sign_in(world.cast.customer_lead), dispute)
    guest = sign_in(world.cast.auditor)
    read = log.count()
    assert guest.get(asks, headers=ASKING).status_code == 204
    assert log.count() == read
    assert guest.get(f"{address(dispute)}?seen=0-0-raised", headers=ASKING).status_code == 200
    assert log.count() == read + 1
