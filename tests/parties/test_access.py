"""Deny by default: no mark, a wrong method, a stranger, another side, another role."""

from __future__ import annotations

import json

import pytest
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.test import Client, RequestFactory
from django.urls import path, reverse

from parties.access import for_person, open_to_all
from parties.middleware import DenyByDefaultMiddleware
from parties.models import Booth, Membership, Sitter
from parties.refusal import Refusal
from parties.transitions import (
    change_role,
    enter,
    open_agreement,
    remove_member,
    seat_person,
    unseat,
)


def unmarked(request):
    """A view that somebody forgot to mark."""
    return HttpResponse("secret")


marked = open_to_all("a test")(unmarked)
posting = for_person(methods=("POST",))(unmarked)
urlpatterns = [
    path("unmarked/", unmarked),
    path("marked/", marked),
    path("posting/", posting),
]


def test_a_view_without_a_mark_is_refused():
    """At run time, before it runs."""
    middleware = DenyByDefaultMiddleware(unmarked)
    request = RequestFactory().get("/")
    with pytest.raises(PermissionDenied):
        middleware.process_view(request, unmarked, (), {})
    assert middleware.process_view(request, marked, (), {}) is None


@pytest.mark.urls(__name__)
def test_unmarked_and_wrong_methods_through_the_whole_stack(db):
    """403 without a mark; 405 for a method that the mark does not name, also without a token."""
    client = Client(enforce_csrf_checks=True, raise_request_exception=False)
    refused = client.get("/unmarked/")
    assert b"secret" not in refused.content
    assert refused.status_code == 403
    assert client.get("/marked/").content == b"secret"
    assert client.post("/marked/").status_code == 405
    assert client.get("/posting/").status_code == 405
    assert client.post("/posting/").status_code == 403  # no CSRF token


@pytest.fixture
def booth(cast):
    """A booth in the supplier's register."""
    by = cast.capacity(cast.supplier_staff, cast.registers["supp"])
    return enter(Booth, by=by, name="B")


@pytest.mark.parametrize(
    ("who", "status"),
    [
        ("supplier_staff", 200),
        ("supplier_lead", 200),
        ("supplier_observer", 403),
        ("supplier_admin", 403),
        ("customer_lead", 404),
        ("auditor", 404),
        ("stranger", 404),
    ],
)
def test_who_opens_a_booth(cast, booth, sign_in, who, status):
    """A stranger learns nothing; a sitter without the role is told so; nobody else sits here."""
    assert sign_in(getattr(cast, who)).get(booth.get_absolute_url()).status_code == status


def test_an_object_of_another_dossier_is_not_found(cast, booth, sign_in):
    """Also for somebody who sits in both."""
    kwargs = {"dossier": cast.registers["third"].pk, "pk": booth.pk}
    assert sign_in(cast.stranger).get(reverse("parties:booth", kwargs=kwargs)).status_code == 404
    kwargs["dossier"] = cast.agreement.pk
    page = sign_in(cast.supplier_staff).get(reverse("parties:booth", kwargs=kwargs))
    assert page.status_code == 404


def test_a_call_does_the_same_as_the_page(cast, booth, sign_in):
    """JSON with numbers and null; errors by field; refusals with an id; no session, no entry."""
    kwargs = {"dossier": booth.dossier_id, "pk": booth.pk}
    url = reverse("parties-api:booth-renew-api", kwargs=kwargs)
    facts = {"name": "B", "zone": "UTC", "valid_from": "2026-03-01", "lamp_hours": 150}
    client = sign_in(cast.supplier_staff)

    def call(body, client=client):
        return client.post(url, json.dumps(body), content_type="application/json")

    assert call(facts, Client()).status_code == 403
    assert call({**facts, "lamp_hours": -1}).json()["fields"].keys() == {"lamp_hours"}
    for bad in ([], "x", {**facts, "name": {"a": 1}}, {**facts, "name": None}):
        assert call(bad).status_code in {400, 422}
    surrogate = call({**facts, "name": "B\ud800"})
    assert surrogate.json()["fields"].keys() == {"name"}
    done = call({**facts, "illuminance": None, "retired": False})
    assert done.status_code == 200
    assert done.json()["kind"] == "booth"
    refused = call(facts)
    assert (refused.status_code, refused.json()["id"]) == (409, "register.superseded")
    assert client.get(url).status_code == 405


def test_seating_and_unseating_ones_own_people(cast):
    """A lead seats and unseats own people; nobody touches the other side's, or themselves."""
    own = cast.capacity(cast.supplier_lead)
    staff = Sitter.objects.get(dossier=cast.agreement, person=cast.supplier_staff)
    unseat(staff, by=own)
    assert not Sitter.objects.today().filter(pk=staff.pk).exists()
    with pytest.raises(Refusal) as refused:
        unseat(staff, by=own)
    assert refused.value.id == "seat.gone"
    member = Membership.objects.get(person=cast.supplier_staff)
    back = seat_person(own.sitter.seat, by=own, member=member, role="deputy")
    assert (back.pk, back.code, back.role) == (staff.pk, staff.code, "deputy")
    foreign = cast.capacity(cast.customer_lead)
    for sitter, by in ((foreign.sitter, own), (own.sitter, own)):
        with pytest.raises(Refusal):
            unseat(sitter, by=by)
    with pytest.raises(Refusal):
        seat_person(own.sitter.seat, by=own, member=member, role="administrator")
    with pytest.raises(Refusal):
        seat_person(foreign.sitter.seat, by=own, member=member, role="reader")


def test_a_colleague_who_leaves_sits_nowhere(cast):
    """Members are kept by lead and administrator; nobody removes themselves."""
    admin = cast.capacity(cast.supplier_admin, cast.registers["supp"])
    member = Membership.objects.get(person=cast.supplier_staff)
    with pytest.raises(Refusal):
        remove_member(member, by=cast.capacity(cast.supplier_deputy, cast.registers["supp"]))
    remove_member(member, by=admin, reason="left")
    assert not Sitter.objects.today().filter(person=cast.supplier_staff).exists()
    with pytest.raises(Refusal):
        change_role(member, by=admin, role="deputy")
    with pytest.raises(Refusal):
        remove_member(Membership.objects.get(person=cast.supplier_admin), by=admin)


def test_opening_an_agreement_seats_the_firm_without_administrators(cast):
    """No chain yet; codes differ from dossier to dossier."""
    own = cast.capacity(cast.supplier_lead, cast.registers["supp"])
    dossier = open_agreement(own, title="New", side="supplier")
    people = {sitter.person for sitter in dossier.sitters.all()}
    assert cast.supplier_admin not in people
    assert {cast.supplier_lead, cast.supplier_staff, cast.supplier_observer} <= people
    with pytest.raises(Refusal):
        open_agreement(own, title="New", side="auditor")
