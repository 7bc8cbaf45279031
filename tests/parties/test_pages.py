"""Every page of accounts, people and registers opens for those it is for."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from parties.models import Booth, Chip, Instrument, Observer, Reference
from parties.transitions import add_chips, enter, invite

LISTS = ("observers", "booths", "instruments", "references")


@pytest.fixture
def filled(cast):
    """The supplier's register with one thing of each sort."""
    by = cast.capacity(cast.supplier_lead, cast.registers["supp"])
    pack = enter(Reference, by=by, name="Pack 7", kind="chip_pack", issued_on="2026-01-31")
    pack.refresh_from_db()
    add_chips(pack, by=by, labels=["A1", "A2"])
    enter(Booth, by=by, name="Booth North", other_lights=[{"illuminant": "A", "lamp_hours": 12}])
    enter(Instrument, by=by, name="Sphere 1", geometry="di:8")
    enter(Observer, by=by, name="Ada Finch", person=cast.supplier_observer, score=14)
    return cast


@pytest.mark.parametrize(
    "name", ["login", "password_reset", "password_reset_done", "password_reset_complete"]
)
def test_pages_for_strangers(db, name):
    """Signing in and a forgotten password need no account."""
    assert Client().get(reverse(name)).status_code == 200


@pytest.mark.parametrize("name", ["parties:account", "password_change", "password_change_done"])
def test_pages_about_oneself(cast, sign_in, name):
    """Open when signed in; a stranger is sent to sign in."""
    assert sign_in(cast.supplier_staff).get(reverse(name)).status_code == 200
    assert Client().get(reverse(name)).status_code == 302


def test_register_lists_and_details(filled, sign_in):
    """Lists, the thing's page, and the form of every act on it."""
    register = filled.registers["supp"]
    client = sign_in(filled.supplier_lead)
    for name in ("register", "people", *LISTS):
        page = client.get(reverse(f"parties:{name}", kwargs={"dossier": register.pk}))
        assert page.status_code == 200, name
    for model in (Booth, Instrument, Observer, Reference):
        row = model.objects.get()
        page = client.get(row.get_absolute_url())
        assert page.status_code == 200
        assert row.name in page.content.decode()
        kwargs = {"dossier": register.pk, "pk": row.pk}
        form = client.get(reverse(f"parties:{model.noun}-renew", kwargs=kwargs))
        assert form.status_code == 200
        assert f'value="{row.name}"' in form.content.decode()


def test_a_chip_is_used_once_through_its_page(filled, sign_in):
    """The second use is refused and changes nothing."""
    chip = Chip.objects.get(name="A1")
    kwargs = {"dossier": chip.dossier_id, "pk": chip.pk}
    client = sign_in(filled.supplier_staff)
    url = reverse("parties:chip-use", kwargs=kwargs)
    assert client.get(url).status_code == 200
    assert client.post(url, {"used_on": "2026-03-03"}).status_code == 302
    assert Chip.objects.current().get(name="A1").used_on is not None
    refused = client.post(url, {"used_on": "2026-03-04"})
    assert refused.status_code == 422
    assert Chip.objects.filter(name="A1").count() == 2


def test_a_booth_is_entered_and_renewed_through_pages(cast, sign_in):
    """The newer row takes over what was not changed; the earlier one stays."""
    register = cast.registers["supp"]
    client = sign_in(cast.supplier_staff)
    url = reverse("parties:enter-booth", kwargs={"dossier": register.pk})
    facts = {
        "name": "Booth South",
        "valid_from": "2026-03-01",
        "zone": "Europe/Berlin",
        "lamp_hours": "120",
        "light1_illuminant": "A",
        "light1_lamp_hours": "30",
    }
    assert client.post(url, facts).status_code == 302
    row = Booth.objects.get()
    assert row.other_lights == [{"illuminant": "A", "lamp_hours": 30}]
    wrong = client.post(url, {**facts, "zone": "Atlantis/Deep"})
    assert wrong.status_code == 422
    renew = reverse("parties:booth-renew", kwargs={"dossier": register.pk, "pk": row.pk})
    answer = client.post(renew, {**facts, "lamp_hours": "150", "valid_from": "2026-04-01"})
    assert answer.status_code == 302
    assert [one.lamp_hours for one in Booth.objects.history(row.key)] == [150, 120]


def test_the_installation_page_is_open_and_makes_nothing(db):
    """A GET before the first firm shows that there is no root, and makes none."""
    page = Client().get(reverse("parties:installation"))
    assert page.status_code == 200
    assert Client().get(reverse("parties:root-certificate")).status_code == 404


def test_the_language_is_remembered_with_the_account(cast, sign_in):
    """The switch answers to POST only."""
    client = sign_in(cast.supplier_staff)
    assert client.get(reverse("set_language")).status_code == 405
    client.post(reverse("set_language"), {"language": "zh-hans", "next": "/account/"})
    cast.supplier_staff.refresh_from_db()
    assert cast.supplier_staff.language == "zh-hans"


@pytest.mark.parametrize("name", [*LISTS, "people", "register"])
def test_pages_take_the_same_queries_whatever_the_number_of_rows(filled, sign_in, name):
    """Counted with one thing of each sort and with eleven."""
    register = filled.registers["supp"]
    by = filled.capacity(filled.supplier_lead, register)
    client = sign_in(filled.supplier_lead)
    url = reverse(f"parties:{name}", kwargs={"dossier": register.pk})
    client.get(url)
    with CaptureQueriesContext(connection) as few:
        client.get(url)
    for number in range(10):
        enter(Booth, by=by, name=f"Booth {number}", checked_on="2026-01-01")
        enter(Instrument, by=by, name=f"Sphere {number}", calibration_due="2026-01-01")
        enter(Observer, by=by, name=f"Observer {number}", tested_on="2020-01-01")
        enter(Reference, by=by, name=f"Master {number}", kind="master", expires_on="2026-01-01")
        invite(by, email=f"colleague{number}@example.org", role="reader")
    with CaptureQueriesContext(connection) as many:
        page = client.get(url)
    assert page.status_code == 200
    assert len(many) == len(few)
