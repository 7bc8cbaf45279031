"""Disputes through the pages and the JSON calls."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import resolve, reverse

from disputes.beside import condition_pairs, number_pairs, sides
from disputes.models import Dispute, Offer, Post
from jobs import queue
from tests.cast import PASSWORD
from tests.shipments.pages import Desk
from tests.world import curve


def at(name: str, obj, **more) -> str:
    return reverse(f"disputes:{name}", kwargs={"dossier": obj.dossier_id, "pk": obj.pk, **more})


def test_from_the_rejection_to_the_settlement_by_forms(world, sign_in):
    lot = world.received_lot()
    customer = Desk(world, sign_in(world.cast.customer_lead), "cust")
    supplier = Desk(world, sign_in(world.cast.supplier_lead))
    customer.measure(lot, 0.08)
    sitting = customer.open_sitting(lot)
    for observer in world.observers["cust"]:
        customer.judge(sitting, observer, "reject")
    sent = {
        "clause": "tolerances",
        "compared_with": "target",
        "specimens": ["1", "3"],
        "text": "Darker. " * 1000,
        "held_in_stock": "90",
        "held_at_the_line": "10",
    }
    place = resolve(customer.post("disputes:lots-reject", sent, lot))
    dispute = Dispute.objects.get(pk=place.kwargs["pk"])
    assert dispute.grounds[0]["specimens"] == ["1", "3"]
    assert dispute.contained["at_the_line"] == 10
    queue.drain()
    assert dispute.rejection.verdict.outcome == "nonconforming"
    supplier.post("disputes:disputes-answer", {"text": "We look."}, dispute)
    upload = SimpleUploadedFile("<b>.html", b"<script>", "text/html")
    supplier.post("disputes:disputes-post", {"text": "See.", "upload": upload}, dispute)
    customer.post("disputes:disputes-examine", {}, dispute)
    sent = {"remedy": "replace", "text": "New lot.", "costs": "supplier", "returned": "100"}
    offered = resolve(supplier.post("disputes:disputes-offer", sent, dispute))
    offer = Offer.objects.get(pk=offered.kwargs["pk"])
    for desk in (customer, supplier):
        page = desk.client.get(at("offers-sign", offer)).content.decode()
        assert offer.digest in page and "New lot." in page
        desk.post("disputes:offers-sign", {"password": PASSWORD}, offer)
    dispute.refresh_from_db()
    assert dispute.status == "settled"
    thread = sign_in(world.cast.auditor).get(at("dispute", dispute)).content.decode()
    assert "We look." in thread and "Ines" not in thread.split("<main")[1].split("We look.")[1][:50]


def test_the_pieces_must_add_up_on_the_page_and_typing_is_kept(world, sign_in):
    dispute = world.answered()
    client = sign_in(world.cast.supplier_lead)
    sent = {"remedy": "replace", "text": "Kept text", "costs": "supplier", "returned": "99"}
    page = client.post(at("disputes-offer", dispute), sent)
    assert page.status_code == 422
    assert "100" in page.content.decode() and "Kept text" in page.content.decode()
    call = client.post(f"/api{at('disputes-offer', dispute)}", sent, "application/json")
    assert (call.status_code, call.json()["id"]) == (409, "pieces")
    negative = client.post(at("disputes-offer", dispute), sent | {"returned": "-1"})
    assert negative.status_code == 422
    assert not Offer.objects.exists()


@pytest.mark.parametrize(
    ("act", "who"),
    [
        ("disputes-answer", "customer_lead"),
        ("disputes-withdraw", "supplier_lead"),
        ("disputes-withdraw", "customer_colleague"),
        ("disputes-post", "auditor"),
        ("disputes-note", "auditor"),
        ("disputes-offer", "customer_observer"),
    ],
)
def test_the_wrong_side_or_role_is_turned_away(world, sign_in, act, who):
    dispute = world.rejected_lot()
    client = sign_in(getattr(world.cast, who))
    for url in (at(act, dispute), f"/api{at(act, dispute)}"):
        assert client.post(url, {"text": "x", "reason": "x"}).status_code == 403
    assert sign_in(world.cast.stranger).post(at(act, dispute)).status_code == 404


def test_signing_asks_for_the_password_again(world, sign_in):
    offer = world.offered()
    client = sign_in(world.cast.customer_lead)
    for sent in ({}, {"password": "not it"}):
        assert client.post(at("offers-sign", offer), sent).status_code == 422
    staff = sign_in(world.cast.customer_colleague)
    assert staff.post(at("offers-sign", offer), {"password": PASSWORD}).status_code == 403
    offer.refresh_from_db()
    assert offer.status == "open"


def test_specimens_of_a_rejection_are_those_of_the_own_evidence(world, sign_in):
    lot = world.received_lot()
    world.sit(world.by(world.cast.customer_colleague), lot.subject, {"C-7": "reject"})
    url = reverse("disputes:lots-reject", kwargs={"dossier": lot.dossier_id, "pk": lot.pk})
    client = sign_in(world.cast.customer_lead)
    form = client.get(url).context["form"]
    assert [value for value, _label in form.fields["specimens"].choices] == ["C-7"]
    sent = {"clause": "tolerances", "compared_with": "target", "specimens": ["1"], "text": "x"}
    assert client.post(url, sent).status_code == 422
    lot.refresh_from_db()
    assert lot.status == "received"


def test_a_file_of_the_thread_is_an_attachment_and_never_a_page(world, sign_in):
    dispute = world.answered()
    client = sign_in(world.cast.supplier_staff)
    upload = SimpleUploadedFile("x.html", b"<script>1</script>", "text/html")
    client.post(at("disputes-post", dispute), {"text": "See.", "upload": upload})
    post = Post.objects.get(kind="statement")
    for who, status in (
        ("customer_lead", 200), ("auditor", 200), ("stranger", 404), ("customer_observer", 403),
    ):  # fmt: skip
        answer = sign_in(getattr(world.cast, who)).get(at("post-file", post, number=0))
        assert answer.status_code == status, who
    answer = client.get(at("post-file", post, number=0))
    assert answer["Content-Disposition"].startswith("attachment")
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert client.get(at("post-file", post, number=1)).status_code == 404


def test_both_sides_stand_beside_each_other(world, sign_in):
    dispute = world.rejected_lot()
    supplier, customer = sides(dispute)
    assert supplier.view["outcome"] == "conforming"
    assert customer.view["outcome"] == "nonconforming"
    pairs = {pair.label: pair for pair in condition_pairs(supplier, customer)}
    assert not pairs["Booth: D65: lamp hours"].differs
    assert pairs["Sitting: Observers"].differs
    numbers = number_pairs(supplier, customer)
    assert len(numbers) == 3
    for one in numbers:
        assert [row["specimen"] for row in one.supplier] == ["1", "2", "3"]
        assert all(row["zone"] == "beyond" for row in one.customer)
    for who in ("customer_lead", "supplier_staff", "auditor"):
        page = sign_in(getattr(world.cast, who)).get(at("beside", dispute))
        assert page.status_code == 200
        assert numbers[0].customer[0]["value"] in page.content.decode()


def test_beside_each_other_before_the_rejection_is_judged(world, sign_in):
    lot = world.received_lot()
    world.gather(world.by(world.cast.customer_colleague), lot.subject, 0.08, "reject")
    client = sign_in(world.cast.customer_lead)
    sent = {"clause": "tolerances", "compared_with": "target", "specimens": ["1"], "text": "x"}
    url = reverse("disputes:lots-reject", kwargs={"dossier": lot.dossier_id, "pk": lot.pk})
    assert client.post(url, sent).status_code == 302
    assert client.get(at("beside", Dispute.objects.get())).status_code == 200


def test_without_an_instrument_there_is_a_dispute_all_the_same(seen, sign_in):
    dispute = seen.settled()
    for who in ("customer_lead", "supplier_staff", "auditor"):
        client = sign_in(getattr(seen.cast, who))
        for name in ("dispute", "beside"):
            assert client.get(at(name, dispute)).status_code == 200
        assert client.get(dispute.offers.get().get_absolute_url()).status_code == 200


def test_both_sides_differences_stand_in_one_figure(world, sign_in):
    dispute = world.rejected_lot()
    answer = sign_in(world.cast.supplier_lead).get(at("beside", dispute))
    [drawing] = answer.context["drawings"]
    lanes = dict.fromkeys(row[0] for row in drawing.table.rows)
    lights = ("A", "D65", "F11")
    assert list(lanes) == [
        f"{light}, {side}" for light in lights for side in ("supplier", "customer")
    ]
    asked = [
        row["value"]
        for light in lights
        for pair in number_pairs(*sides(dispute))
        if pair.item["illuminant"] == light
        for rows in (pair.supplier, pair.customer)
        for row in rows
    ]
    assert [row[2] for row in drawing.table.rows] == asked and len(asked) == 18


def test_both_sides_spectra_stand_in_one_figure(world, sign_in):
    """The supplier's three pieces as made, the customer's 0.08 lighter, one target for both."""
    dispute = world.rejected_lot()
    answer = sign_in(world.cast.supplier_lead).get(at("beside", dispute))
    [drawing] = answer.context["spectra"]
    assert [column.head for column in drawing.table.columns] == [
        "nm", "target", "supplier", "customer"
    ]  # fmt: skip
    columns = list(zip(*drawing.table.rows, strict=True))
    for column, shift in zip(columns[1:], (0.0001, 0.0001, 0.0801), strict=True):
        asked = [100 * value for value in curve(shift)]
        assert [float(text) for text in column] == pytest.approx(asked, abs=0.0051)
