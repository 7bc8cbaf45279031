"""A guest's seat with an end: set by the side that invited, told before, closed the day after."""

from __future__ import annotations

import datetime as dt

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import strip_tags

from agreements.letters import tell
from desk.records import ask_for_record
from jobs import queue
from jobs.models import Mail
from ledger import chain, clock
from parties.models import Invitation, Role, Seat, Side, Sitter
from parties.refusal import Refusal
from parties.transitions import accept_invitation, invite, limit_seat, limitable

DAY = dt.timedelta(days=1)
TODAY = clock.now().date


def seat_of(world) -> Seat:
    return Seat.objects.get(dossier=world.cast.agreement, side=Side.AUDITOR)


def invited_by(world, who: str) -> None:
    """As if the auditor had accepted this side's invitation, made while the seat was free."""
    seat = Seat.objects.filter(pk=seat_of(world).pk)
    seat.update(side=Side.REFEREE)
    made = invite(
        world.by(getattr(world.cast, who)),
        email="audit@example.org", side="auditor", organisation_name="Audit",
    )  # fmt: skip
    seat.update(side=Side.AUDITOR)
    Invitation.objects.filter(pk=made.pk).update(status="accepted", accepted_at=clock.now())


def test_the_side_that_invited_sets_changes_and_lifts_the_end(world):
    invited_by(world, "customer_lead")
    dossier, seat = world.cast.agreement, seat_of(world)
    later = TODAY() + 30 * DAY
    for until, reason in ((later, "The audit lasts a month."), (TODAY(), ""), (None, "Goes on.")):
        seat = limit_seat(seat, by=world.customer, until=until, reason=reason)
        assert seat_of(world).until == until
        entry = chain.entries(dossier.chain).last()
        assert (entry.kind, entry.subject) == ("seat.limited", f"seat:{seat.code}")
        assert entry.payload == {
            "side": "auditor", "organisation": seat.code, "reason": reason,
            "until": until.isoformat() if until else None,
        }  # fmt: skip
        assert (entry.actor, entry.side) == (world.customer.sitter.code, "customer")


@pytest.mark.parametrize("who", ["supplier_lead", "customer_colleague", "auditor"])
def test_nobody_else_does(world, who):
    invited_by(world, "customer_lead")
    by = world.by(getattr(world.cast, who))
    before = chain.head(world.cast.agreement.chain)
    with pytest.raises(Refusal) as caught:
        limit_seat(seat_of(world), by=by, until=TODAY())
    assert caught.value.id == "seat.not_your_guest"
    assert limitable(by) == [] and seat_of(world).until is None
    assert chain.head(world.cast.agreement.chain) == before


def test_neither_side_limits_the_other(world):
    for side in (Side.CUSTOMER, Side.SUPPLIER):
        seat = Seat.objects.get(dossier=world.cast.agreement, side=side)
        with pytest.raises(Refusal):
            limit_seat(seat, by=world.customer, until=TODAY())


def test_a_day_gone_by_and_the_same_end_are_refused(world):
    seat = limit_seat(seat_of(world), by=world.customer, until=TODAY() + DAY)
    before = chain.head(world.cast.agreement.chain)
    for until, id in ((TODAY() - DAY, "seat.day_past"), (TODAY() + DAY, "seat.same_end")):
        with pytest.raises(Refusal) as caught:
            limit_seat(seat, by=world.customer, until=until)
        assert caught.value.id == id
    assert chain.head(world.cast.agreement.chain) == before


def test_of_two_at_once_one_changes_it(world):
    first, second = seat_of(world), seat_of(world)
    limit_seat(first, by=world.customer, until=TODAY() + DAY)
    with pytest.raises(Refusal) as caught:
        limit_seat(second, by=world.customer, until=TODAY() + 2 * DAY)
    assert caught.value.id == "seat.moved"


def test_an_end_named_in_the_invitation_enters_the_record(world):
    Sitter.objects.filter(seat=seat_of(world)).delete()
    seat_of(world).delete()
    until = TODAY() + 90 * DAY
    made = invite(
        world.customer, email="new@example.org", side="auditor", organisation_name="Audit",
        seat_until=until,
    )  # fmt: skip
    shown = Client().get(reverse("parties:accept", kwargs={"token": made.token}))
    said = strip_tags(shown.content.decode().partition("Seat ends after")[2])
    assert said.startswith(str(until))
    accept_invitation(
        made.token, name="Nia Audit", password="long-enough-invented", organisation_name="A"
    )
    found = chain.entries(world.cast.agreement.chain).filter(kind="seat.limited")
    assert [entry.payload["until"] for entry in found] == [until.isoformat()]


def addresses(world) -> list[str]:
    """Pages, a download and JSON that an auditor may read."""
    made = ask_for_record(world.cast.agreement, by=world.by(world.cast.auditor))
    queue.drain()
    dossier = {"dossier": world.cast.agreement.pk}
    copy = dossier | {"pk": made.pk}
    paper = world.last_submission(world.judged_lot("L-1"))
    return [
        reverse("agreements:overview", kwargs=dossier),
        reverse("desk:timeline", kwargs=dossier),
        reverse("desk:entry", kwargs=dossier | {"number": 1}),
        reverse("desk:copy", kwargs=copy),
        reverse("desk:copy-download", kwargs=copy),
        reverse("desk-api:copy-progress", kwargs=copy),
        reverse("shipments:submission-document", kwargs=dossier | {"pk": paper.pk}),
        reverse("shipments-api:submission-progress", kwargs=dossier | {"pk": paper.pk}),
    ]


def test_on_the_last_day_everything_opens_and_on_the_day_after_nothing_does(world, sign_in):
    found = addresses(world)
    client, seat = sign_in(world.cast.auditor), seat_of(world)
    make = reverse("desk:make-record", kwargs={"dossier": world.cast.agreement.pk})
    for until, status in ((TODAY(), 200), (TODAY() - DAY, 404)):
        Seat.objects.filter(pk=seat.pk).update(until=until)
        assert [client.get(url).status_code for url in found] == [status] * len(found)
        call = client.post(f"/api{make}", {}, content_type="application/json")
        assert call.status_code == status
        listed = world.cast.agreement.title in client.get("/").content.decode()
        assert listed == (status == 200)


def test_no_mail_goes_to_a_seat_that_has_ended(world):
    """Staff of a side get mails; were an ended seat theirs, they would get none."""
    seat = Seat.objects.get(dossier=world.cast.agreement, side=Side.CUSTOMER)
    counts = []
    for until in (TODAY(), TODAY() - DAY):
        Seat.objects.filter(pk=seat.pk).update(until=until)
        before = Mail.objects.count()
        tell(
            world.cast.agreement, Side.CUSTOMER, subject="Hello", body="x", path="/",  # type: ignore[arg-type]
            act=chain.new_act(),
        )  # fmt: skip
        counts.append(Mail.objects.count() - before)
    assert counts[0] > 0 and counts[1] == 0


def waiting(sign_in, who) -> list[tuple[str, dt.date]]:
    found = sign_in(who).get("/").context["waiting"]
    return [(one.words, one.day) for one in found if one.id.startswith("seat_ends:")]


def test_the_host_and_the_guest_are_told_two_weeks_before(world, sign_in):
    invited_by(world, "customer_lead")
    cast = world.cast
    people = (cast.customer_lead, cast.auditor, cast.supplier_lead, cast.customer_colleague)
    for days, told in ((15, False), (14, True), (0, True), (-1, False)):
        until = TODAY() + days * DAY
        Seat.objects.filter(pk=seat_of(world).pk).update(until=until)
        host, guest, other, colleague = (waiting(sign_in, who) for who in people)
        assert (other, colleague) == ([], [])
        if told:
            assert [day for _words, day in host + guest] == [until, until]
            assert "Fennel Audit" in host[0][0] and guest[0][0].startswith("Your seat")
        else:
            assert (host, guest) == ([], [])


def test_the_page_says_until_when_and_offers_it_to_the_host_alone(world, sign_in):
    invited_by(world, "customer_lead")
    limit_seat(seat_of(world), by=world.customer, until=TODAY() + DAY)
    url = reverse("parties:people", kwargs={"dossier": world.cast.agreement.pk})
    act = reverse("parties:limit-seat", kwargs={"dossier": world.cast.agreement.pk})
    for who, offered in (("customer_lead", True), ("supplier_lead", False), ("auditor", False)):
        text = sign_in(getattr(world.cast, who)).get(url).content.decode()
        assert f"until {TODAY() + DAY}" in text
        assert (act in text) == offered
    Seat.objects.filter(pk=seat_of(world).pk).update(until=TODAY() - DAY)
    text = sign_in(world.cast.customer_lead).get(url).content.decode()
    assert "nobody reads from it" in text
    client = sign_in(world.cast.customer_lead)
    answer = client.post(act, {"seat": str(seat_of(world).pk), "until": str(TODAY() - DAY)})
    assert answer.status_code == 422 and "gone by" in answer.content.decode()
    answer = client.post(act, {"seat": str(seat_of(world).pk), "until": "", "reason": "Goes on"})
    assert answer.status_code == 302 and seat_of(world).until is None
    assert sign_in(world.cast.supplier_lead).get(act).status_code == 409


def test_roles_of_a_guest_stay_readers(world):
    assert {one.role for one in seat_of(world).sitters.all()} == {Role.READER}
