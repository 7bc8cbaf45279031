"""The two steps of signing on pages and in JSON calls: tokens, booths, terms, and what is bound."""

from __future__ import annotations

import datetime as dt
import json

import pytest
from django.core import signing as tokens
from django.test import Client
from django.urls import reverse

from agreements import transitions
from agreements.models import Draft
from ledger import chain
from ledger.canonical import parse
from method.terms.document import terms_bytes
from method.terms.edit import with_values
from parties import prepared as prepared_tokens
from parties.models import Key, Signature
from parties.transitions.keys import revoke_key
from shipments.models import FirstArticle
from tests.agreements.conftest import complete
from tests.cast import PASSWORD
from tests.own_keys import browser_key, confirmed, in_register, passkey

OWN = "own_key"


def agreed(table, keys: str = OWN):
    """A revision that awaits both signatures, under terms that want own keys."""
    terms = with_values(complete(), "changes", {"signing_keys": keys})
    data = terms_bytes(terms)
    draft = Draft.objects.create(dossier=table.cast.agreement, side_only="customer", terms=data)
    revision = transitions.propose(draft, by=table.customer)
    return transitions.agree(revision, by=table.supplier, digest=revision.digest)


@pytest.fixture
def held(cast):
    """The customer's lead has a passkey."""
    return passkey(in_register(cast, cast.customer_lead))


def at(revision, name: str = "agreements:revision-sign") -> str:
    """The signing form of a revision, or its JSON calls."""
    return reverse(name, kwargs={"dossier": revision.dossier_id, "pk": revision.pk})


def first(client: Client, revision, held, **more):
    """The first step; what the page asks of the browser."""
    form = {"digest": revision.digest, "key": held.key.fingerprint, **more}
    answer = client.post(at(revision), form)
    assert answer.status_code == 200, answer.context["form"].errors
    return answer.context["asked"], answer.content.decode()


def second(client: Client, url: str, asked, held, **more):
    """The second step, answered by the holder."""
    answers = held.answers(asked["statement"].encode())
    return client.post(url, {"prepared": asked["prepared"], **answers, **more})


def said(answer) -> str:
    """The errors of the form."""
    return " ".join(str(one) for errors in answer.context["form"].errors.values() for one in errors)


def test_a_passkey_signs_on_the_page(table, sign_in, held):
    revision = agreed(table)
    client = sign_in(table.cast.customer_lead)
    asked, page = first(client, revision, held)
    statement = parse(asked["statement"].encode())
    # Everything that is signed stands on the page.
    for word in (statement["digest"], statement["nonce"], statement["head"]["hash"]):
        assert word in page
    assert held.key.fingerprint in page
    assert "one of your keys" not in page
    assert not Signature.objects.exists()
    assert second(client, at(revision), asked, held).status_code == 302
    made = Signature.objects.get()
    assert (made.assurance, bytes(made.statement).decode()) == ("passkey", asked["statement"])
    shown = client.get(revision.get_absolute_url()).content.decode()
    assert made.assurance_words() in shown.replace("&#x27;", "'")
    assert "revoked later" not in shown
    revoke_key(held.key, by=in_register(table.cast, table.cast.customer_lead), reason="Lost.")
    assert "revoked later" in client.get(revision.get_absolute_url()).content.decode()


def test_the_browsers_key_signs_in_json_calls(table, sign_in, cast):
    """prepare, then the act with the proof; nothing but text goes over the line."""
    held = browser_key(in_register(cast, cast.customer_lead))
    revision = agreed(table)
    client = sign_in(cast.customer_lead)

    def call(name, **data):
        url = at(revision, f"agreements-api:revision-sign{name}-api")
        return client.post(url, json.dumps(data), content_type="application/json")

    fields = {"digest": revision.digest, "key": held.key.fingerprint}
    early = call("", **fields)
    assert (early.status_code, early.json()["id"]) == (409, "prepare_first")
    asked = call("-prepare", **fields).json()
    assert asked["assurance"] == "browser-held"
    assert asked["wrapped"] == held.key.wrapped
    answers = held.answers(asked["statement"].encode())
    done = call("", prepared=asked["prepared"], **answers)
    assert done.status_code == 200, done.json()
    assert done.json()["status"] == "signed_by_one"
    again = call("", prepared=asked["prepared"], **answers)
    assert (again.status_code, again.json()["id"]) == (409, "signature.made_already")
    broken = call("", prepared="x" + asked["prepared"], **answers)
    assert (broken.status_code, broken.json()["id"]) == (409, "prepared.broken")


def test_the_service_prepares_nothing(table, sign_in, cast):
    """Its key signs at once, with the password."""
    revision = agreed(table, "service_held_too")
    client = sign_in(cast.customer_lead)
    url = at(revision, "agreements-api:revision-sign-prepare-api")
    data = {"digest": revision.digest, "password": PASSWORD}
    answer = client.post(url, json.dumps(data), content_type="application/json")
    assert (answer.status_code, answer.json()["id"]) == (409, "no_first_step")


def test_terms_that_want_own_keys_refuse_the_services_key(table, sign_in, cast):
    """On the page and in the call; nothing is signed, and the words say what to do."""
    revision = agreed(table)
    client = sign_in(cast.customer_lead)
    page = client.get(at(revision))
    assert page.status_code == 409
    assert "Clause 10 of these terms asks for a key that the signatory holds" in (
        page.content.decode()
    )
    assert "password" not in page.content.decode()
    assert "What you typed" not in page.content.decode()  # nothing was
    own = cast.registers["cust"]
    assert f'href="{reverse("parties:keys", kwargs={"dossier": own.pk})}"' in page.content.decode()
    form = {"digest": revision.digest, "password": PASSWORD}
    assert client.post(at(revision), form).status_code == 409
    call = client.post(at(revision, "agreements-api:revision-sign-api"), form)
    assert (call.status_code, call.json()["id"]) == (409, "signing.own_key")
    assert not Signature.objects.exists()


def test_with_an_own_key_the_services_is_offered_only_where_terms_allow(table, sign_in, cast, held):
    strict = agreed(table)
    page = sign_in(cast.customer_lead).get(at(strict)).content.decode()
    assert 'name="password"' not in page
    assert 'value="service"' not in page
    form = {"digest": strict.digest, "key": "service", "password": PASSWORD}
    answer = sign_in(cast.customer_lead).post(at(strict), form)
    assert answer.status_code == 422


def test_where_terms_allow_both_the_password_signs_too(table, sign_in, cast):
    """The service's key was certified when the side proposed; an own one came after."""
    revision = agreed(table, "service_held_too")
    passkey(in_register(cast, cast.customer_lead))
    client = sign_in(cast.customer_lead)
    page = client.get(at(revision)).content.decode()
    assert 'value="service"' in page
    wrong = client.post(at(revision), {"digest": revision.digest, "key": "service"})
    assert "This field is required." in said(wrong)
    form = {"digest": revision.digest, "key": "service", "password": PASSWORD}
    assert client.post(at(revision), form).status_code == 302
    assert Signature.objects.get().assurance == "service-held"


# Tokens.


def test_a_token_ends_after_a_quarter_of_an_hour(table, sign_in, held, monkeypatch):
    revision = agreed(table)
    client = sign_in(table.cast.customer_lead)
    asked, _page = first(client, revision, held)
    monkeypatch.setattr(prepared_tokens, "SECONDS", -1)
    answer = second(client, at(revision), asked, held)
    assert answer.status_code == 422
    assert "Too much time has passed" in said(answer)
    assert not Signature.objects.exists()
    assert asked["prepared"] not in answer.content.decode()


def test_another_persons_token_is_refused(table, sign_in, held, cast):
    """Also one with an own key that signs the same bytes."""
    revision = agreed(table)
    asked, _page = first(sign_in(cast.customer_lead), revision, held)
    passkey(in_register(cast, cast.supplier_lead))
    answer = second(sign_in(cast.supplier_lead), at(revision), asked, held)
    assert "prepared for another person" in said(answer)
    assert not Signature.objects.exists()


def test_a_token_for_another_object_or_act_is_refused(table, sign_in, held, cast):
    revision = agreed(table)
    client = sign_in(cast.customer_lead)
    asked, _page = first(client, revision, held)
    content = tokens.loads(asked["prepared"], salt=prepared_tokens.SALT)
    for place, other in ((1, "offers-sign"), (2, str(table.cast.other.pk))):
        bound = list(content["bound"])
        bound[place] = other
        token = prepared_tokens.token(bound, content["values"], content["facts"])
        answer = second(client, at(revision), asked | {"prepared": token}, held)
        assert "prepared for something else" in said(answer)
    assert not Signature.objects.exists()


@pytest.mark.parametrize("token", ["x", "a:b:c", "", "."])
def test_what_is_no_token_is_refused(table, sign_in, held, cast, token):
    revision = agreed(table)
    client = sign_in(cast.customer_lead)
    asked, _page = first(client, revision, held)
    answer = second(client, at(revision), asked | {"prepared": token}, held)
    assert answer.status_code == 422
    assert not Signature.objects.exists()


def test_what_is_sent_beside_the_token_changes_nothing(table, sign_in, held, cast):
    """Only what the token carries counts."""
    revision = agreed(table)
    client = sign_in(cast.customer_lead)
    asked, _page = first(client, revision, held)
    answer = second(client, at(revision), asked, held, digest="0" * 64, key="service")
    assert answer.status_code == 302
    assert Signature.objects.get().digest == revision.digest


def test_a_key_revoked_between_the_steps_signs_nothing(table, sign_in, held, cast):
    revision = agreed(table)
    client = sign_in(cast.customer_lead)
    asked, _page = first(client, revision, held)
    revoke_key(held.key, by=in_register(cast, cast.customer_lead))
    answer = second(client, at(revision), asked, held)
    assert answer.status_code in (409, 422)
    revision.refresh_from_db()
    assert (revision.status, Signature.objects.count()) == ("agreed", 0)


def test_a_wrong_proof_changes_nothing(table, sign_in, held, cast):
    """The transition is undone with its signature."""
    revision = agreed(table)
    client = sign_in(cast.customer_lead)
    asked, _page = first(client, revision, held)
    head = chain.head(cast.agreement.chain)
    other = asked | {"statement": asked["statement"].replace('"role"', '"rolf"')}
    answer = second(client, at(revision), other, held)
    assert "The signature does not hold" in said(answer)
    revision.refresh_from_db()
    assert (revision.status, chain.head(cast.agreement.chain)) == ("agreed", head)


def test_preparing_certifies_once_and_asks_for_the_state_first(table, sign_in, held, cast):
    """A revision that cannot be signed any more certifies nothing."""
    revision = agreed(table)
    client = sign_in(cast.customer_lead)
    for _time in range(2):
        first(client, revision, held)
    kinds = [one.kind for one in chain.entries(cast.agreement.chain)]
    assert kinds.count("key.certified") == 1
    transitions.withdraw(revision, by=table.customer, reason="No")
    form = {"digest": revision.digest, "key": held.key.fingerprint}
    assert client.post(at(revision), form).status_code == 422


# Booths.


def test_nobody_signs_at_a_booth(table, sign_in, cast):
    """Words instead of fields, on every page that signs or makes keys; also after signing out and
    in again, until the mark is taken away with a password."""
    revision = agreed(table, "service_held_too")
    held = passkey(in_register(cast, cast.customer_lead))
    client = sign_in(cast.customer_lead)
    asked, _page = first(client, revision, held)
    url = reverse("parties:booth-device")
    assert client.post(url).status_code == 302
    client.post(reverse("logout"))
    client.force_login(cast.customer_lead, backend="django.contrib.auth.backends.ModelBackend")
    register = {"dossier": cast.registers["cust"].pk}
    for address in (
        at(revision),
        reverse("parties:enrol-key", kwargs=register),
        reverse("parties:revoke-key", kwargs=register),
    ):
        page = client.get(address)
        assert page.status_code == 409
        assert "standing at a viewing booth" in page.content.decode()
        assert 'type="password"' not in page.content.decode()
    form = {"digest": revision.digest, "key": "service", "password": PASSWORD}
    assert client.post(at(revision), form).status_code == 409
    assert second(client, at(revision), asked, held).status_code == 409
    for name in ("revision-sign-api", "revision-sign-prepare-api"):
        call = client.post(at(revision, f"agreements-api:{name}"), form)
        assert (call.status_code, call.json()["id"]) == (409, "booth_device")
    assert not Signature.objects.exists()
    assert client.post(url, {"password": "wrong"}).status_code == 422
    assert client.get(at(revision)).status_code == 409
    assert client.post(url, {"password": PASSWORD}).status_code == 302
    assert client.get(at(revision)).status_code == 200


def test_a_forged_mark_is_none_and_marks_nobody_else(table, sign_in, cast):
    """The cookie is signed; another browser is not marked by it."""
    client = sign_in(cast.customer_lead)
    client.cookies["booth_device"] = "yes"
    page = client.get(reverse("parties:booth-device")).content.decode()
    assert "Mark this browser" in page
    assert Client().get(reverse("login")).status_code == 200


# Other acts that are signed.


def test_the_limits_of_an_approval_are_bound_by_token_and_signature(world, sign_in):
    """What is sent beside the token does not count, and the statement names them."""
    cast = world.cast
    held = confirmed(cast, passkey(in_register(cast, cast.customer_lead)))
    article = world.submitted_article("FA-9")
    kwargs = {"dossier": article.dossier_id, "pk": article.pk}
    url = reverse("shipments:articles-approve-with-limits", kwargs=kwargs)
    until = world.today + dt.timedelta(days=30)
    client = sign_in(cast.customer_lead)
    form = {"quantity": "500", "until": until.isoformat(), "seal": "S-9", "note": "For the start"}
    shown = client.get(url)
    assert held.key.fingerprint[:16] in shown.content.decode()
    answer = client.post(url, {**form, "key": held.key.fingerprint})
    assert answer.status_code == 200, said(answer)
    asked = answer.context["asked"]
    intent = parse(asked["statement"].encode())["intent"]
    assert f'[at most 500 pieces, until {until}, seal numbers "S-9", the master' in intent
    assert intent.endswith('remark "For the start"]')
    assert second(client, url, asked, held, quantity="9000", until="").status_code == 302
    made = FirstArticle.objects.get(pk=article.pk)
    assert (made.limit_quantity, made.limit_until) == (500, until)
    assert made.decision_note == "For the start"
    assert Signature.objects.get(what="article", subject=article.subject).assurance == "passkey"
    assert "their own device signed" in client.get(made.get_absolute_url()).content.decode()
    nothing = client.post(url, {"key": held.key.fingerprint})
    assert nothing.status_code == 422


def test_a_settlement_and_evidence_are_signed_by_the_same_path(world, sign_in):
    cast = world.cast
    held = confirmed(cast, passkey(in_register(cast, cast.supplier_lead), count=1))
    client = sign_in(cast.supplier_lead)
    submission = world.last_submission(world.judged_lot("L-1"))
    offer = world.offered("L-2")
    for name, obj in (("shipments:submissions-sign", submission), ("disputes:offers-sign", offer)):
        url = reverse(name, kwargs={"dossier": obj.dossier_id, "pk": obj.pk})
        answer = client.post(url, {"key": held.key.fingerprint})
        assert answer.status_code == 200, said(answer)
        assert second(client, url, answer.context["asked"], held).status_code == 302
        made = Signature.objects.get(subject=obj.subject, assurance="passkey")
        assert made.digest == obj.digest
        shown = client.get(obj.get_absolute_url()).content.decode()
        assert "their own device signed" in shown
        assert "key held by this service" not in shown.partition("<main")[2]
    offer.refresh_from_db()
    assert offer.first_signer == "supplier"
    assert Key.objects.get(pk=held.key.pk).sign_count > held.key.sign_count
