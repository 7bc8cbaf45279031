"""The PDFs of signed terms: certified by the service, sealed for each side, prefixes, entries."""

from __future__ import annotations

import base64
import io
import re
import socket
import subprocess
import time

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from pypdf import PdfReader

from agreements import transitions
from agreements.models import Draft, TermsPaper
from agreements.paper import seal_papers, set_pages, signatures_of
from agreements.transitions.papers import PAPER
from jobs import fonts, pdfseal, queue
from jobs.models import Job, State
from ledger import blobs, chain
from ledger.canonical import digest, parse
from ledger.certificates import check_leaf
from ledger.kinds import Kind
from ledger.verify import verify
from method.terms.document import terms_bytes
from parties import seals
from parties.keys import installation
from parties.models import DocumentSeal, SealKey
from parties.refusal import Refusal
from parties.seals import key_for
from parties.signing import write_record
from parties.transitions.seals import take_own_certificate
from tests import needs
from tests.certificates import own_certificate
from tests.pdf.sealing import Authority, openssl_answers, responder
from tests.world import World, terms

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def one_language(settings):
    """Setting a PDF takes a second: one language will do, where nothing else is said."""
    fonts.set_up()
    settings.LANGUAGES = settings.LANGUAGES[:1]


@pytest.fixture
def agreed(cast) -> tuple[World, object]:
    """Terms that both sides agreed to; nobody has signed."""
    world = World(cast)
    draft = Draft.objects.create(
        dossier=cast.agreement, side_only="customer", terms=terms_bytes(terms("spectral"))
    )
    revision = transitions.propose(draft, by=world.customer)
    return world, transitions.agree(revision, by=world.supplier, digest=revision.digest)


def work() -> None:
    queue.drain()
    assert not Job.objects.filter(state=State.FAILED).exists()


def bytes_of(paper: TermsPaper) -> bytes:
    return blobs.get(paper.dossier.chain, paper.digest)


def papers_of(revision, language: str = "en") -> list[TermsPaper]:
    return list(TermsPaper.objects.filter(revision=revision, language=language).order_by("place"))


def roots() -> list[bytes]:
    return [bytes(installation().certificate)]


def signed_by_both(world: World, revision) -> list[TermsPaper]:
    transitions.sign(revision, by=world.customer, digest=revision.digest)
    work()
    transitions.sign(revision, by=world.supplier, digest=revision.digest)
    work()
    return papers_of(revision)


def test_each_signature_adds_a_seal_and_each_file_begins_with_the_one_before(agreed):
    world, revision = agreed
    transitions.sign(revision, by=world.customer, digest=revision.digest)
    work()
    (first,) = papers_of(revision)
    found = pdfseal.inspect(bytes_of(first), roots())
    assert [(one.field, one.certifies, one.holds, one.covers) for one in found] == [
        ("Service", True, True, "revision"),
        ("Customer", False, True, "file"),
    ]
    transitions.sign(revision, by=world.supplier, digest=revision.digest)
    work()
    again, second = papers_of(revision)
    assert again == first and bytes_of(second).startswith(bytes_of(first))
    found = pdfseal.inspect(bytes_of(second), roots())
    assert [(one.field, one.holds, one.covers) for one in found] == [
        ("Service", True, "revision"),
        ("Customer", True, "revision"),
        ("Supplier", True, "file"),
    ]
    assert "on behalf of" in found[1].reason and found[1].name == world.customer.organisation.name


def test_both_signatures_before_any_job_ran_give_the_same_two_files(agreed):
    world, revision = agreed
    transitions.sign(revision, by=world.supplier, digest=revision.digest)
    transitions.sign(revision, by=world.customer, digest=revision.digest)
    work()
    first, second = papers_of(revision)
    fields = [one.field for one in pdfseal.inspect(bytes_of(second), roots())]
    assert fields == ["Service", "Supplier", "Customer"]  # in the order in which they signed
    assert bytes_of(second).startswith(bytes_of(first))


def test_the_pages_are_set_byte_for_byte_the_same_whoever_signed_since(agreed):
    world, revision = agreed
    transitions.sign(revision, by=world.customer, digest=revision.digest)
    revision.refresh_from_db()
    pages = set_pages(revision, "en", signatures_of(revision)[0])
    transitions.sign(revision, by=world.supplier, digest=revision.digest)
    revision.refresh_from_db()
    assert set_pages(revision, "en", signatures_of(revision)[0]) == pages
    work()
    assert bytes_of(papers_of(revision)[1]).startswith(pages)


def test_the_terms_are_attached_as_they_were_signed(agreed):
    world, revision = agreed
    last = signed_by_both(world, revision)[-1]
    reader = PdfReader(io.BytesIO(bytes_of(last)))
    (attached,) = reader.attachments["terms.json"]
    assert attached == bytes(revision.terms) and digest(attached) == revision.digest


def test_the_entries_name_certificates_once_and_every_file(agreed, settings):
    settings.LANGUAGES = [*settings.LANGUAGES, ("zh-hans", "Simplified Chinese")]
    world, revision = agreed
    signed_by_both(world, revision)
    entries = list(chain.entries(revision.dossier.chain))
    certified = [one for one in entries if one.kind == Kind.SEAL_CERTIFIED]
    payloads = [one.payload for one in certified]
    assert [(one["side"], one["issuer"]) for one in payloads] == [
        ("system", "installation"),
        ("customer", "installation"),
        ("supplier", "installation"),
    ]
    for entry, payload in zip(certified, payloads, strict=True):
        der = base64.b64decode(payload["certificate"])
        assert digest(der) == payload["fingerprint"]
        check_leaf(roots()[0], der, entry.time)
        assert entry.actor == "system"
    sealed = [one for one in entries if one.kind == Kind.DOCUMENT_SEALED]
    assert len(sealed) == 2 * 2  # two languages, two signatures
    prints = [one["fingerprint"] for one in payloads]
    by_what: dict[str, list] = {}
    for entry in sealed:
        payload = entry.payload
        assert payload["shows"] == revision.digest and entry.blobs == [payload["digest"]]
        by_what.setdefault(payload["what"], []).append(payload)
    for first, second in by_what.values():
        assert first["seals"] == prints[:2] and "continues" not in first
        assert second["seals"] == prints and second["continues"] == first["digest"]
    rows = DocumentSeal.objects.filter(digest=by_what["revision/en"][1]["digest"])
    assert [one.side for one in rows.order_by("place")] == ["system", "customer", "supplier"]


def test_a_job_that_runs_again_seals_nothing_anew(agreed):
    world, revision = agreed
    signed_by_both(world, revision)
    head, count = chain.head(revision.dossier.chain), DocumentSeal.objects.count()
    revision.refresh_from_db()
    assert seal_papers(revision, "en") == papers_of(revision)
    assert chain.head(revision.dossier.chain) == head and DocumentSeal.objects.count() == count


def test_of_two_workers_at_the_same_file_the_first_ones_stands(agreed, monkeypatch):
    world, revision = agreed
    transitions.sign(revision, by=world.customer, digest=revision.digest)
    revision.refresh_from_db()
    certify, first = seals.certify, []

    def after_another(*given, **more):
        """While this worker seals, another one comes first and finishes."""
        if not first:
            first.append(None)
            first[:] = seal_papers(revision, "en")
        return certify(*given, **more)

    with monkeypatch.context() as planted:
        planted.setattr("parties.seals.certify", after_another)
        made = seal_papers(revision, "en")
    assert made == first and papers_of(revision) == first
    entries = chain.entries(revision.dossier.chain)
    assert entries.filter(kind=Kind.DOCUMENT_SEALED.value).count() == 1
    assert DocumentSeal.objects.count() == 2


def test_one_side_seals_with_its_own_certificate(agreed, tmp_path):
    """The outside judge is pdfsig (poppler-utils): it reads each seal and the whole as valid."""
    world, revision = agreed
    own = own_certificate("secret")
    take_own_certificate(
        world.cast.registers["supp"],
        by=world.by(world.cast.supplier_lead, "supp"),
        upload=SimpleUploadedFile("seal.p12", own.file),
        file_password="secret",
    )
    last = signed_by_both(world, revision)[-1]
    data = bytes_of(last)
    by_field = {one.field: one for one in pdfseal.inspect(data, [*roots(), own.root])}
    assert [one.holds for one in by_field.values()] == [True, True, True]
    assert by_field["Supplier"].fingerprint == digest(own.certificate)
    # Without the firm's own root the installation cannot vouch for that seal, and says so.
    known = {one.field: one.holds for one in pdfseal.inspect(data, roots())}
    assert known == {"Service": True, "Customer": True, "Supplier": False}
    entry = chain.entries(revision.dossier.chain).filter(kind=Kind.SEAL_CERTIFIED).last()
    assert entry.payload["issuer"] == "own" and entry.payload["side"] == "supplier"
    file = tmp_path / "terms.pdf"
    file.write_bytes(data)
    said = subprocess.run(
        [needs.program("pdfsig", "poppler-utils"), "-nocert", str(file)],
        capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    assert said.count("Signature is Valid.") == 3 and "Total document signed" in said
    assert "Quarrow document seal (invented)" in said
    with (tmp_path / "record.zip").open("wb") as out:
        write_record(revision.dossier.chain, out)
    report = verify(tmp_path / "record.zip", installation().fingerprint)
    assert report.findings == []


def test_the_page_lists_files_and_seals_to_both_sides_and_the_auditor(agreed, sign_in):
    world, revision = agreed
    last = signed_by_both(world, revision)[-1]
    for who in (world.cast.customer_lead, world.cast.supplier_staff, world.cast.auditor):
        client = sign_in(who)
        page = client.get(revision.get_absolute_url()).content.decode()
        url = reverse("agreements:paper", args=[revision.dossier_id, last.pk])
        assert url in page and "this service (no time stamp" in page
        assert "not the signatory&#x27;s own signature" in page or "signatory's own" in page
        links = re.findall(r'hreflang="[^"]+">([^<]+)</a>', page)
        assert (
            len(links)
            == len(set(links))
            == TermsPaper.objects.filter(revision=revision).count()
            > 1
        )
        assert any("sealed for both sides" in one for one in links)
        assert any("sealed for one side: customer" in one.lower() for one in links)
        answer = client.get(url)
        assert answer.content == bytes_of(last)
        assert "attachment" in answer.headers["Content-Disposition"]


def test_an_authority_that_cannot_be_reached_is_noted_and_blocks_nothing(agreed, settings, sign_in):
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        settings.TIMESTAMP_URL = f"http://127.0.0.1:{probe.getsockname()[1]}/"
    world, revision = agreed
    transitions.sign(revision, by=world.customer, digest=revision.digest)
    work()
    assert Job.objects.get(name=PAPER).result["stamps"] == ["unreachable", "unreachable"]
    (first,) = papers_of(revision)
    assert all(one.holds for one in pdfseal.inspect(bytes_of(first), roots()))
    page = sign_in(world.cast.customer_lead).get(revision.get_absolute_url()).content.decode()
    assert page.count("without a time stamp: the authority could not be reached") == 2


def test_a_time_stamp_is_told_on_the_page(agreed, settings, sign_in, tmp_path):
    stamps = Authority("Invented stamp root")
    answers = openssl_answers(needs.program("openssl", "openssl"), tmp_path, stamps)
    settings.TIMESTAMP_ROOTS = (stamps.der,)
    world, revision = agreed
    transitions.sign(revision, by=world.customer, digest=revision.digest)
    with responder(answers) as url:
        settings.TIMESTAMP_URL = url
        work()
    (first,) = papers_of(revision)
    found = pdfseal.inspect(bytes_of(first), roots(), stamp_roots=[stamps.der])
    assert all(one.holds and one.stamped_at for one in found) and len(found) == 2
    page = sign_in(world.cast.auditor).get(revision.get_absolute_url()).content.decode()
    assert page.count("(with a time stamp)") == 2


def test_what_failed_is_made_by_asking_again(agreed, monkeypatch):
    world, revision = agreed

    def broken(*_args, **_more):
        raise pdfseal.SealingError("planted")

    with monkeypatch.context() as planted:
        planted.setattr("jobs.pdfseal.countersign", broken)
        transitions.sign(revision, by=world.customer, digest=revision.digest)
        queue.drain()
    assert Job.objects.filter(name=PAPER, state=State.FAILED).count() == 1
    assert not papers_of(revision)
    assert not chain.entries(revision.dossier.chain).filter(kind=Kind.DOCUMENT_SEALED).exists()
    transitions.make_papers(revision, by=world.supplier)
    work()
    assert len(papers_of(revision)) == 1
    with pytest.raises(Refusal) as refused:
        transitions.make_papers(revision, by=world.supplier)
    assert refused.value.id == "nothing_failed"


def test_terms_signed_before_there_were_papers_get_them_by_asking(agreed):
    world, revision = agreed
    transitions.sign(revision, by=world.customer, digest=revision.digest)
    transitions.sign(revision, by=world.supplier, digest=revision.digest)
    Job.objects.filter(name=PAPER).delete()
    revision.refresh_from_db()
    transitions.make_papers(revision, by=world.customer)
    work()
    assert len(papers_of(revision)) == 2


def test_a_changed_name_asks_for_a_new_key_and_an_expired_one_too(cast):
    firm = cast.firms["supp"]
    first = key_for(firm)
    assert key_for(firm) == first
    type(firm).objects.filter(pk=firm.pk).update(name="Quarrow renamed (invented)")
    firm.refresh_from_db()
    second = key_for(firm)
    assert second != first and "renamed" in second.name
    assert SealKey.objects.get(pk=first.pk).retired_at is not None


def test_the_job_takes_seconds_not_minutes(agreed):
    world, revision = agreed
    transitions.sign(revision, by=world.customer, digest=revision.digest)
    began = time.process_time()
    work()
    # The worker's own share: typesetting is a child's. Two files with two seals each.
    assert time.process_time() - began < 5


def test_what_the_entry_names_is_the_statement_that_was_signed(agreed):
    world, revision = agreed
    signed_by_both(world, revision)
    said = [parse(bytes(one.statement))["digest"] for one in signatures_of(revision)]
    assert said == [revision.digest, revision.digest]


def test_the_timeline_says_which_pdf_was_sealed(agreed, sign_in):
    world, revision = agreed
    transitions.sign(revision, by=world.customer, digest=revision.digest)
    work()
    entry = chain.entries(revision.dossier.chain).filter(kind=Kind.DOCUMENT_SEALED.value).get()
    url = reverse("desk:entry", args=[revision.dossier_id, entry.number])
    page = sign_in(world.cast.auditor).get(url).content.decode()
    assert "A PDF was sealed" in page and "the terms as PDF, English" in page
