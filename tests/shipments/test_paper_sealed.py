"""The verdict's PDF as it is handed out: set, certified by the service once, listed on the page."""

from __future__ import annotations

import subprocess
from datetime import UTC

import pytest
from django.urls import reverse
from pypdf import PdfReader

from jobs import fonts, pdfseal, queue
from jobs.models import Job, State
from ledger import blobs, chain
from ledger.kinds import Kind
from parties.keys import installation
from parties.models import DocumentSeal
from shipments.models import VerdictPaper
from shipments.paper import make_paper, set_pages
from tests import needs
from tests.world import make_world

pytestmark = pytest.mark.django_db


@pytest.fixture
def paper(cast, settings, monkeypatch) -> VerdictPaper:
    """The PDF of one verdict in one language; the terms' own PDFs are left out."""
    fonts.set_up()
    settings.LANGUAGES = settings.LANGUAGES[:1]
    monkeypatch.setattr("agreements.transitions.signing.order_papers", lambda _revision: None)
    world = make_world(cast)
    submission = world.last_submission(world.judged_lot())
    queue.drain()
    assert not Job.objects.filter(state=State.FAILED).exists()
    return VerdictPaper.objects.get(verdict=submission.verdict)


def test_the_verdict_is_certified_by_the_service(paper, tmp_path, sign_in, cast):
    data = blobs.get(paper.dossier.chain, paper.digest)
    (seal,) = pdfseal.inspect(data, [bytes(installation().certificate)])
    assert seal.holds and seal.certifies and seal.covers == "file" and seal.field == "Service"
    file = tmp_path / "verdict.pdf"
    file.write_bytes(data)
    told = subprocess.run(
        [needs.program("pdfsig", "poppler-utils"), "-nocert", str(file)],
        capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    assert told.count("Signature is Valid.") == 1 and "Total document signed" in told
    attached = PdfReader(file).attachments
    assert attached["verdict.json"] == [bytes(paper.verdict.bytes)]
    assert attached["submission.json"] == [bytes(paper.verdict.submission.bytes)]
    row = DocumentSeal.objects.get(digest=paper.digest)
    assert row.side == "system" and row.key.fingerprint == seal.fingerprint
    assert row.sealed_at.astimezone(UTC).replace(microsecond=0) == seal.at
    # The verdict is in the chain; its PDF, one of several forms to read it in, is not.
    sealed = chain.entries(paper.dossier.chain).filter(kind=Kind.DOCUMENT_SEALED.value)
    assert not any(paper.digest in entry.blobs for entry in sealed)
    client = sign_in(cast.auditor)
    page = client.get(paper.verdict.submission.get_absolute_url()).content.decode()
    assert "It is no signature of either side." in page and seal.fingerprint[:16] in page
    url = reverse("shipments:paper", args=[paper.dossier_id, paper.pk])
    assert client.get(url).content == data
    # A sealed file differs each time it is sealed, so it is sealed once; its pages do not.
    assert make_paper(paper.verdict, paper.language) == paper
    assert data.startswith(set_pages(paper.verdict, paper.language))
    rows = DocumentSeal.objects.filter(dossier=paper.dossier)
    assert rows.count() == VerdictPaper.objects.filter(dossier=paper.dossier).count()
