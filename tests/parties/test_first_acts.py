"""The act that is the reader's move stands in front, and is drawn so; nobody else's does."""

from __future__ import annotations

import re

import pytest

LINK = re.compile(r'<a class="(act[^"]*)" href="[^"]*">([^<]+)</a>')


def offered(client, thing) -> list[tuple[str, str]]:
    return LINK.findall(client.get(thing.get_absolute_url()).content.decode())


@pytest.mark.parametrize(
    ("shift", "first"), [(0.0, "Release this lot"), (0.08, "Hand in the evidence")]
)
def test_the_move_is_in_front(world, sign_in, shift, first):
    lot = world.judged_lot(shift=shift)
    acts = offered(sign_in(world.cast.supplier_lead), lot)
    assert acts[0] == ("act first", first)
    assert {mark for mark, _title in acts[1:]} == {"act"}


def test_of_two_that_are_asked_for_neither_is_pressed_upon_the_reader(world, sign_in):
    lot = world.received_lot()
    acts = offered(sign_in(world.cast.customer_lead), lot)
    assert "Accept this lot" in [title for _mark, title in acts]
    assert {mark for mark, _title in acts} == {"act"}


def test_it_is_not_the_other_sides_move(world, sign_in):
    dispute = world.rejected_lot()
    theirs = offered(sign_in(world.cast.supplier_lead), dispute)
    assert theirs[0] == ("act first", "Answer the rejection")
    own = offered(sign_in(world.cast.customer_lead), dispute)
    assert own and {mark for mark, _title in own} == {"act"}
