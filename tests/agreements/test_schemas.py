"""Revisions of an earlier schema of the terms: kept as they are, and where a draft goes on."""

from __future__ import annotations

from functools import cache

import pytest
from django.urls import reverse

from agreements import transitions
from agreements.models import Draft, Revision, drafts
from agreements.redline import redline
from ledger.canonical import canonical_bytes, digest
from method.terms import Terms, document, from_document, service_held_allowed, terms_bytes, upgrade
from method.terms.edit import with_values
from tests.agreements.conftest import Table, complete

pytestmark = pytest.mark.django_db


@cache
def old_terms() -> Terms:
    """Complete terms as schema 1 wrote them."""
    raw = document(complete())
    del raw["shared"]["changes"]["signing_keys"]
    return from_document({**raw, "schema": 1})


@pytest.fixture
def old(table: Table, monkeypatch: pytest.MonkeyPatch) -> Revision:
    """Agreed to while the program knew schema 1 alone: it proposed a draft's own bytes."""
    terms = old_terms()
    with monkeypatch.context() as patch:
        patch.setattr(drafts, "upgrade", lambda kept: kept)
        revision = transitions.propose(table.draft(terms=terms), by=table.customer)
    assert bytes(revision.terms) == terms_bytes(terms)
    assert b'"schema":1' in bytes(revision.terms)
    return transitions.agree(revision, by=table.supplier, digest=revision.digest)


def test_an_old_revision_is_signed_and_shown_as_it_is(table, old, client):
    for by in (table.customer, table.supplier):
        old = transitions.sign(old, by=by, digest=old.digest)
    assert old.status == Revision.Status.SIGNED
    assert digest(bytes(old.terms)) == old.digest
    client.force_login(table.cast.auditor)
    page = client.get(reverse("agreements:revision", args=[old.dossier_id, old.pk])).text
    assert "Governing language" in page
    assert "Keys that sign" not in page
    kept = client.get(reverse("agreements:terms-json", args=[old.dossier_id, old.pk])).content
    assert kept == bytes(old.terms)


def test_a_draft_from_an_old_revision_is_of_the_newest_schema(table, old, client):
    draft = transitions.take_up(old, by=table.supplier)
    assert bytes(draft.terms) == terms_bytes(upgrade(old_terms()))
    assert service_held_allowed(draft.document)
    assert redline(old.document, draft.document) == []
    client.force_login(table.cast.supplier_lead)
    page = client.get(draft.get_absolute_url()).text
    assert "also a key that this service holds for the signatory" in page


def test_between_an_old_and_a_new_revision_only_what_differs_is_shown(table, old):
    draft = transitions.take_up(old, by=table.supplier)
    terms = with_values(draft.document, "changes", {"signing_keys": "own_key"})
    draft = transitions.rewrite(draft, by=table.supplier, terms=terms)
    [group] = redline(old.document, draft.document)
    [line] = group.lines
    assert line.where == "Keys that sign"
    assert "".join(piece.text for piece in line.was).startswith("also a key")
    assert "".join(piece.text for piece in line.now).startswith("only a key")


def test_a_draft_kept_from_before_goes_on_in_the_newest_schema(table, client):
    draft = table.draft(terms=old_terms())
    Draft.objects.filter(pk=draft.pk).update(terms=canonical_bytes(document(old_terms())))
    draft.refresh_from_db()
    client.force_login(table.cast.customer_lead)
    address = reverse("agreements:draft-clause", args=[draft.dossier_id, draft.pk])
    page = client.get(address, {"clause": "changes"})
    assert 'value="service_held_too" selected' in page.text
    revision = transitions.propose(draft, by=table.customer)
    assert bytes(revision.terms) == terms_bytes(upgrade(old_terms()))
    assert revision.document.schema_version == 2
