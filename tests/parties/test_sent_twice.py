"""Sent twice, done once: tokens of forms, keys of JSON calls; JSON that is nested without end."""

from __future__ import annotations

import json
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from agreements.models import Remark
from disputes.models import Note, Post
from evidence.models import EvidenceFile
from jobs.models import IdempotencyKey
from parties.models import Signature
from tests.cast import PASSWORD

TOKEN = re.compile(r'name="once" value="([^"]{20,})"')


def address(name: str, obj) -> str:
    return reverse(name, kwargs={"dossier": obj.dossier_id, "pk": obj.pk})


def token(client, url: str) -> str:
    return TOKEN.search(client.get(url).content.decode())[1]


@pytest.fixture
def dispute(world):
    return world.answered()


@pytest.mark.parametrize(("act", "model"), [("post", Post), ("note", Note)])
def test_a_double_click_says_it_once_and_lands_on_the_same_page(
    world, dispute, sign_in, act, model
):
    client = sign_in(world.cast.supplier_staff)
    url = address(f"disputes:disputes-{act}", dispute)
    once = token(client, url)
    assert once != token(client, url)
    before = model.objects.count()
    first, second = (client.post(url, {"text": "Once.", "once": once}) for _ in range(2))
    assert (first.status_code, second.status_code) == (302, 302)
    assert first["Location"] == second["Location"]
    assert model.objects.count() == before + 1
    client.post(url, {"text": "Once.", "once": token(client, url)})
    assert model.objects.count() == before + 2


def test_a_remark_is_made_once(world, sign_in):
    client = sign_in(world.cast.supplier_staff)
    revision = world.open_lot().revision
    url = address("agreements:revision-remark", revision)
    sent = {"clause": "scope", "text": "A remark", "once": token(client, url)}
    assert {client.post(url, sent).status_code for _ in range(2)} == {302}
    assert Remark.objects.filter(text="A remark").count() == 1


def test_other_content_under_a_used_token_is_not_lost(world, dispute, sign_in):
    client = sign_in(world.cast.supplier_staff)
    url = address("disputes:disputes-post", dispute)
    once = token(client, url)
    client.post(url, {"text": "First.", "once": once})
    answer = client.post(url, {"text": "Second.", "once": once})
    page = answer.content.decode()
    assert answer.status_code == 422 and "Second." in page
    assert not Post.objects.filter(text="Second.").exists()
    fresh = TOKEN.search(page)[1]
    assert client.post(url, {"text": "Second.", "once": fresh}).status_code == 302
    assert Post.objects.filter(text="Second.").count() == 1


def test_a_token_is_one_persons(world, dispute, sign_in):
    url = address("disputes:disputes-post", dispute)
    for who in ("supplier_staff", "customer_colleague"):
        sign_in(getattr(world.cast, who)).post(url, {"text": "Alike.", "once": "k" * 24})
    assert Post.objects.filter(text="Alike.").count() == 2


def test_an_upload_counts_as_content(world, sign_in):
    client = sign_in(world.cast.supplier_staff)
    url = reverse("evidence:upload", kwargs={"dossier": world.cast.agreement.pk})
    before = EvidenceFile.objects.count()

    def send(data: bytes) -> int:
        upload = SimpleUploadedFile("a.csv", data, "text/csv")
        return client.post(url, {"upload": upload, "once": "k" * 24}).status_code

    assert [send(b"one"), send(b"one"), send(b"two")] == [302, 302, 422]
    made = EvidenceFile.objects.order_by("-created_at")[0]
    assert EvidenceFile.objects.count() == before + 1 and made.size == 3


def call(client, url: str, sent, key: str | None = "key-1"):
    headers = {"Idempotency-Key": key} if key is not None else {}
    return client.post(
        f"/api{url}", json.dumps(sent), content_type="application/json", headers=headers
    )


def test_a_call_under_a_key_is_answered_as_the_first(world, dispute, sign_in):
    client = sign_in(world.cast.supplier_staff)
    url = address("disputes:disputes-post", dispute)
    first, again = (call(client, url, {"text": "By program."}) for _ in range(2))
    assert (first.status_code, again.status_code) == (200, 200)
    assert first.json() == again.json()
    assert Post.objects.filter(text="By program.").count() == 1
    other = call(client, url, {"text": "Other."})
    assert (other.status_code, other.json()["id"]) == (409, "sent_before")
    assert not Post.objects.filter(text="Other.").exists()
    elsewhere = call(client, address("disputes:disputes-note", dispute), {"text": "By program."})
    assert elsewhere.status_code == 409
    theirs = call(sign_in(world.cast.customer_colleague), url, {"text": "By program."})
    assert theirs.status_code == 200
    assert Post.objects.filter(text="By program.").count() == 2
    assert call(client, url, {"text": "By program."}, None).status_code == 200
    assert Post.objects.filter(text="By program.").count() == 3


@pytest.mark.parametrize("key", ["", "k" * 201])
def test_an_unfit_key_is_refused(world, dispute, sign_in, key):
    client = sign_in(world.cast.supplier_staff)
    answer = call(client, address("disputes:disputes-post", dispute), {"text": "x"}, key)
    assert (answer.status_code, answer.json()["id"]) == (409, "idempotency_key")


def test_what_was_refused_may_be_sent_again_and_no_password_is_told(world, sign_in):
    submission = world.last_submission(world.judged_lot())
    client = sign_in(world.cast.supplier_lead)
    url = address("shipments:submissions-sign", submission)
    assert call(client, url, {"password": "wrong"}).status_code == 422
    assert not IdempotencyKey.objects.exists()
    assert {call(client, url, {"password": PASSWORD}).status_code for _ in range(2)} == {200}
    assert Signature.objects.filter(subject=submission.subject).count() == 1
    assert call(client, url, {"password": "wrong"}).status_code == 409
    assert PASSWORD not in str(IdempotencyKey.objects.values())
    refused = [call(client, url, {"password": PASSWORD}, "key-2") for _ in range(2)]
    assert [(one.status_code, one.json()["id"]) for one in refused] == [(409, "signed")] * 2


@pytest.mark.parametrize("body", ["[" * 50_000, '{"text":' * 50_000, "[" * 50_000 + "]" * 50_000])
def test_json_without_end_is_the_callers_mistake(world, dispute, sign_in, body):
    client = sign_in(world.cast.supplier_staff)
    client.raise_request_exception = False
    url = address("disputes:disputes-post", dispute)
    answer = client.post(f"/api{url}", body, content_type="application/json")
    assert answer.status_code == 400 and "nested" in answer.json()["detail"]
