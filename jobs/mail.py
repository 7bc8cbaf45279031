"""The mail outbox: a row in the caller's transaction, sent by a job.

A worker killed between handing a mail over and writing so sends it once more, with the same
Message-ID, by which mail systems recognise the double. Nothing is lost.
"""

from __future__ import annotations

import hashlib
import smtplib
from email.utils import parseaddr

from django.conf import settings
from django.core.mail import EmailMessage
from django.utils import timezone

from jobs.models import Job, Mail
from jobs.queue import Progress, enqueue, task


def post(*, to: str, subject: str, body: str, key: str, secret: bool = False) -> Mail:
    """Write one mail into the outbox; the same `key` again writes nothing.

    `secret`: the text carries a token that must not stay here, and is erased once it is sent.
    Raises ValueError for line breaks in the address or subject (they would forge headers).
    """
    if any(mark in to + subject for mark in "\r\n\0"):
        raise ValueError("line break in a mail's address or subject")
    mail, made = Mail.objects.get_or_create(
        key=key, defaults={"to": to, "subject": subject, "body": body, "secret": secret}
    )
    if made:
        enqueue("jobs.mail", subject=f"mail:{mail.pk}", key=f"mail:{key}", mail=mail.pk)
    return mail


def message_id(key: str) -> str:
    """A Message-ID that is the same for every attempt at the same mail."""
    domain = parseaddr(settings.DEFAULT_FROM_EMAIL)[1].rpartition("@")[2] or "localhost"
    return f"<{hashlib.sha256(key.encode()).hexdigest()[:32]}@{domain}>"


@task("jobs.mail", attempts=6, retry_on=(OSError, smtplib.SMTPException), wait=30)
def send(job: Job, progress: Progress) -> None:
    """Hand one outbox row to the mail system unless that was done already, or it was taken back."""
    mail = Mail.objects.get(pk=job.params["mail"])
    if mail.sent_at is not None or not mail.to:
        return
    EmailMessage(
        subject=mail.subject,
        body=mail.body,
        to=[mail.to],
        headers={"Message-ID": message_id(mail.key), "Auto-Submitted": "auto-generated"},
    ).send()
    kept = "" if mail.secret else mail.body
    rows = Mail.objects.filter(pk=mail.pk, to=mail.to, sent_at=None)
    rows.update(sent_at=timezone.now(), body=kept)


def take_back(to: str) -> None:
    """Empty all mails to an address, those that wait too: nothing more goes there from here.

    The rows stay, so that no act writes its mail again. Runs in the caller's transaction.
    """
    Mail.objects.filter(to=to).update(to="", subject="", body="")
