"""The outbox: with the act or not at all, once, and again while the mail system is away."""

from __future__ import annotations

import smtplib

import pytest
from django.core import mail as outgoing
from django.core.mail.backends.locmem import EmailBackend
from django.db import transaction
from django.utils import timezone

from jobs.mail import message_id, post
from jobs.models import Job, Mail
from jobs.queue import drain


class Refusing(EmailBackend):
    """A mail system that is away."""

    def send_messages(self, messages):
        raise smtplib.SMTPConnectError(421, "away")


def write(key: str = "seat:1") -> Mail:
    return post(to="lead@customer.example", subject="Seat", body="You have a seat.", key=key)


@pytest.mark.django_db
def test_a_mail_goes_out_once():
    first = write()
    assert write().pk == first.pk
    assert drain() == 1 and drain() == 0
    assert [message.to for message in outgoing.outbox] == [["lead@customer.example"]]
    first.refresh_from_db()
    assert first.sent_at is not None


@pytest.mark.django_db
def test_a_repeated_job_does_not_send_again():
    write()
    drain()
    Job.objects.update(state="queued", attempts=0, due_at=timezone.now())
    assert drain() == 1
    assert len(outgoing.outbox) == 1


@pytest.mark.django_db
def test_every_attempt_has_the_same_message_id():
    mail = write()
    drain()
    Mail.objects.filter(pk=mail.pk).update(sent_at=None)  # as after a kill before it was noted
    Job.objects.update(state="queued", attempts=0, due_at=timezone.now())
    drain()
    ids = [message.extra_headers["Message-ID"] for message in outgoing.outbox]
    assert ids == [message_id("seat:1")] * 2 and message_id("seat:2") != ids[0]


@pytest.mark.django_db
def test_a_mail_of_a_rolled_back_act_is_never_sent():
    with pytest.raises(RuntimeError), transaction.atomic():
        write()
        raise RuntimeError
    assert drain() == 0 and not Mail.objects.exists()
    assert outgoing.outbox == []


@pytest.mark.django_db
def test_it_waits_while_the_mail_system_is_away(settings):
    away, settings.EMAIL_BACKEND = settings.EMAIL_BACKEND, f"{__name__}.Refusing"
    write()
    assert drain() == 1
    job = Job.objects.get()
    assert job.state == "queued" and job.due_at > timezone.now()
    settings.EMAIL_BACKEND = away
    Job.objects.update(due_at=timezone.now())
    assert drain() == 1
    assert len(outgoing.outbox) == 1 and Mail.objects.get().sent_at is not None


@pytest.mark.django_db
@pytest.mark.parametrize("subject", ["Seat\nBcc: x@y.example", "Seat\rX: y", "a\0b"])
def test_headers_cannot_be_forged(subject):
    with pytest.raises(ValueError, match="line break"):
        post(to="lead@customer.example", subject=subject, body="", key="k")
    assert not Mail.objects.exists()


@pytest.mark.django_db
def test_the_job_row_holds_no_address_and_no_text():
    write()
    job = Job.objects.get()
    assert job.params == {"mail": Mail.objects.get().pk}
    assert "customer" not in f"{job.subject}{job.key}{job.result}"


@pytest.mark.django_db
def test_a_mail_taken_back_while_it_is_handed_over_keeps_no_text(monkeypatch):
    """Its reader's data were erased meanwhile (`parties.transitions.personal`)."""
    row = write()

    def handed_over(_message):
        Mail.objects.filter(pk=row.pk).update(to="", subject="", body="")

    monkeypatch.setattr("jobs.mail.EmailMessage.send", handed_over)
    drain()
    row.refresh_from_db()
    assert (row.to, row.subject, row.body) == ("", "", "")
