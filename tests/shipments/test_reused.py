"""The same file for two lots is told to everybody who reads the evidence."""

from django.urls import reverse

from shipments import transitions
from shipments.models import Submission
from tests.world import curve


def page(client, submission: Submission) -> str:
    kwargs = {"dossier": submission.dossier_id, "pk": submission.pk}
    return client.get(reverse("shipments:submission", kwargs=kwargs)).content.decode()


def test_readings_handed_in_for_another_lot_are_told(world, sign_in):
    """Found by a trial: one lot's readings made another lot conforming, and nothing said so."""
    one, other, fresh = (world.open_lot(number) for number in ("L-1", "L-2", "L-3"))
    rows = [(label, curve(0.001)) for label in ("a", "b", "c")]
    for lot in (one, other):
        world.measure(world.staff, lot.subject, rows)
    world.measure(world.staff, fresh.subject, [(label, curve(0.002)) for label in "abc"])
    made = [transitions.submit_lot(lot, by=world.staff) for lot in (one, other, fresh)]
    client = sign_in(world.cast.customer_lead)
    assert "for L-1" in page(client, made[1])
    assert "handed in before" not in page(client, made[2])
    sheet = sign_in(world.cast.supplier_staff).get(other.get_absolute_url()).content.decode()
    assert "for L-1" in sheet
