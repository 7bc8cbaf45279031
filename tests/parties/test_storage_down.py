"""Where the files cannot be reached people are told so, and nothing is half done."""

from __future__ import annotations

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from evidence.models import EvidenceFile
from ledger import blobs
from ledger.models import ChainHead
from ledger.storage import Folder
from tests.world import csv, curve


@pytest.fixture
def down(world, monkeypatch):
    def refuse(*_):
        raise blobs.StorageDown("the storage does not answer: look at COUNTERSHADE_S3_ENDPOINT")

    for name in ("put", "get", "size"):
        monkeypatch.setattr(Folder, name, refuse)
    return world


def counts() -> tuple:
    return EvidenceFile.objects.count(), list(ChainHead.objects.values_list("chain", "hash"))


def upload() -> SimpleUploadedFile:
    return SimpleUploadedFile("new.csv", csv([("1", curve())]), "text/csv")


def test_a_page_says_that_nothing_was_done(down, sign_in, caplog):
    before = counts()
    client = sign_in(down.cast.supplier_staff)
    where = reverse("evidence:upload", kwargs={"dossier": down.cast.agreement.pk})
    answer = client.post(where, {"upload": upload()})
    assert answer.status_code == 503
    said = answer.content.decode()
    assert "Nothing was done" in said and "Send it again" in said
    assert "COUNTERSHADE_S3_ENDPOINT" not in said, "that is for the log"
    assert "COUNTERSHADE_S3_ENDPOINT" in caplog.text
    assert counts() == before


def test_a_json_call_gets_its_id(down, sign_in):
    before = counts()
    client = sign_in(down.cast.supplier_staff)
    where = reverse("evidence-api:upload-api", kwargs={"dossier": down.cast.agreement.pk})
    answer = client.post(where, {"upload": upload()})
    assert answer.status_code == 503
    assert json.loads(answer.content)["id"] == "storage_down"
    assert counts() == before


def test_a_file_that_cannot_be_read_is_no_crash(down, sign_in):
    file = EvidenceFile.objects.filter(dossier=down.cast.agreement).last()
    client = sign_in(down.cast.supplier_staff)
    where = reverse(
        "evidence:file-download", kwargs={"dossier": down.cast.agreement.pk, "pk": file.pk}
    )
    assert client.get(where).status_code in (404, 503)
