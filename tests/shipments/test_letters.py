"""The other side hears by mail of every step that concerns it."""

from jobs.models import Mail
from tests.world import make_world


def test_both_sides_hear_of_the_steps_of_a_lot(cast, quick_papers):
    world = make_world(cast)
    world.settled()
    told = {}
    for one in Mail.objects.all():
        told.setdefault(one.to.split("@")[0], []).append(one.subject)
    supplier, customer = told["supplier_lead"], told["customer_lead"]
    for word in ("approved", "received", "was rejected", "signed by the other side"):
        assert any(word in subject for subject in supplier), (word, supplier)
    for word in ("submitted", "released", "was answered", "remedy was offered"):
        assert any(word in subject for subject in customer), (word, customer)
    assert not any("released" in subject for subject in supplier)
