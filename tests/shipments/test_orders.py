"""The same evidence gives the same submission, in whatever order it comes in."""

from __future__ import annotations

import datetime as dt
from itertools import permutations

import pytest
from django.db import transaction

from ledger import clock
from parties.observers import observer_code
from shipments import transitions
from shipments.models import Submission
from tests.world import World, curve, make_world

NOON = dt.datetime(2026, 3, 3, 12, tzinfo=dt.UTC)


def steps(world: World, subject: str):
    """Three files and three sittings; two of them say the same of other specimens."""
    own = world.by(world.cast.supplier_observer)
    first, second = world.observers["supp"]

    def by_observer() -> None:
        world.sit(own, subject, {"1": "accept", "2": "accept"}, [first])

    made = [
        lambda: world.measure(world.staff, subject, [("1", curve()), ("2", curve(0.001))]),
        lambda: world.measure(world.staff, subject, [("3", curve(0.002)), ("1", curve(0.0003))]),
        lambda: world.measure(world.staff, subject, [("t", curve())], world.master),
        by_observer,
        lambda: world.sit(world.staff, subject, {"2": "reject", "3": "accept"}, [second, first]),
        lambda: world.sit(world.supplier, subject, {"3": "accept", "1": "accept"}, [second]),
    ]
    return made if world.kind == "spectral" else made[3:]


def digest_of(world: World, lot, order) -> str:
    """The digest of what is handed in after these steps; everything is rolled back."""
    with transaction.atomic():
        for step in order:
            step()
        submission = transitions.submit_lot(type(lot).objects.get(pk=lot.pk), by=world.staff)
        transaction.set_rollback(True)
    assert not Submission.objects.filter(pk=submission.pk).exists()
    return submission.digest


@pytest.mark.parametrize("kind", ["spectral", "visual"])
def test_every_order_of_uploading_gives_the_same_digest(cast, quick_papers, kind):
    with clock.fixed(NOON):
        world = make_world(cast, kind)
        lot = world.open_lot()
        for observer in world.observers["supp"]:
            observer_code(lot.dossier, observer)  # codes are drawn once, at the first judgement
        made = steps(world, lot.subject)
        # all orders of three files with the sittings behind them, all orders of three sittings
        # with the files behind them, and some that mix the two
        files, sittings = made[:-3], made[-3:]
        orders = [[*one, *sittings] for one in permutations(files)]
        orders += [[*one, *files] for one in permutations(sittings)]
        orders += [made[n:] + made[:n] for n in range(len(made))] + [
            made[::-1],
            made[::2] + made[1::2],
        ]
        digests = {digest_of(world, lot, order) for order in orders}
    assert len(digests) == 1
    assert len(orders) >= 10


def test_other_evidence_gives_another_digest(world):
    """The digests above are equal because the evidence is, not because nothing is looked at."""
    lot = world.open_lot()
    for observer in world.observers["supp"]:
        observer_code(lot.dossier, observer)
    with clock.fixed(NOON + dt.timedelta(days=300)):
        made = steps(world, lot.subject)
        seen = {digest_of(world, lot, made[:n] + made[n + 1 :]) for n in range(len(made))}
    assert len(seen) == len(made)


def test_the_same_file_twice_is_the_same_evidence(world):
    """Uploaded and confirmed twice in the same way: one set, not a better mean."""
    lot = world.open_lot()
    with clock.fixed(clock.now()):
        made = steps(world, lot.subject)
        for observer in world.observers["supp"]:
            observer_code(lot.dossier, observer)
        assert digest_of(world, lot, made) == digest_of(world, lot, [made[0], *made])
