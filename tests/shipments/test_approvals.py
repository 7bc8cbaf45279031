"""Limits of a first article's approval hold when a lot leaves, whatever its verdict saw."""

import datetime as dt

import pytest

from ledger import clock
from parties.refusal import Refusal
from shipments import transitions
from shipments.approvals import last_decided
from shipments.models import Lot
from tests.world import World, make_world


def limited(cast, **limits):
    """A world whose first article is approved with limits."""
    world = World(cast)
    world.fill_registers()
    world.sign_terms()
    world.enter_standard()
    transitions.approve_with_limits(world.submitted_article(), by=world.customer, **limits)
    world.use_last_master()
    return world


def ready(world, number):
    """A lot of 100 pieces, judged conforming and signed."""
    lot = world.judged_lot(number)
    transitions.sign_submission(world.last_submission(lot), by=world.supplier)
    return lot


def test_two_lots_judged_before_either_leaves_do_not_share_one_quantity(cast, quick_papers):
    """Found by review: both were judged while nothing was taken up."""
    world = limited(cast, quantity=150)
    one, other = ready(world, "L-1"), ready(world, "L-2")
    transitions.release_lot(one, by=world.supplier)
    with pytest.raises(Refusal) as refused:
        transitions.release_lot(other, by=world.supplier)
    assert refused.value.id == "approval_passed"
    assert Lot.objects.get(pk=other.pk).status == Lot.Status.JUDGED


def test_a_lot_does_not_leave_after_the_last_day(cast, quick_papers):
    until = World(cast).today
    world = limited(cast, until=until)
    lot = ready(world, "L-1")
    with clock.fixed(clock.now() + dt.timedelta(days=2)), pytest.raises(Refusal) as refused:
        transitions.release_lot(lot, by=world.supplier)
    assert refused.value.id == "approval_lapsed"


def test_a_further_article_returned_takes_no_approval_away(cast, quick_papers):
    world = make_world(cast)
    again = world.submitted_article("FA-2")
    transitions.return_article(again, by=world.customer, note="Too dark.")
    standing = last_decided(cast.agreement, again.part, clock.now())
    assert standing is not None and standing.number == "FA-1"
