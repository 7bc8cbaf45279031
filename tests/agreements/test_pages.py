"""The pages: who sees what, and the whole path by forms."""

from __future__ import annotations

import json
import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from agreements import transitions
from agreements.models import Draft, Remark, Revision
from agreements.redline import redline
from method.glossary import ENTRIES
from method.terms.edit import with_part, with_values
from parties.models import Dossier
from tests.agreements.conftest import complete
from tests.cast import PASSWORD


def at(name: str, obj) -> str:
    """The address of a page of a draft, revision or remark."""
    return reverse(f"agreements:{name}", kwargs={"dossier": obj.dossier_id, "pk": obj.pk})


def home(dossier: Dossier) -> str:
    return reverse("agreements:overview", kwargs={"dossier": dossier.pk})


DRAFT_PAGES = ["draft", "draft-check", "draft-redline", "draft-clause", "draft-propose"]


@pytest.mark.parametrize("name", DRAFT_PAGES)
def test_a_draft_is_seen_by_its_own_side_only(table, cast, sign_in, name):
    draft = table.draft()
    for who, code in [
        (cast.customer_lead, 200),
        (cast.supplier_lead, 404),
        (cast.auditor, 404),
        (cast.stranger, 404),
    ]:
        assert sign_in(who).get(at(name, draft)).status_code == code, who


def test_the_overview_of_the_others_does_not_mention_a_draft(table, cast, sign_in):
    draft = table.draft()
    own = sign_in(cast.customer_lead).get(home(cast.agreement)).content.decode()
    assert str(draft.pk) in own
    for who in (cast.supplier_lead, cast.auditor):
        page = sign_in(who).get(home(cast.agreement)).content.decode()
        assert str(draft.pk) not in page
        assert "Nothing has been proposed yet" in page


@pytest.mark.parametrize("name", ["revision", "revision-check", "revision-redline", "terms-json"])
def test_both_sides_and_the_auditor_read_a_revision(table, cast, sign_in, name):
    revision = table.proposed()
    for who, code in [
        (cast.customer_lead, 200),
        (cast.supplier_staff, 200),
        (cast.auditor, 200),
        (cast.supplier_observer, 403),
        (cast.stranger, 404),
    ]:
        assert sign_in(who).get(at(name, revision)).status_code == code, who


def test_the_terms_are_downloaded_byte_for_byte_as_an_attachment(table, cast, sign_in):
    revision = table.proposed()
    response = sign_in(cast.auditor).get(at("terms-json", revision))
    assert response.content == bytes(revision.terms)
    assert response["Content-Disposition"] == 'attachment; filename="terms-1.json"'
    assert response["X-Content-Type-Options"] == "nosniff"


def test_a_clause_explains_its_words_beside_its_fields(table, cast, sign_in):
    page = sign_in(cast.customer_lead).get(at("draft-clause", table.draft()) + "?clause=viewing")
    fields = re.split(r'<div class="field', page.content.decode())
    field = next(one for one in fields if 'name="secondary"' in one)
    assert f"<summary>What is “{ENTRIES['metamerism'].term}”?</summary>" in field
    assert ENTRIES["metamerism"].says in field
    assert "<details" not in next(one for one in fields if 'name="distance_mm"' in one)


def test_the_auditor_is_offered_no_act(table, cast, sign_in):
    revision = table.proposed()
    client = sign_in(cast.auditor)
    page = client.get(at("revision", revision)).content.decode()
    assert at("revision-agree", revision) not in page
    assert at("revision-remark", revision) not in page
    assert client.post(at("revision-agree", revision)).status_code == 403


def test_the_main_path_by_forms(table, cast, sign_in):
    customer, supplier = sign_in(cast.customer_lead), sign_in(cast.supplier_lead)
    draft = table.draft()
    made = customer.post(at("draft-propose", draft), {"version": draft.version, "note": "Hello"})
    assert made.status_code == 302
    first = Revision.objects.get()
    page = supplier.get(made["Location"]).content.decode()
    assert "Hello" in page and first.digest in page
    taken = supplier.post(at("revision-take-up", first))
    mine = Draft.objects.get()
    assert taken["Location"] == at("draft", mine)
    clause = {"clause": "viewing", "whole": "on", "version": mine.version, "distance_mm": "650"}
    saved = supplier.post(at("draft-clause", mine), clause)
    assert saved["Location"] == at("draft", mine) + "#clause-viewing"
    mine.refresh_from_db()
    assert mine.document.shared.viewing.distance_mm == 650
    assert mine.document.shared.viewing.primary is None  # a whole form leaves nothing standing
    again = customer.get(at("revision", first)).content.decode()
    assert "650" not in again
    terms = with_values(complete(), "viewing", {"distance_mm": "650"})
    transitions.rewrite(mine, by=table.supplier, terms=terms)
    supplier.post(at("draft-counter", mine), {"note": ""})
    second = Revision.objects.get(number=2)
    assert customer.post(at("revision-agree", second), {"digest": second.digest}).status_code == 302
    assert b"Whose move" in customer.get(home(cast.agreement)).content
    for client, status in [(supplier, "signed_by_one"), (customer, "signed")]:
        sent = {"digest": second.digest, "password": PASSWORD}
        assert client.post(at("revision-sign", second), sent).status_code == 302
        second.refresh_from_db()
        assert second.status == status
    page = sign_in(cast.auditor).get(at("revision", second)).content.decode()
    assert "Sanna Quarrow" in page and "held by this service" in page


def test_signing_asks_for_the_password_again(table, cast, sign_in):
    revision = table.agreed()
    client = sign_in(cast.customer_lead)
    page = client.get(at("revision-sign", revision)).content.decode()
    assert revision.digest in page and "Ines Vellmar" in page
    wrong = client.post(
        at("revision-sign", revision), {"digest": revision.digest, "password": "not-mine-at-all"}
    )
    assert wrong.status_code == 422
    assert "not your password" in wrong.content.decode()
    revision.refresh_from_db()
    assert revision.status == "agreed"


def test_every_link_of_the_overview_opens_for_its_reader(table, cast, sign_in):
    table.signed()
    for who in (cast.customer_lead, cast.supplier_staff, cast.supplier_observer, cast.auditor):
        client = sign_in(who)
        page = client.get(home(cast.agreement)).content.decode()
        content = page.split("<main", 1)[1].split("</main>", 1)[0]
        links = [part.split('"', 1)[0] for part in content.split('href="')[1:]]
        assert [link for link in links if client.get(link).status_code != 200] == [], who


def test_the_register_leads_to_a_new_agreement(cast, sign_in):
    for who, there in [(cast.customer_lead, True), (cast.customer_colleague, False)]:
        client = sign_in(who)
        register = cast.registers["cust"]
        address = reverse("agreements:start-agreement", kwargs={"dossier": register.pk})
        page = client.get(reverse("parties:register", kwargs={"dossier": register.pk}))
        assert (address in page.content.decode()) is there
        assert client.get(address).status_code == (200 if there else 403)


def test_a_refusal_is_said_on_the_page_and_in_the_call(table, cast, sign_in):
    revision = table.proposed()
    client = sign_in(cast.supplier_lead)
    sent = {"digest": "0" * 64}
    page = client.post(at("revision-agree", revision), sent)
    assert page.status_code == 422
    assert "is not this revision" in page.content.decode()
    kwargs = {"dossier": revision.dossier_id, "pk": revision.pk}
    address = reverse("agreements-api:revision-agree-api", kwargs=kwargs)
    answer = client.post(address, json.dumps(sent), content_type="application/json")
    assert (answer.status_code, answer.json()["id"]) == (409, "digest.stale")
    good = client.post(
        address, json.dumps({"digest": revision.digest}), content_type="application/json"
    )
    assert (good.status_code, good.json()["status"]) == (200, "agreed")


def test_an_agreement_is_started_by_form(cast, sign_in):
    register = cast.registers["cust"]
    address = reverse("agreements:start-agreement", kwargs={"dossier": register.pk})
    client = sign_in(cast.customer_lead)
    assert client.get(address).status_code == 200
    sent = {
        "title": "Green lids",
        "side": "supplier",
        "terms": "visual",
        "firm": "Lid Works (invented)",
        "email": "lead@lids.example",
    }
    made = client.post(address, sent)
    dossier = Dossier.objects.get(title="Green lids")
    assert made["Location"] == home(dossier)
    assert sign_in(cast.supplier_lead).get(home(dossier)).status_code == 404
    bad = client.post(address, sent | {"email": "nobody", "title": "a\0b"})
    assert bad.status_code == 422
    assert {"email", "title"} <= set(bad.context["form"].errors)


def test_a_remark_is_made_at_its_item_and_struck(table, cast, sign_in):
    revision = table.proposed()
    item = revision.document.shared.changes.signatories[0].id
    client = sign_in(cast.supplier_staff)
    address = at("revision-remark", revision)
    form = client.get(f"{address}?clause=changes&item={item}").context["form"]
    assert form["item"].value() == item
    wrong = client.post(address, {"clause": "scope", "item": item, "text": "Hm."})
    assert "item" in wrong.context["form"].errors
    client.post(address, {"clause": "changes", "item": item, "text": "Whose lead?"})
    remark = Remark.objects.get()
    assert "Whose lead?" in client.get(at("revision", revision)).content.decode()
    assert (
        sign_in(cast.customer_lead)
        .post(at("remark-strike", remark), {"reason": "no"})
        .context["form"]
        .refused
        == "remark.not_yours"
    )
    client.post(at("remark-strike", remark), {"reason": "Settled."})
    page = client.get(at("revision", revision)).content.decode()
    assert "<del>Whose lead?</del>" in page and "Settled." in page


def test_a_remark_with_nul_is_refused_and_kept_in_the_form(table, cast, sign_in):
    revision = table.proposed()
    sent = {"clause": "scope", "text": "bad\0text"}
    answer = sign_in(cast.supplier_staff).post(at("revision-remark", revision), sent)
    assert answer.status_code == 422
    assert "text" in answer.context["form"].errors
    assert Remark.objects.count() == 0


def test_the_redline_says_was_and_now_word_by_word(table, cast, sign_in):
    first = table.proposed()
    mine = transitions.take_up(first, by=table.supplier)
    terms = with_values(mine.document, "scope", {"material": "ABS grade two"})
    terms = with_part(terms, {"number": "H-2", "name": "Lid", "colour": "Black"})
    transitions.rewrite(mine, by=table.supplier, terms=terms)
    page = sign_in(cast.supplier_lead).get(at("draft-redline", mine)).content.decode()
    assert "<ins>ABS grade two</ins>" in page and "<del>not said</del>" in page
    assert "H-2 · Lid · Black" in page and "added" in page
    second = transitions.counter(mine, by=table.supplier)
    third = transitions.take_up(second, by=table.customer)
    terms = with_values(third.document, "scope", {"material": "ABS grade three"})
    transitions.rewrite(third, by=table.customer, terms=terms)
    transitions.counter(third, by=table.customer)
    latest = Revision.objects.get(number=3)
    client = sign_in(cast.auditor)
    page = client.get(at("revision-redline", latest)).content.decode()
    assert "ABS grade <del>two</del>" in page and "ABS grade <ins>three</ins>" in page
    assert client.get(at("revision-redline", latest) + "?with=1").context["other"] == first
    assert client.get(at("revision-redline", latest) + "?with=9").status_code == 404
    assert redline(latest.document, latest.document) == []


def test_nothing_hidden_in_an_earlier_draft_reaches_the_other_side(table, cast, sign_in):
    first = table.proposed()
    mine = transitions.take_up(first, by=table.supplier)
    secret = with_values(mine.document, "scope", {"material": "secret resin"})
    transitions.rewrite(mine, by=table.supplier, terms=secret)
    client = sign_in(cast.customer_lead)
    for address in (home(cast.agreement), at("revision", first), at("revision-redline", first)):
        assert "secret resin" not in client.get(address).content.decode()


def test_the_queries_of_a_page_do_not_grow(table, cast, sign_in):
    revision = table.proposed()
    client = sign_in(cast.supplier_lead)

    def count(address: str) -> int:
        with CaptureQueriesContext(connection) as seen:
            assert client.get(address).status_code == 200
        return len(seen)

    addresses = [home(cast.agreement), at("revision", revision)]
    before = [count(address) for address in addresses]
    for number in range(12):
        transitions.make_remark(
            revision, by=table.supplier, clause="scope", text=f"Remark {number}"
        )
    for _ in range(3):
        latest = Revision.objects.order_by("-number").first()
        side = table.supplier if latest.proposed_by == "customer" else table.customer
        transitions.counter(transitions.take_up(latest, by=side), by=side)
    assert [count(address) for address in addresses] == before
