"""A firm's seal: the installation's certificate or its own, from a PKCS#12 file (RFC 7292)."""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta

import pytest
from asn1crypto.pkcs12 import Pfx
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.x509.oid import ExtendedKeyUsageOID
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import DatabaseError, IntegrityError, transaction
from django.urls import reverse

from jobs import pkcs12
from ledger import clock
from ledger.canonical import digest
from parties.keys import installation
from parties.models import SealKey
from parties.refusal import Refusal
from parties.seals import key_for, own_key, service_key, signer_of
from parties.transitions.seals import seal_by_installation, take_own_certificate
from tests.certificates import DAY, own_certificate
from tests.world import World

pytestmark = pytest.mark.django_db
PASSWORD = "an invented file password"


@pytest.fixture
def by(cast):
    return World(cast).by(cast.supplier_lead, "supp")


def take(by, file: bytes, password: str = PASSWORD) -> SealKey:
    upload = SimpleUploadedFile("seal.p12", file)
    return take_own_certificate(by.dossier, by=by, upload=upload, file_password=password)


def test_the_installation_seals_until_a_firm_brings_its_own_and_again_after(by):
    firm = by.organisation
    issued = key_for(firm)
    certificate = x509.load_der_x509_certificate(bytes(issued.certificate))
    certificate.verify_directly_issued_by(
        x509.load_der_x509_certificate(bytes(installation().certificate))
    )
    assert f"Seal of {firm.name}" in issued.name and issued.issuer == "installation"
    made = own_certificate(PASSWORD)
    own = take(by, made.file)
    assert key_for(firm) == own and own.fingerprint == digest(made.certificate)
    signer = signer_of(own)
    assert signer.certificate == made.certificate and signer.chain == (made.root,)
    assert own.entered_by == by.person
    seal_by_installation(by.dossier, by=by)
    assert key_for(firm) == issued and own_key(firm) is None
    with pytest.raises(Refusal) as refused:
        seal_by_installation(by.dossier, by=by)
    assert refused.value.id == "seal.no_own"


def test_another_own_certificate_retires_the_first(by):
    first = take(by, own_certificate(PASSWORD).file)
    second = take(by, own_certificate(PASSWORD).file)
    first.refresh_from_db()
    assert first.retired_at is not None and key_for(by.organisation) == second
    assert SealKey.objects.filter(organisation=by.organisation, issuer="own").count() == 2


def test_the_same_file_may_be_brought_again_after_going_back(by):
    made = own_certificate(PASSWORD)
    first = take(by, made.file)
    seal_by_installation(by.dossier, by=by)
    again = take(by, made.file)
    assert again.pk != first.pk and again.fingerprint == first.fingerprint
    assert signer_of(again).key == signer_of(first).key


def test_neither_key_nor_password_is_stored_in_the_clear(by):
    key = take(by, own_certificate(PASSWORD).file)
    private = signer_of(key).key
    for column in SealKey._meta.concrete_fields:
        stored = getattr(key, column.attname)
        stored = stored if isinstance(stored, bytes) else str(stored).encode()
        assert private not in stored and PASSWORD.encode() not in stored
    assert bytes(key.sealed) != private and len(bytes(key.sealed)) > len(private)


NOW = datetime.now(UTC).replace(microsecond=0)
REFUSED = {
    "another password": ("seal.closed", lambda: own_certificate("another one").file),
    "no PKCS#12 file": ("seal.closed", lambda: b"-----BEGIN CERTIFICATE-----"),
    "empty": ("seal.size", lambda: b""),
    "too large": ("seal.size", lambda: own_certificate(PASSWORD).file + bytes(pkcs12.MAX_BYTES)),
    "no certificate": (
        "seal.empty",
        lambda: own_certificate(PASSWORD, with_certificate=False).file,
    ),
    "an RSA key": (
        "seal.key",
        lambda: own_certificate(PASSWORD, key=rsa.generate_private_key(65537, 2048)).file,
    ),
    "P-384": (
        "seal.key",
        lambda: own_certificate(PASSWORD, key=ec.generate_private_key(ec.SECP384R1())).file,
    ),
    "expired": (
        "seal.validity",
        lambda: own_certificate(PASSWORD, start=NOW - 30 * DAY, days=10).file,
    ),
    "not yet valid": ("seal.validity", lambda: own_certificate(PASSWORD, start=NOW + DAY).file),
    "not for signing": ("seal.use", lambda: own_certificate(PASSWORD, usage=False).file),
    "an authority": ("seal.use", lambda: own_certificate(PASSWORD, authority=True).file),
    "for servers alone": (
        "seal.use",
        lambda: own_certificate(PASSWORD, purposes=[ExtendedKeyUsageOID.SERVER_AUTH]).file,
    ),
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_cannot_seal_is_refused_and_nothing_changes(by, what):
    id, make = REFUSED[what]
    kept = take(by, own_certificate(PASSWORD).file)
    with pytest.raises(Refusal) as refused:
        take(by, make())
    assert refused.value.id == id and str(refused.value)
    assert own_key(by.organisation) == kept and SealKey.objects.count() == 1


def test_a_file_without_a_password_opens_with_none(by):
    assert take(by, own_certificate("").file, "").issuer == "own"


def test_a_certificate_for_documents_is_taken_whatever_else_it_is_for(by):
    purposes = [ExtendedKeyUsageOID.SERVER_AUTH, ExtendedKeyUsageOID.EMAIL_PROTECTION]
    assert take(by, own_certificate(PASSWORD, purposes=purposes).file).issuer == "own"


def test_a_file_that_asks_for_endless_work_is_given_up():
    """2³¹ − 1 rounds for the key of its MAC, where RFC 7292 (appendix B) leaves the number open."""
    hostile = Pfx.load(own_certificate(PASSWORD).file)
    hostile["mac_data"]["iterations"] = 2**31 - 1
    began = time.monotonic()
    with pytest.raises(pkcs12.Pkcs12Error) as refused:
        pkcs12.opened(hostile.dump(force=True), PASSWORD)
    assert refused.value.id == "limits"
    assert time.monotonic() - began < 3 * pkcs12.SECONDS


def test_an_own_certificate_that_ended_leaves_the_seal_to_the_installation(by, monkeypatch, cast):
    own = take(by, own_certificate(PASSWORD, days=30).file)
    later = clock.now() + timedelta(days=60)
    monkeypatch.setattr("ledger.clock.now", lambda: later)
    assert key_for(by.organisation).issuer == "installation"
    assert own_key(by.organisation) == own


def test_an_expired_service_certificate_is_made_anew(db, monkeypatch):
    first = service_key()
    assert service_key() == first
    later = clock.now() + timedelta(days=4 * 365)
    monkeypatch.setattr("ledger.clock.now", lambda: later)
    second = service_key()
    assert second != first and second.expires_at > later
    assert SealKey.objects.filter(organisation=None, retired_at=None).get() == second


def test_there_is_one_key_in_use_of_each_sort(by):
    key = key_for(by.organisation)
    key.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        key.save(force_insert=True)
    with pytest.raises(DatabaseError), transaction.atomic():
        SealKey.objects.update(fingerprint="0" * 64)


def test_only_keepers_of_the_register_change_the_seal(cast):
    staff = World(cast).by(cast.supplier_staff, "supp")
    with pytest.raises(Refusal) as refused:
        take(staff, own_certificate(PASSWORD).file)
    assert refused.value.id == "seal.keeper"


def test_the_page_says_which_certificate_seals_and_until_when(by, sign_in, cast):
    client = sign_in(cast.supplier_lead)
    url = reverse("parties:seal", args=[by.dossier.pk])
    page = client.get(url).content.decode()
    assert "None yet: it is made when the first PDF is sealed" in page
    assert not SealKey.objects.exists()  # looking makes none
    issued = key_for(by.organisation)
    assert issued.fingerprint in client.get(url).content.decode()
    made = own_certificate(PASSWORD)
    answer = client.post(
        reverse("parties:own-seal", args=[by.dossier.pk]),
        {"upload": SimpleUploadedFile("s.p12", made.file), "file_password": PASSWORD},
        follow=True,
    )
    page = answer.content.decode()
    assert answer.redirect_chain[0][0] == url
    assert digest(made.certificate) in page and issued.fingerprint not in page
    assert "seals today" in page and by.person.name in page
    client.post(reverse("parties:installation-seal", args=[by.dossier.pk]))
    page = client.get(url).content.decode()
    assert issued.fingerprint in page and "Earlier ones" in page


def test_a_wrong_password_is_said_at_its_field_and_the_password_is_not_given_back(
    by, sign_in, cast
):
    client = sign_in(cast.supplier_lead)
    upload = SimpleUploadedFile("s.p12", own_certificate("another").file)
    answer = client.post(
        reverse("parties:own-seal", args=[by.dossier.pk]),
        {"upload": upload, "file_password": PASSWORD},
    )
    assert answer.status_code == 422
    assert "does not open" in answer.content.decode()
    assert PASSWORD not in answer.content.decode()


def test_a_certificate_of_another_key_is_refused_and_one_that_the_verifier_would_not_read(by):
    """The library's writer makes no such files: the parts are handed over as if opened."""
    made, other = own_certificate(PASSWORD), own_certificate(PASSWORD)
    opened = pkcs12.opened(made.file, PASSWORD)
    for certificate, id in (
        (other.certificate, "seal.pair"),
        (made.certificate + b"x", "seal.form"),
    ):
        odd = pkcs12.Opened(opened.key, certificate, ())
        with pytest.MonkeyPatch.context() as planted, pytest.raises(Refusal) as refused:
            planted.setattr("jobs.pkcs12.opened", lambda *_given, odd=odd: odd)
            take(by, made.file)
        assert refused.value.id == id
    assert not SealKey.objects.exists()
