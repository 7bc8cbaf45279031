"""An observer's score is seen by the own quality lead and the observer, and nowhere else."""

from __future__ import annotations

import datetime as dt

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import get_resolver, reverse

from jobs.models import Job, Mail
from ledger.models import Entry
from parties.models import Observer
from parties.refusal import Refusal
from parties.transitions import enter, open_dossier_chain, supersede

SCORE = 1793  # a number that appears nowhere by chance
OTHERS = (
    "supplier_deputy",
    "supplier_staff",
    "supplier_admin",
    "customer_lead",
    "customer_colleague",
    "customer_observer",
    "auditor",
    "stranger",
)


@pytest.fixture
def record(cast):
    """Ada's record with a planted score."""
    by = cast.capacity(cast.supplier_lead, cast.registers["supp"])
    return enter(
        Observer,
        by=by,
        name="Ada Finch",
        person=cast.supplier_observer,
        score=SCORE,
        tested_on=dt.date(2026, 1, 17),
        correction="worn",
        scan=SimpleUploadedFile("sheet.pdf", b"score 1793", "application/pdf"),
    )


def pages(record):
    """Every page and call of the register that takes the row or the dossier alone."""
    kwargs = {"dossier": record.dossier_id}
    for space in ("parties", "parties-api"):
        names = get_resolver().namespace_dict[space][1].reverse_dict.keys()
        for name in names:
            if not isinstance(name, str):
                continue
            for extra in ({}, {"pk": record.pk}):
                try:
                    yield reverse(f"{space}:{name}", kwargs=kwargs | extra)
                except Exception:  # noqa: S112 - takes other arguments
                    continue


@pytest.mark.parametrize("who", OTHERS)
def test_no_page_shows_it_to_others(cast, record, sign_in, who):
    """All of the register's addresses, read and written to, as everybody else."""
    client = sign_in(getattr(cast, who))
    seen = list(pages(record))
    assert any(url.endswith(f"/observer/{record.pk}/scan/") for url in seen)
    for url in seen:
        for answer in (client.get(url), client.post(url, {"score": "x"})):
            body = b"".join(answer) if answer.streaming else answer.content
            assert str(SCORE).encode() not in body, url
            assert b"2026-01-17" not in body, url
            assert b"Jan. 17, 2026" not in body, url


@pytest.mark.parametrize(
    ("who", "status"), [("supplier_lead", 200), ("supplier_observer", 200), ("supplier_staff", 403)]
)
def test_the_lead_and_the_observer_see_it(cast, record, sign_in, who, status):
    """On the page of the record, and its scan."""
    client = sign_in(getattr(cast, who))
    page = client.get(record.get_absolute_url())
    assert (str(SCORE) in page.content.decode()) == (status == 200)
    kwargs = {"dossier": record.dossier_id, "pk": record.pk}
    scan = client.get(reverse("parties:observer-scan", kwargs=kwargs))
    assert scan.status_code == status
    if status == 200:
        assert scan["Content-Disposition"].startswith("attachment")


def test_an_observer_sees_no_other_record(cast, record, sign_in):
    """403 for a colleague's record; the lists are closed to them."""
    by = cast.capacity(cast.supplier_lead, cast.registers["supp"])
    other = enter(Observer, by=by, name="Somebody Else", score=SCORE)
    client = sign_in(cast.supplier_observer)
    assert client.get(other.get_absolute_url()).status_code == 403
    kwargs = {"dossier": record.dossier_id}
    assert client.get(reverse("parties:observers", kwargs=kwargs)).status_code == 403


@pytest.mark.parametrize("who", ["supplier_staff", "supplier_deputy", "supplier_observer"])
def test_only_the_lead_writes_it(cast, record, who):
    """Refused by the transition too, not by the page alone."""
    by = cast.capacity(getattr(cast, who), cast.registers["supp"])
    with pytest.raises(Refusal):
        supersede(record, by=by, score=2)
    with pytest.raises(Refusal):
        enter(Observer, by=by, name="x", score=2)


def test_it_is_in_no_entry_job_mail_or_log(cast, record, caplog):
    """Neither when it is entered nor when a chain begins afterwards."""
    open_dossier_chain(cast.agreement, cast.capacity(cast.supplier_lead))
    written = [bytes(entry.payload_bytes) for entry in Entry.objects.all()]
    written += [repr(job.params).encode() for job in Job.objects.all()]
    written += [mail.body.encode() for mail in Mail.objects.all()]
    written.append(caplog.text.encode())
    assert not any(str(SCORE).encode() in one for one in written)


def test_a_scan_is_a_document(cast, sign_in):
    """A program is refused as a scan, and what was typed stays on the page."""
    client = sign_in(cast.supplier_lead)
    url = reverse("parties:enter-observer", kwargs={"dossier": cast.registers["supp"].pk})
    scan = SimpleUploadedFile("sheet.html", b"<script>", "text/html")
    page = client.post(url, {"name": "Ada", "valid_from": "2026-01-01", "scan": scan})
    assert page.status_code == 422
    assert 'value="Ada"' in page.content.decode()
    assert not Observer.objects.exists()
