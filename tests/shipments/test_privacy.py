"""A private score and what goes with it: the own lead sees it, and nobody else, anywhere."""

from __future__ import annotations

import base64
import datetime as dt
import io
import json
import logging
import re
import zipfile
from functools import cache

import pytest
from django.apps import apps
from django.core import mail
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from pypdf import PdfReader

from desk.records import ask_for_record, path_of
from disputes import transitions as disputing
from jobs import queue
from jobs.models import Job, Mail
from ledger import blobs
from ledger.canonical import parse
from parties.models import Observer
from shipments import transitions as shipping
from shipments.models import Lot, Verdict, VerdictPaper
from tests.cast import Cast
from tests.kept import kept
from tests.shipments.crawl import opened
from tests.world import World, make_world

LANGUAGES = ["en", "zh-hans"]
NEEDLES = {
    # On its own: digests, keys and times hold every four digits by chance.
    "score": re.compile(rb"(?<![0-9A-Za-z+/=_.-])1787(?![0-9A-Za-z+/=_-])"),
    "words of the sheet": re.compile(rb"zebra", re.IGNORECASE),
    "name": re.compile(rb"Quillon", re.IGNORECASE),
    "private reason": re.compile(rb"score_exceeds|exceeds 1?\d\b"),
}
BASE64 = re.compile(rb"[A-Za-z0-9+/_-]{24,}={0,2}")


def found(data: bytes, names: set[str] | None = None) -> set[str]:
    """Which needles are in these bytes: plain, in PDF text and attachments, in zips, in base64."""
    hits = set(searched(data))
    return hits & names if names else hits


@cache  # eight people open the same PDFs and records
def searched(data: bytes, deep: int = 0) -> frozenset[str]:
    """All needles in these bytes, and in what is packed into them."""
    hits = {name for name, needle in NEEDLES.items() if needle.search(data)}
    if deep < 3:
        for one in inside(data):
            hits |= searched(one, deep + 1)
    return frozenset(hits)


def inside(data: bytes):
    """What is packed into these bytes."""
    # A random token, read as base64, may begin like an archive without being one.
    if data.startswith(b"PK") and zipfile.is_zipfile(io.BytesIO(data)):
        with zipfile.ZipFile(io.BytesIO(data)) as opened_zip:
            yield from (opened_zip.read(info) for info in opened_zip.infolist())
            yield from (info.filename.encode() for info in opened_zip.infolist())
    elif data.startswith(b"%PDF-1"):
        reader = PdfReader(io.BytesIO(data))
        yield from (page.extract_text().encode() for page in reader.pages)
        yield from (one for many in reader.attachments.values() for one in many)
        yield repr(reader.metadata).encode()
    else:
        for text in BASE64.findall(data):
            plain = text.rstrip(b"=")
            plain = plain[: len(plain) - (len(plain) % 4 == 1)]
            yield base64.b64decode(plain + b"=" * (-len(plain) % 4), altchars=b"-_")


def test_the_search_finds_what_is_hidden():
    """In a zip in base64, in JSON, beside digests; and no four digits of a digest."""
    assert found(b'{"score": 1787}') == {"score"}
    assert found(b"ab1787cd 0.1787 17871") == set()
    box = io.BytesIO()
    with zipfile.ZipFile(box, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("x", b"a zebra of 1787, " * 20)
    assert found(box.getvalue()) == {"score", "words of the sheet"}
    assert "score" in found(base64.b64encode(b"the score of mine is 1787 indeed"))
    assert found(base64.b64encode(b"PK and the rest of a random token")) == set()


@pytest.fixture
def apart(settings, tmp_path) -> None:
    """What the service writes lies in a folder of this test."""
    (tmp_path / "fonts").symlink_to(settings.VAR_DIR / "fonts")
    settings.VAR_DIR = tmp_path


@pytest.fixture
def planted(cast, apart) -> World:
    """A world in which a judgement of somebody with that score was handed in and rejected."""
    return kept("planted", lambda: plant(cast), cast)


@pytest.fixture
def planted_and_logged(cast, apart, caplog) -> World:
    """The same, played before the eyes of whoever reads the log."""
    caplog.set_level(logging.DEBUG)
    return plant(cast)


def plant(cast: Cast) -> World:
    """Play it: papers in both languages for the lot in question, none for what comes before."""
    with pytest.MonkeyPatch.context() as quick:
        quick.setattr("jobs.pdf.render", lambda *_args, **_more: b"%PDF- (not typeset)")
        world = make_world(cast)
        by = world.by(cast.supplier_lead, "supp")
        weak = world.observer(
            by,
            "Quillon Zebra",
            score=1787,
            earlier_score=1787,
            earlier_tested_on=world.today - dt.timedelta(days=900),
            scan=SimpleUploadedFile("zebra-sheet.pdf", b"the zebra scored 1787", "application/pdf"),
        )
        world.received_lot("L-0")
    lot = world.open_lot()
    world.measure(world.staff, lot.subject, [("1", [0.5] * 31), ("2", [0.5] * 31)])
    world.sit(world.staff, lot.subject, dict.fromkeys("12", "accept"), [
        weak, world.observers["supp"][0],
    ])  # fmt: skip
    shipping.submit_lot(lot, by=world.staff)
    queue.drain()
    world.lot, world.weak = lot, weak
    return world


@pytest.mark.slow
def test_a_judgement_that_does_not_count_is_kept_and_says_so_publicly(planted):
    verdict = Verdict.objects.get(submission__lot=planted.lot)
    value = parse(bytes(verdict.bytes))
    said = value["visual"]["judgements"]
    uncounted = [one for one in said if not one["counted"]]
    counted = [one for one in said if one["counted"]]
    assert {one["specimen"] for one in uncounted} == {"1", "2"} == {o["specimen"] for o in counted}
    assert len({one["observer"] for one in uncounted}) == 1
    for one in uncounted:
        assert one["qualified"] is False and one["outcome"] == "accept"
        assert [reason["id"] for reason in one["reasons"]] == ["observer_not_qualified"]
        assert one["reasons"][0]["params"] == {"day": planted.today.isoformat()}
    assert value["outcome"] == "incomplete"
    assert [(s["accepts"], s["rejects"]) for s in value["visual"]["specimens"]] == [(1, 0)] * 2


@pytest.mark.slow
def test_the_own_lead_sees_it(planted, sign_in):
    client = sign_in(planted.cast.supplier_lead)
    page = client.get(planted.weak.get_absolute_url()).content
    assert found(page) >= {"score", "words of the sheet", "name"}
    kwargs = {"dossier": planted.weak.dossier_id, "pk": planted.weak.pk}
    scan = client.get(reverse("parties:observer-scan", kwargs=kwargs))
    assert found(scan.content) == {"score", "words of the sheet"}


# who → how many addresses they can open at least, so that no crawl goes nowhere unnoticed
OTHERS = {
    "customer_lead": 60,
    "customer_observer": 3,
    "auditor": 60,
    "supplier_staff": 60,
    "supplier_deputy": 60,
    "supplier_observer": 4,
    "supplier_admin": 4,
    "stranger": 4,
}


@pytest.mark.slow
@pytest.mark.parametrize("language", LANGUAGES)
def test_nobody_else_can_open_it(planted, sign_in, language):
    ask_for_record(planted.cast.agreement, by=planted.by(planted.cast.auditor))
    queue.drain()
    for who, least in OTHERS.items():
        # Within the firm a colleague is known by name: whoever enters judgements chooses it.
        own = who.startswith("supplier")
        forbidden = {"score", "private reason"}
        forbidden |= set() if own else {"words of the sheet", "name"}
        number = 0
        for url, _kind, body in opened(sign_in(getattr(planted.cast, who)), language):
            assert not found(body, forbidden), (who, url)
            number += 1
        assert number >= least, f"{who}: {number} pages only"


@pytest.mark.slow
def test_it_is_in_no_record_mail_job_log_or_other_table(planted_and_logged, caplog):
    planted = planted_and_logged
    dispute = disputing_lot(planted)
    assert dispute.status == "raised"
    copy = ask_for_record(planted.cast.agreement, by=planted.by(planted.cast.auditor))
    queue.drain()
    record = path_of(copy).read_bytes()
    assert record.count(b"judgement") and not found(record)
    papers = VerdictPaper.objects.filter(verdict__submission__lot=planted.lot)
    assert sorted(paper.language for paper in papers) == LANGUAGES
    with zipfile.ZipFile(io.BytesIO(record)) as opened_zip:
        assert len(opened_zip.namelist()) > 40
    sent = [message.message().as_bytes() for message in mail.outbox]
    assert sent and not any(map(found, sent))
    assert not any(found(repr(row.__dict__).encode()) for row in Mail.objects.all())
    assert not any(found(repr(row.__dict__).encode()) for row in Job.objects.all())
    assert not found(caplog.text.encode())
    for model in apps.get_models():
        if model is Observer:
            continue
        for row in model._default_manager.all():
            assert not found(dumped(row)), (model, row.pk)


def dumped(row) -> bytes:
    """Every column of a row, bytes as they are."""
    parts = []
    for field in row._meta.concrete_fields:
        value = getattr(row, field.attname)
        if isinstance(value, memoryview | bytes):
            parts.append(bytes(value))
        else:
            parts.append(json.dumps(value, default=str, ensure_ascii=False).encode())
    return b"\n".join(parts)


def disputing_lot(world):
    """A rejection of the other lot, so that mails and a thread exist as well."""
    lot = Lot.objects.get(number="L-0")
    world.gather(world.by(world.cast.customer_colleague), lot.subject, 0.08, "reject")
    return disputing.reject(
        lot, by=world.customer, clause="tolerances", compared_with="target", specimens=["1"],
        text="Darker.", contained={},
    )  # fmt: skip


@pytest.mark.slow
def test_the_papers_name_the_judgement_and_not_the_score(planted):
    for paper in VerdictPaper.objects.filter(verdict__submission__lot=planted.lot):
        check_paper(paper)


def check_paper(paper: VerdictPaper) -> None:
    data = blobs.get(paper.dossier.chain, paper.digest)
    assert data.startswith(b"%PDF") and not found(data)
    text = "".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)
    value = parse(bytes(paper.verdict.bytes))
    codes = {one["observer"] for one in value["visual"]["judgements"]}
    assert len(codes) == 2 and all(code in text for code in codes)
