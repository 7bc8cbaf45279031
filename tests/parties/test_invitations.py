"""Invitations: one answer for all addresses, once, for one address, for a time, by who may."""

from __future__ import annotations

import datetime as dt

import pytest
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from jobs.models import Mail
from jobs.queue import drain
from ledger import chain
from ledger.notes import note_in
from parties.checkpoints import EXTENDED, extends
from parties.models import Invitation, Membership, Organisation, Person, Seat, Sitter
from parties.refusal import Refusal
from parties.transitions import (
    accept_invitation,
    find_invitation,
    found_organisation,
    invite,
    open_agreement,
    open_dossier_chain,
    withdraw_invitation,
)
from parties.transitions.firms import join

NEW = {"name": "Nora New", "password": "a-long-invented-password"}


@pytest.fixture
def fresh(cast):
    """A new agreement of the customer: nobody else sits there."""
    own = cast.capacity(cast.customer_lead, cast.registers["cust"])
    return open_agreement(own, title="Fresh", side="customer")


def asked(cast, fresh, email="new@example.org", side="supplier"):
    """An invitation of another firm into the fresh agreement."""
    by = cast.capacity(cast.customer_lead, fresh)
    return invite(by, email=email, side=side, organisation_name="New Firm (invented)")


def shape(mail):
    """The words of a mail without link and address."""
    return [line for line in mail.body.splitlines() if "http" not in line], mail.subject


def test_known_and_unknown_addresses_get_the_same(cast, fresh, sign_in):
    """Same page, same words, same mail, same number of queries."""
    client = sign_in(cast.customer_lead)
    url = reverse("parties:invite-firm", kwargs={"dossier": fresh.pk})
    answers, counts = [], []
    for email in ("stranger@example.org", "nobody@example.org"):
        with CaptureQueriesContext(connection) as queries:
            answer = client.post(
                url, {"side": "auditor", "organisation_name": "X (invented)", "email": email}
            )
        page = client.get(answer["Location"]).content.decode()
        answers.append((answer.status_code, answer["Location"], "invitation was sent" in page))
        counts.append(len(queries))
    assert Person.objects.filter(email="stranger@example.org").exists()
    assert answers[0] == answers[1]
    assert answers[0][2]
    assert counts[0] == counts[1]
    one, other = Mail.objects.order_by("pk")
    assert shape(one) == shape(other)


def test_it_ends_with_the_agreements_checkpoint_and_an_unambiguous_day(cast, fresh):
    """Where nothing was entered yet there is none; the day is written as on the pages."""
    made = asked(cast, fresh)
    body = Mail.objects.get().body
    assert f"until {made.expires_at.astimezone(dt.UTC):%Y-%m-%d} (UTC)" in body
    assert "checkpoint" not in body
    by = cast.capacity(cast.customer_lead, fresh)
    with transaction.atomic():
        open_dossier_chain(fresh, by)
    asked(cast, fresh, "other@example.org")
    body = Mail.objects.get(to="other@example.org").body
    assert "when you were invited" in body
    compared = extends(fresh, note_in(body))
    assert (compared.outcome, compared.head) == (EXTENDED, chain.head(fresh.chain))


def test_only_the_hash_is_stored(cast, fresh):
    """The token is in the mail, not in the row."""
    made = asked(cast, fresh)
    row = Invitation.objects.get(pk=made.pk)
    assert row.token == ""
    assert made.token not in {str(value) for value in vars(row).values()}
    assert made.token in Mail.objects.get().body


def test_the_outbox_forgets_the_link_once_it_is_sent(cast, fresh, mailoutbox):
    """What was mailed has it; the row does not keep it."""
    made = asked(cast, fresh)
    drain()
    assert made.token in mailoutbox[0].body
    assert Mail.objects.get().body == ""


def test_a_new_person_accepts_and_gets_firm_and_register(cast, fresh):
    """Person, firm, register and seat are made; the token works once."""
    made = asked(cast, fresh)
    sitter = accept_invitation(made.token, **NEW)
    assert sitter.seat.side == "supplier"
    assert sitter.seat.organisation.name == "New Firm (invented)"
    register = Sitter.objects.get(person=sitter.person, seat__side="own")
    assert register.dossier.purpose == "register"
    with pytest.raises(Refusal) as refused:
        accept_invitation(made.token, person=sitter.person)
    assert refused.value.id == "invitation.unknown"


def test_it_is_bound_to_its_address(cast, fresh):
    """Somebody else who holds the token is refused, and so is making a second account."""
    made = asked(cast, fresh, email="stranger@example.org")
    with pytest.raises(Refusal) as refused:
        accept_invitation(made.token, person=cast.supplier_lead)
    assert refused.value.id == "invitation.other_address"
    with pytest.raises(Refusal) as refused:
        accept_invitation(made.token, **NEW)
    assert refused.value.id == "invitation.sign_in_first"
    assert find_invitation(made.token) is not None
    sitter = accept_invitation(made.token, person=cast.stranger, organisation=cast.firms["third"])
    assert sitter.seat.organisation == cast.firms["third"]


@pytest.mark.parametrize("how", ["expired", "withdrawn", "guessed"])
def test_it_stops_working(cast, fresh, how):
    """Expired, withdrawn and guessed tokens look alike, also on the page."""
    made = asked(cast, fresh)
    token = made.token
    if how == "expired":
        Invitation.objects.update(expires_at=made.expires_at - dt.timedelta(days=15))
    elif how == "withdrawn":
        withdraw_invitation(made, by=cast.capacity(cast.customer_lead, fresh))
    else:
        token = "A" * len(token)
    with pytest.raises(Refusal) as refused:
        accept_invitation(token, **NEW)
    assert refused.value.id == "invitation.unknown"
    page = Client().get(reverse("parties:accept", kwargs={"token": token}))
    assert page.status_code == 404
    assert not Person.objects.filter(email="new@example.org").exists()


def test_inviting_again_withdraws_the_earlier_link(cast, fresh):
    """One open invitation per address and seat."""
    first, second = asked(cast, fresh), asked(cast, fresh)
    assert find_invitation(first.token) is None
    assert find_invitation(second.token) is not None


def test_nobody_sits_on_both_sides(cast, fresh):
    """Neither the firm nor one of its people by way of another firm."""
    made = asked(cast, fresh, email="customer_lead@example.org")
    with pytest.raises(Refusal) as refused:
        accept_invitation(made.token, person=cast.customer_lead, organisation=cast.firms["cust"])
    assert refused.value.id == "seat.both_sides"
    again = asked(cast, fresh, email="customer_lead@example.org")
    with pytest.raises(Refusal) as refused:
        accept_invitation(again.token, person=cast.customer_lead)
    assert refused.value.id == "seat.both_sides"
    assert Organisation.objects.count() == 4
    assert Seat.objects.filter(dossier=fresh).count() == 1


def test_a_person_cannot_bind_a_firm_they_do_not_lead(cast, fresh):
    """Staff do not take a seat for their firm, nor anybody for a foreign one."""
    made = asked(cast, fresh, email="supplier_staff@example.org")
    for firm in ("supp", "third"):
        with pytest.raises(Refusal) as refused:
            accept_invitation(made.token, person=cast.supplier_staff, organisation=cast.firms[firm])
        assert refused.value.id == "invitation.may_not_bind"


@pytest.mark.parametrize(
    ("who", "side"),
    [
        ("supplier_staff", "auditor"),
        ("auditor", "auditor"),
        ("supplier_lead", "customer"),
        ("supplier_lead", "auditor"),
        ("supplier_lead", "own"),
    ],
)
def test_who_may_not_invite_whom(cast, who, side):
    """Staff and auditors invite nobody; a side that is taken is not offered again."""
    with pytest.raises(Refusal):
        invite(cast.capacity(getattr(cast, who)), email="x@example.org", side=side)
    assert not Mail.objects.exists()


def test_a_colleague_joins_the_firm_and_its_agreements(cast):
    """Member, register and agreements; the entry stands in a chain that has begun."""
    lead = cast.capacity(cast.supplier_lead)
    open_dossier_chain(cast.agreement, lead)
    own = cast.capacity(cast.supplier_admin, cast.registers["supp"])
    made = invite(own, email="new@example.org", role="quality_staff")
    sitter = accept_invitation(made.token, **NEW)
    assert Membership.objects.get(person=sitter.person).role == "quality_staff"
    sides = set(Sitter.objects.filter(person=sitter.person).values_list("seat__side", flat=True))
    assert sides == {"own", "supplier"}
    assert Sitter.objects.filter(person=sitter.person).count() == 3
    last = chain.entries(cast.agreement.chain).last()
    code = Sitter.objects.get(person=sitter.person, dossier=cast.agreement).code
    assert (last.kind, last.payload["person"]) == ("sitter.seated", code)


def test_a_second_reader_comes_through_the_auditors_own_firm(cast):
    """No second firm is invited to the auditor's seat; a colleague of the seated one reads too."""
    with pytest.raises(Refusal) as refused:
        invite(cast.capacity(cast.customer_lead), email="new@example.org", side="auditor")
    assert refused.value.id == "seat.taken" and "colleagues" in str(refused.value)
    assert not Mail.objects.exists() and not Invitation.objects.exists()
    firm = cast.agreement.seats.get(side="auditor").organisation
    join(
        firm, Person.objects.create_user("second@example.org", NEW["password"], name="S"), "reader"
    )
    second = Sitter.objects.get(dossier=cast.agreement, person__email="second@example.org")
    assert (second.seat.side, second.role) == ("auditor", "reader")


def test_an_auditors_seat_reads_and_ends(cast, fresh):
    """The auditing firm's people sit as readers, until the last day."""
    by = cast.capacity(cast.customer_lead, fresh)
    until = dt.date(2099, 3, 31)
    made = invite(by, email="new@example.org", side="auditor", seat_until=until)
    with pytest.raises(Refusal):
        accept_invitation(made.token, **NEW)  # no firm was named, none is given
    sitter = accept_invitation(made.token, **NEW, organisation_name="Audit (invented)")
    assert (sitter.role, sitter.seat.until) == ("reader", until)
    after = until + dt.timedelta(days=1)
    assert not Sitter.objects.today(after).filter(pk=sitter.pk).exists()
    assert Sitter.objects.today(until).filter(pk=sitter.pk).exists()


def test_accepting_through_the_page(cast, fresh):
    """GET changes nothing; POST makes the account, signs in and leads to the dossier."""
    made = asked(cast, fresh)
    client = Client()
    url = reverse("parties:accept", kwargs={"token": made.token})
    assert client.get(url).status_code == 200
    assert find_invitation(made.token) is not None
    form = {**NEW, "again": "something else", "language": "en", "organisation_name": "New"}
    assert client.post(url, form).status_code == 422
    answer = client.post(url, {**form, "again": NEW["password"]})
    assert answer.status_code == 302
    assert str(fresh.pk) in answer["Location"]
    assert client.get(reverse("parties:account")).status_code == 200
    assert client.get(url).status_code == 404


def test_a_known_address_signs_in_first(cast, fresh, sign_in):
    """The page asks for it and does nothing; then the firm is chosen."""
    made = asked(cast, fresh, email="stranger@example.org")
    url = reverse("parties:accept", kwargs={"token": made.token})
    page = Client().post(url, {**NEW, "again": NEW["password"], "language": "en"})
    assert reverse("login") in page.content.decode()
    assert find_invitation(made.token) is not None
    wrong = sign_in(cast.supplier_lead).post(url, {"firm": ""})
    assert "another address" in wrong.content.decode()
    answer = sign_in(cast.stranger).post(url, {"firm": str(cast.firms["third"].pk)})
    assert answer.status_code == 302
    assert Seat.objects.get(dossier=fresh, side="supplier").organisation == cast.firms["third"]


def test_the_operator_lets_a_firm_in(db, capsys):
    """The command prints a link that works once; wrong arguments are named."""
    call_command("found_organisation", "Fourth Firm (invented)", "lead@example.org")
    link = capsys.readouterr().out.strip().splitlines()[-1]
    sitter = accept_invitation(link.rstrip("/").rpartition("/")[2], **NEW)
    assert (sitter.role, sitter.seat.side) == ("quality_lead", "own")
    with pytest.raises(CommandError, match="email"):
        call_command("found_organisation", "Fifth", "not an address")
    with pytest.raises(CommandError, match="name"):
        call_command("found_organisation", "bad\0name", "lead@example.org")
    assert Organisation.objects.count() == 1


def test_founding_with_a_password_makes_the_lead_at_once(db):
    """A script's way; an address that is known keeps its password."""
    one = found_organisation("One (invented)", "Lee Lead", "lee@example.org", "first-password-12")
    two = found_organisation("Two (invented)", "Other", "Lee@example.org", "other-password-34")
    assert one.lead.person == two.lead.person
    assert Person.objects.get().check_password("first-password-12")
