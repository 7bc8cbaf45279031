"""After an act one is where one did it: on the page of people, of personal data, of keys."""

from __future__ import annotations

import pytest
from django.urls import reverse

from parties.transitions import remove_member


def at(cast, name: str) -> str:
    """An address in the supplier's register."""
    return reverse(f"parties:{name}", kwargs={"dossier": cast.registers["supp"].pk})


def let_go(cast, client):
    member = cast.firms["supp"].memberships.get(person=cast.supplier_staff)
    return client.post(at(cast, "let-go"), {"member": str(member.pk)})


def erase(cast, client):
    admin = cast.capacity(cast.supplier_admin, cast.registers["supp"])
    remove_member(cast.firms["supp"].memberships.get(person=cast.supplier_staff), by=admin)
    key = f"person-{cast.supplier_staff.pk}"
    return client.post(at(cast, "erase-person"), {"key": key, "looked": key, "confirmed": "on"})


@pytest.mark.parametrize(
    ("act", "page", "do"),
    [("let-go", "people", let_go), ("erase-person", "personal", erase)],
    ids=["let-go", "erase-person"],
)
def test_an_act_leads_back_to_the_page_on_which_it_is_offered(cast, sign_in, act, page, do):
    client = sign_in(cast.supplier_admin)
    done = do(cast, client)
    assert (done.status_code, done.get("Location")) == (302, at(cast, page)), done.content.decode()
    assert client.get(at(cast, page)).status_code == 200


@pytest.mark.parametrize(("act", "page"), [("let-go", "people"), ("revoke-key", "keys")])
def test_so_does_the_way_back_without_doing_it(cast, sign_in, act, page):
    shown = sign_in(cast.supplier_admin).get(at(cast, act)).content.decode()
    assert f'<a href="{at(cast, page)}">Back without doing it' in shown
