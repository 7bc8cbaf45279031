"""The main path through the transitions, with and without an instrument."""

import pytest

from ledger.canonical import parse
from shipments.models import Verdict
from tests.world import make_world


@pytest.mark.parametrize("kind", ["spectral", "visual"])
def test_a_lot_is_judged_released_received_and_settled(cast, quick_papers, kind):
    world = make_world(cast, kind)
    dispute = world.settled()
    lot = dispute.lot
    lot.refresh_from_db()
    outcomes = [v.outcome for v in Verdict.objects.order_by("created_at")]
    why = [parse(bytes(v.bytes))["reasons"] for v in Verdict.objects.order_by("created_at")]
    assert (outcomes, lot.status, dispute.status) == (
        ["conforming", "conforming", "nonconforming"],
        "closed",
        "settled",
    ), why
