"""The target stays what was approved: neither side moves it to suit a lot."""

import pytest

from evidence import transitions as evidencing
from ledger import clock
from parties.models import Reference
from parties.refusal import Refusal
from parties.transitions import enter, supersede
from shipments.masters import master_of
from tests.world import curve


def present(world):
    """The master that a lot handed in now is compared with."""
    dossier = world.cast.agreement
    part = world.article_part()
    return master_of(dossier, part, world.today, clock.now())


def test_the_supplier_cannot_store_a_lots_reading_as_the_master(world):
    """Found by review: a lot became conforming by being compared with itself."""
    made = world.measure(world.staff, "", [("1", curve(0.02))])
    with pytest.raises(Refusal):
        evidencing.store_reading(made, by=world.staff, reference=world.master)
    assert present(world).pk == world.master.pk


def test_the_customer_cannot_exchange_the_stored_reading_either(world):
    made = world.measure(world.by(world.cast.customer_colleague), "", [("1", curve(0.02))])
    with pytest.raises(Refusal) as refused:
        evidencing.store_reading(made, by=world.customer, reference=world.master)
    assert refused.value.id == "reference.reading"


def test_a_standard_entered_later_does_not_take_the_place_of_an_approved_master(world):
    facts = {"name": "Later", "kind": "master", "part": "H-1", "colour": "Slate"}
    later = enter(Reference, by=world.customer, **facts)
    assert present(world).pk == world.master.pk
    assert later.approval == ""


def test_a_retired_master_leaves_no_target_instead_of_an_older_one(world):
    supersede(world.master, by=world.customer, retired=True)
    assert present(world) is None
