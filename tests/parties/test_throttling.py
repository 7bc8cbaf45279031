"""Wrong passwords close an account for an address, at sign-in and when signing alike."""

from __future__ import annotations

import pytest
from django.test import Client, RequestFactory
from django.urls import reverse

from jobs.models import Mail
from parties.forms import SigningForm
from tests.cast import PASSWORD

WRONG = "not-the-password"


def sign_in_as(client, email, password):
    """One attempt through the page."""
    return client.post(reverse("login"), {"username": email, "password": password})


def test_ten_wrong_passwords_close_the_account(cast, settings):
    """However the address is typed; another account from the same place is not closed."""
    spellings = ["supplier_lead@example.org", " Supplier_Lead@Example.org"]
    for attempt in range(settings.AXES_FAILURE_LIMIT):
        answer = sign_in_as(Client(), spellings[attempt % 2], WRONG)
    assert answer.status_code == 429
    assert "Too many attempts" in answer.content.decode()
    assert sign_in_as(Client(), spellings[0], PASSWORD).status_code == 429
    assert sign_in_as(Client(), "supplier_staff@example.org", PASSWORD).status_code == 302


def attempt(cast, password):
    """The password of a signing act, asked in a request of its own."""
    form = SigningForm(
        {"password": password},
        by=cast.capacity(cast.supplier_lead),
        request=RequestFactory().post("/"),
    )
    return form.is_valid()


def test_signing_counts_like_signing_in(cast, settings):
    """A right password signs; after ten wrong ones the right one does not either."""
    assert attempt(cast, PASSWORD)
    for _ in range(settings.AXES_FAILURE_LIMIT):
        assert not attempt(cast, WRONG)
    assert not attempt(cast, PASSWORD)
    assert sign_in_as(Client(), "supplier_lead@example.org", PASSWORD).status_code == 429


def test_changing_a_password_counts_like_signing_in(cast, settings, sign_in):
    """A session left open is no place to try passwords; the right one changes it."""
    client = sign_in(cast.supplier_lead)
    new = "a-new-invented-password"
    form = {"old_password": WRONG, "new_password1": new, "new_password2": new}
    url = reverse("password_change")
    for _ in range(settings.AXES_FAILURE_LIMIT):
        answer = client.post(url, form)
    assert answer.status_code == 429
    assert client.post(url, {**form, "old_password": PASSWORD}).status_code == 429
    client = sign_in(cast.supplier_staff)
    assert client.post(url, {**form, "old_password": PASSWORD}).status_code == 302


def test_somebody_elses_password_does_not_sign(cast):
    """The password is the signatory's own."""
    cast.supplier_staff.set_password("another-invented-password")
    cast.supplier_staff.save()
    assert not attempt(cast, "another-invented-password")


def test_a_signing_form_hands_no_password_on(cast):
    """The transition never sees it."""
    form = SigningForm(
        {"password": PASSWORD},
        by=cast.capacity(cast.supplier_lead),
        request=RequestFactory().post("/"),
    )
    assert form.is_valid()
    assert form.values() == {}


@pytest.mark.parametrize("email", ["supplier_lead@example.org", "nobody@example.org"])
def test_a_forgotten_password_answers_alike(cast, email):
    """One mail an hour to whatever address was given; only a known one gets a link."""
    for _ in range(2):
        answer = Client().post(reverse("password_reset"), {"email": email})
        assert answer["Location"] == reverse("password_reset_done")
    mail = Mail.objects.get()
    assert mail.to == email
    assert ("/password/new/" in mail.body) == (email != "nobody@example.org")


def test_the_link_sets_a_password_once(cast):
    """And the old one does not work any more."""
    Client().post(reverse("password_reset"), {"email": cast.supplier_lead.email})
    link = next(line for line in Mail.objects.get().body.splitlines() if "/password/new/" in line)
    client = Client()
    page = client.get("/" + link.split("/", 3)[3], follow=True)
    new = "a-new-invented-password"
    form = {"new_password1": new, "new_password2": new}
    assert client.post(page.request["PATH_INFO"], form).status_code == 302
    assert sign_in_as(Client(), cast.supplier_lead.email, PASSWORD).status_code == 200
    assert sign_in_as(Client(), cast.supplier_lead.email, new).status_code == 302
    again = Client().get("/" + link.split("/", 3)[3], follow=True)
    assert "was used or has expired" in again.content.decode()
