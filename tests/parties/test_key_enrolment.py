"""Enrolling a key of one's own: what the browser must have done, and who must agree."""

from __future__ import annotations

import base64
import json

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from django.urls import reverse

from ledger import clock
from ledger.certificates import check_leaf
from parties.key_due import keys_due_in
from parties.keys import installation, key_of, own_keys
from parties.models import Key, Membership, Sitter
from parties.own_keys import check_browser_key, check_passkey, new_challenge, passkey_options
from parties.refusal import Refusal
from parties.relying import relying_party
from parties.transitions.keys import confirm_key, confirmers, enrol_key, revoke_key
from tests.cast import PASSWORD
from tests.own_keys import browser_key, in_register, passkey
from tests.softauth import PRESENT, BrowserKey, SoftAuthenticator, b64u, opened, unb64u

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead(cast):
    """The supplier's lead, in their firm's register."""
    return in_register(cast, cast.supplier_lead)


def why(call, *args, **more) -> str:
    """The id of the refusal."""
    with pytest.raises(Refusal) as caught:
        call(*args, **more)
    return caught.value.id


def on_desk(by) -> list[str]:
    """What of keys awaits somebody, by its sort."""
    return [one.id.partition(":")[0] for one in keys_due_in([by], clock.now().date())]


def test_the_first_key_signs_at_once_and_is_certified_by_the_root(cast, lead):
    held = passkey(lead)
    assert [key.pk for key in own_keys(lead.person, lead.organisation)] == [held.key.pk]
    root = bytes(installation().certificate)
    check_leaf(root, bytes(held.key.certificate), held.key.created_at)
    certificate = x509.load_der_x509_certificate(bytes(held.key.certificate))
    assert certificate.public_key() == held.holder.key.public_key()
    assert held.key.cose == held.holder.cose()


def test_the_wrapped_form_opens_with_the_passphrase_and_holds_nothing_in_the_clear(lead):
    """Opened by `cryptography` as WebCrypto would; 600,000 iterations or more."""
    held = browser_key(lead)
    wrapped = held.key.wrapped
    assert wrapped["iterations"] >= 600_000
    found = opened(wrapped, held.holder.passphrase)
    assert found.private_numbers() == held.holder.key.private_numbers()
    with pytest.raises(Exception):  # noqa: B017  (whatever the cipher raises)
        opened(wrapped, "another passphrase")
    assert bytes(held.key.sealed) == b""


@pytest.mark.parametrize("faults", [{"flags": PRESENT}, {"origin": "http://localhost:1"}])
def test_a_device_that_does_not_make_sure_or_sits_elsewhere_is_refused(lead, faults):
    challenge = new_challenge()
    answer = SoftAuthenticator().create(unb64u(challenge), **faults)
    assert why(check_passkey, answer, challenge) == "key.not_enrolled"


def test_another_challenge_party_or_curve_is_refused(lead, db):
    challenge = new_challenge()
    soft = SoftAuthenticator()
    old = soft.create(unb64u(new_challenge()))
    assert why(check_passkey, old, challenge) == "key.not_enrolled"
    other = SoftAuthenticator(relying_party="elsewhere.example")
    assert why(check_passkey, other.create(unb64u(challenge)), challenge) == "key.not_enrolled"


@pytest.mark.parametrize("answer", ["", "{}", "[]", "x", '{"id": "a", "rawId": "a"}', "null", "1"])
def test_an_answer_that_is_none_is_refused(answer):
    assert why(check_passkey, answer, new_challenge()) == "key.not_enrolled"


@pytest.mark.parametrize(
    "changes",
    [
        {"iterations": 599_999},
        {"iterations": "600000"},
        {"kdf": "PBKDF2-SHA-1"},
        {"cipher": "AES-128-CBC"},
        {"salt": b64u(b"short")},
        {"iv": b64u(b"x" * 16)},
        {"v": 2},
        {"more": 1},
    ],
)
def test_a_weak_or_unknown_wrapping_is_refused(changes):
    made, challenge = BrowserKey(iterations=600_000), new_challenge()
    wrapped = made.wrapped(**changes)
    answer = (made.public_key(), wrapped, made.possession(challenge), challenge)
    assert why(check_browser_key, *answer) == "key.not_enrolled"


def test_possession_is_proven(db):
    """By this key, over this challenge; no other curve and no RSA key."""
    made, other, challenge = BrowserKey(), BrowserKey(), new_challenge()
    wrapped = made.wrapped()
    assert check_browser_key(
        made.public_key(), wrapped, made.possession(challenge), challenge
    ).assurance == ("browser-held")
    for public, proof in (
        (made.public_key(), other.possession(challenge)),
        (made.public_key(), made.possession(new_challenge())),
        (made.public_key(), ""),
        (made.public_key(), "ä"),
        ("", made.possession(challenge)),
    ):
        answer = (public, wrapped, proof, challenge)
        assert why(check_browser_key, *answer) == "key.not_enrolled"
    for key in (ec.generate_private_key(ec.SECP384R1()), rsa.generate_private_key(65537, 2048)):
        der = key.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
        answer = (b64u(der), wrapped, made.possession(challenge), challenge)
        assert why(check_browser_key, *answer) == "key.not_enrolled"


def test_the_options_ask_for_what_the_record_needs(cast, lead):
    """ES256 (-7, RFC 9053) alone, verification of the person, no attestation, known ones out."""
    held = passkey(lead)
    challenge = new_challenge()
    options = passkey_options(lead.person, lead.organisation, challenge)
    assert options["challenge"] == challenge
    assert options["rp"]["id"] == "localhost"
    assert [one["alg"] for one in options["pubKeyCredParams"]] == [-7]
    assert options["attestation"] == "none"
    chosen = options["authenticatorSelection"]
    assert (chosen["userVerification"], chosen["residentKey"]) == ("required", "discouraged")
    assert [one["id"] for one in options["excludeCredentials"]] == [held.holder.credential_id]


@pytest.mark.parametrize(
    ("address", "id", "origin"),
    [
        ("http://localhost:8000", "localhost", "http://localhost:8000"),
        ("https://shade.example", "shade.example", "https://shade.example"),
        ("https://Shade.Example:443", "shade.example", "https://shade.example"),
        ("https://shade.example:8443", "shade.example", "https://shade.example:8443"),
    ],
)
def test_passkeys_belong_to_the_public_address(settings, address, id, origin):
    """The origin as browsers write it: the usual port is left out (RFC 6454, 6.2)."""
    settings.PUBLIC_URL = address
    assert relying_party() == type(relying_party())(id, origin)


@pytest.mark.parametrize(
    ("address", "refused"),
    [
        ("http://127.0.0.1:8000", "passkey.address"),
        ("https://192.0.2.7", "passkey.address"),
        ("https://[2001:db8::1]", "passkey.address"),
        ("http://shade.example", "passkey.insecure"),
    ],
)
def test_an_address_without_a_name_makes_no_passkeys(settings, address, refused):
    settings.PUBLIC_URL = address
    assert why(relying_party) == refused


# A second person.


def test_a_later_key_needs_a_second_person(cast, lead):
    """Also after the first was revoked: otherwise revoking would be the way around."""
    first = passkey(lead)
    second = browser_key(lead)
    assert second.key.is_pending
    assert [key.pk for key in own_keys(lead.person, lead.organisation)] == [first.key.pk]
    revoke_key(first.key, by=lead)
    third = browser_key(lead)
    assert third.key.is_pending
    assert own_keys(lead.person, lead.organisation) == []
    deputy = in_register(cast, cast.supplier_deputy)
    assert on_desk(lead) == ["own_key_waits", "own_key_waits"]
    assert on_desk(deputy) == ["confirm_key", "confirm_key"]
    assert on_desk(in_register(cast, cast.supplier_staff)) == []
    confirm_key(third.key, by=deputy)
    assert on_desk(lead) == ["own_key_waits"]
    assert [key.pk for key in own_keys(lead.person, lead.organisation)] == [third.key.pk]
    third.key.refresh_from_db()
    assert third.key.confirmed_by == cast.supplier_deputy
    assert why(confirm_key, third.key, by=deputy) == "key.gone"


def test_nobody_confirms_their_own_key_nor_staff_nor_another_firm(cast, lead):
    passkey(lead)
    second = browser_key(lead).key
    assert why(confirm_key, second, by=lead) == "key.oneself"
    staff = in_register(cast, cast.supplier_staff)
    assert why(confirm_key, second, by=staff) == "key.confirmer"
    other = in_register(cast, cast.customer_lead)
    assert why(confirm_key, second, by=other) == "key.confirmer"
    assert Key.objects.get(pk=second.pk).is_pending


def test_who_may_confirm_is_named(cast, lead):
    """Other leads, deputies and administrators; a firm of one lead has nobody."""
    assert {one.person for one in confirmers(cast.supplier_lead, cast.firms["supp"])} == {
        cast.supplier_deputy,
        cast.supplier_admin,
    }
    assert confirmers(cast.customer_lead, cast.firms["cust"]) == []


def test_a_key_is_enrolled_once(lead, cast):
    made, challenge = BrowserKey(), new_challenge()
    answer = (made.public_key(), made.wrapped(), made.possession(challenge), challenge)
    enrol_key(lead, new=check_browser_key(*answer))
    assert why(enrol_key, lead, new=check_browser_key(*answer)) == "key.known"


def test_who_revokes(cast, lead):
    """The holder, and a lead or administrator of the same firm; once."""
    deputy = in_register(cast, cast.supplier_deputy)
    admin = in_register(cast, cast.supplier_admin)
    held, other = passkey(lead).key, passkey(deputy).key
    assert why(revoke_key, held, by=deputy) == "key.revoker"
    assert why(revoke_key, held, by=in_register(cast, cast.customer_lead)) == "key.revoker"
    revoke_key(held, by=admin, reason="Asked by telephone")
    revoke_key(other, by=deputy)
    assert why(revoke_key, other, by=deputy) == "key.gone"
    held.refresh_from_db()
    assert (held.revoked_by, held.revoked_reason) == (cast.supplier_admin, "Asked by telephone")


# The pages.


def at(cast, name, firm="supp"):
    """An address in a firm's register."""
    return reverse(name, kwargs={"dossier": cast.registers[firm].pk})


def first_step(client, cast, sort, **more):
    """What the page asks of the browser."""
    form = {"sort": sort, "password": PASSWORD, **more}
    answer = client.post(at(cast, "parties:enrol-key"), form)
    assert answer.status_code == 200, answer.context["form"].errors
    return answer.context["asked"], answer


def test_both_sorts_are_enrolled_on_the_page(cast, sign_in):
    """In two steps; the keys stand on the page with their fingerprints."""
    client = sign_in(cast.supplier_lead)
    url = at(cast, "parties:enrol-key")
    asked, page = first_step(client, cast, "passkey")
    assert "JavaScript" in page.content.decode()
    made = SoftAuthenticator().create(unb64u(asked["options"]["challenge"]))
    answer = client.post(url, {"prepared": asked["prepared"], "credential": made})
    assert answer.status_code == 302, answer.context["form"].errors
    asked, _page = first_step(client, cast, "browser-held")
    key, challenge = BrowserKey(), asked["challenge"]
    sent = {
        "prepared": asked["prepared"],
        "public_key": key.public_key(),
        "wrapped": key.wrapped(),
        "possession": key.possession(challenge),
    }
    assert client.post(url, sent).status_code == 302
    page = client.get(at(cast, "parties:keys")).content.decode()
    for one in Key.objects.all():
        assert one.fingerprint in page
    assert "waits for a second person" in page
    assert Key.objects.pending().count() == 1


def test_the_password_is_asked_before_anything(cast, sign_in):
    answer = sign_in(cast.supplier_lead).post(
        at(cast, "parties:enrol-key"), {"sort": "passkey", "password": "wrong"}
    )
    assert answer.status_code == 422
    assert "prepared" not in answer.content.decode().split("name=")[-1]


def test_the_answer_to_another_challenge_enrols_nothing(cast, sign_in):
    client = sign_in(cast.supplier_lead)
    first, _page = first_step(client, cast, "passkey")
    second, _page = first_step(client, cast, "passkey")
    made = SoftAuthenticator().create(unb64u(first["challenge"]))
    sent = {"prepared": second["prepared"], "credential": made}
    answer = client.post(at(cast, "parties:enrol-key"), sent)
    assert answer.status_code == 422
    assert not Key.objects.exists()


def test_an_address_of_numbers_says_why_there_are_no_passkeys(cast, sign_in, settings):
    settings.PUBLIC_URL = "http://127.0.0.1:8000"
    form = {"sort": "passkey", "password": PASSWORD}
    answer = sign_in(cast.supplier_lead).post(at(cast, "parties:enrol-key"), form)
    assert answer.status_code == 422
    assert "reached by a number (127.0.0.1)" in answer.content.decode()


def test_a_second_person_confirms_on_their_own_page(cast, sign_in, lead):
    """They see the whole fingerprint; then the key may sign."""
    passkey(lead)
    second = browser_key(lead).key
    client = sign_in(cast.supplier_admin)
    assert second.fingerprint in client.get(at(cast, "parties:keys")).content.decode()
    url = at(cast, "parties:confirm-key")
    assert second.fingerprint in client.get(url).content.decode()
    wrong = client.post(url, {"key": str(second.pk), "password": "wrong"})
    assert wrong.status_code == 422
    done = client.post(url, {"key": str(second.pk), "password": PASSWORD})
    assert done.status_code == 302
    assert own_keys(lead.person, lead.organisation)[0] == second


def test_a_firm_without_a_second_person_is_told_what_to_do(cast, sign_in):
    """The customer's lead is alone: an administrator can be invited."""
    passkey(in_register(cast, cast.customer_lead))
    page = sign_in(cast.customer_lead).get(at(cast, "parties:enrol-key", "cust"))
    assert "Your firm has nobody who may confirm it" in page.content.decode()
    Membership.objects.filter(person=cast.customer_colleague).update(role="administrator")
    page = sign_in(cast.customer_lead).get(at(cast, "parties:enrol-key", "cust"))
    assert cast.customer_colleague.name in page.content.decode()


def test_pages_hold_no_private_part(cast, sign_in, lead):
    """The wrapped form goes to its holder alone, when they sign."""
    held = browser_key(lead)
    for who in (cast.supplier_lead, cast.supplier_admin):
        page = sign_in(who).get(at(cast, "parties:keys")).content.decode()
        assert held.key.wrapped["data"] not in page
        assert base64.b64encode(bytes(held.key.certificate)).decode() not in page
    assert json.dumps(held.key.wrapped)


# What is said, to whom.


def enrol_on_page(client, cast, firm="supp", **more):
    """A key in the browser enrolled on the page; what the next page says."""
    url = at(cast, "parties:enrol-key", firm)
    form = {"sort": "browser-held", "password": PASSWORD, **more}
    asked = client.post(url, form).context["asked"]
    key = BrowserKey()
    sent = {
        "prepared": asked["prepared"],
        "public_key": key.public_key(),
        "wrapped": key.wrapped(),
        "possession": key.possession(asked["challenge"]),
    }
    page = client.post(url, sent, follow=True)
    return [str(one) for one in page.context["messages"]]


def test_whoever_enrols_is_told_who_must_confirm(cast, sign_in, lead):
    client = sign_in(cast.supplier_lead)
    assert enrol_on_page(client, cast) == ["The key is enrolled and may sign."]
    [said] = enrol_on_page(client, cast)
    deputy, admin = cast.supplier_deputy.name, cast.supplier_admin.name
    assert f"{deputy} (deputy)" in said and f"{admin} (administrator)" in said
    assert "signs nothing yet" in said
    alone = sign_in(cast.customer_lead)
    enrol_on_page(alone, cast, "cust")
    [said] = enrol_on_page(alone, cast, "cust")
    assert "there is nobody who may" in said
    page = alone.get(at(cast, "parties:enrol-key", "cust")).content.decode()
    assert f'<a href="{at(cast, "parties:people", "cust")}">People of the firm</a>' in page


def test_a_waiting_key_stands_on_the_desk_of_all_who_may_confirm_it(cast, sign_in, lead):
    passkey(lead)
    waiting = browser_key(lead).key
    address = f"{at(cast, 'parties:confirm-key')}?key={waiting.pk}"
    people = ["supplier_deputy", "supplier_admin", "supplier_lead", "supplier_staff"]
    people += ["customer_lead", "auditor", "stranger"]
    told = []
    for who in people:
        client = sign_in(getattr(cast, who))
        shown = [one for one in client.get("/").context["waiting"] if one.url == address]
        told += [who] * len(shown)
        if shown:
            assert waiting.fingerprint in client.get(address).content.decode()
    assert told == ["supplier_deputy", "supplier_admin"]
    confirm_key(waiting, by=in_register(cast, cast.supplier_admin))
    assert address not in sign_in(cast.supplier_deputy).get("/").content.decode()


def test_the_services_key_is_replaced_unless_something_else_is_chosen(cast, sign_in, lead):
    """Chosen beforehand; it ends at once where nobody has to confirm."""
    service = key_of(lead.person, lead.organisation)
    client = sign_in(cast.supplier_lead)
    form = client.get(at(cast, "parties:enrol-key")).context["form"]
    assert form["replaces"].value() == str(service.pk)
    enrol_on_page(client, cast, replaces=str(service.pk))
    service.refresh_from_db()
    [own] = own_keys(lead.person, lead.organisation)
    assert service.revoked_at and own.replaces == service


def test_the_services_key_that_signed_ends_when_the_own_one_is_confirmed(cast, sign_in, lead):
    """Until then it signs. What the second person reads says that it ends, and only then."""
    service = key_of(lead.person, lead.organisation)
    first = browser_key(lead)
    second = browser_key(lead, replaces=service)
    service.refresh_from_db()
    assert second.key.is_pending and service.revoked_at is None
    url = at(cast, "parties:confirm-key")
    client = sign_in(cast.supplier_admin)
    assert "The key that it replaces ends" in client.get(url).content.decode()
    confirm_key(second.key, by=in_register(cast, cast.supplier_admin))
    service.refresh_from_db()
    assert service.revoked_at is not None
    assert browser_key(lead).key.is_pending
    assert "that it replaces ends" not in client.get(url).content.decode()
    assert first.key in own_keys(lead.person, lead.organisation)


def test_a_revoked_key_of_the_service_is_asked_for_on_the_page(cast, sign_in, lead):
    """Offered only then; no browser has a part in it; a second person is named."""
    client, url = sign_in(cast.supplier_lead), at(cast, "parties:enrol-key")
    sent = {"sort": "service-held", "password": PASSWORD}
    key_of(lead.person, lead.organisation)
    assert client.post(url, sent).status_code == 422
    revoke_key(Key.objects.get(), by=lead)
    assert "in the place of the one that was revoked" in client.get(url).content.decode()
    page = client.post(url, sent, follow=True)
    assert "signs nothing yet" in str(next(iter(page.context["messages"])))
    assert [key.assurance for key in Key.objects.pending()] == ["service-held"]


def test_staff_are_offered_a_key_only_where_they_sign(cast, sign_in):
    """Staff in the firm may be a deputy in an agreement."""
    client = sign_in(cast.supplier_staff)
    keys, enrol = at(cast, "parties:keys"), at(cast, "parties:enrol-key")
    page = client.get(keys).content.decode()
    assert enrol not in page and "so that you need no key" in page
    assert "nothing yet that a key of yours would sign" in client.get(enrol).content.decode()
    Sitter.objects.filter(person=cast.supplier_staff, dossier=cast.agreement).update(role="deputy")
    page = client.get(keys).content.decode()
    assert enrol in page and "so that you need no key" not in page
    assert "nothing yet that a key" not in client.get(enrol).content.decode()
