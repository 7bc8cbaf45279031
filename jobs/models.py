"""Job rows (the truth about background work), the mail outbox and idempotency keys.

Rows here know a chain or a subject as plain strings and are never served by their own id.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext


class State(models.TextChoices):
    """Where a job stands. Only `jobs/transitions.py` changes it."""

    QUEUED = "queued"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"


class JobQuerySet(models.QuerySet["Job"]):
    """Which jobs may be claimed."""

    def due(self, now: datetime | None = None) -> JobQuerySet:
        """Jobs that wait and may start, and those whose worker let its lease run out."""
        now = now or timezone.now()
        waiting = Q(state=State.QUEUED, due_at__lte=now)
        return self.filter(waiting | Q(state=State.RUNNING, lease_until__lt=now))


class Job(models.Model):
    """One piece of work. `attempts` counts claims and fences off a worker that lost its lease."""

    name = models.CharField(max_length=100)
    subject = models.CharField(max_length=200, blank=True)
    chain = models.CharField(max_length=100, blank=True)
    key = models.CharField(max_length=200, null=True, unique=True)  # NULL: no idempotency asked
    params = models.JSONField(default=dict)
    state = models.CharField(max_length=10, choices=State.choices, default=State.QUEUED)
    done = models.PositiveIntegerField(default=0)
    total = models.PositiveIntegerField(default=0)
    result = models.JSONField(null=True)
    error = models.CharField(max_length=200, blank=True)  # a safe English message id
    error_id = models.CharField(max_length=12, blank=True)  # finds the traceback in the log
    attempts = models.PositiveSmallIntegerField(default=0)
    due_at = models.DateTimeField(default=timezone.now)
    lease_until = models.DateTimeField(null=True)
    created_at = models.DateTimeField(default=timezone.now)
    finished_at = models.DateTimeField(null=True)

    objects = JobQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(state__in=State.values), name="job_state_known"),
            models.CheckConstraint(
                condition=~Q(state=State.RUNNING) | Q(lease_until__isnull=False),
                name="job_running_has_lease",
            ),
        ]
        indexes = [
            models.Index(fields=["name", "subject", "-id"], name="job_latest"),
            # Finished rows pile up; only the open ones are looked for again and again.
            models.Index(
                fields=["due_at"],
                condition=Q(state__in=[State.QUEUED, State.RUNNING]),
                name="job_open",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} {self.subject} ({self.state})"

    @property
    def error_text(self) -> str:
        """The failure in the reader's language, empty where there is none."""
        return gettext(self.error) if self.error else ""

    @property
    def finished(self) -> bool:
        """Whether nothing more will happen by itself."""
        return self.state in {State.DONE, State.FAILED}


class Mail(models.Model):
    """The outbox: written with the act that causes it, sent by a job afterwards."""

    key = models.CharField(max_length=200, unique=True)
    to = models.CharField(max_length=254)
    subject = models.CharField(max_length=200)
    body = models.TextField()
    # Holds a token: the text is erased once it is sent.
    secret = models.BooleanField(default=False)
    created_at = models.DateTimeField(default=timezone.now)
    sent_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(sent_at__isnull=True) | Q(sent_at__gte=F("created_at")),
                name="mail_sent_after_written",
            )
        ]

    def __str__(self) -> str:
        return f"mail {self.pk}"


class IdempotencyKey(models.Model):
    """What a caller's repeated request answered the first time."""

    owner = models.CharField(max_length=100)
    key = models.CharField(max_length=200)
    body_digest = models.CharField(max_length=64)
    answer: Any = models.JSONField(null=True)
    created_at = models.DateTimeField(default=timezone.now, db_index=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["owner", "key"], name="idempotency_key_of_owner")
        ]

    def __str__(self) -> str:
        return f"{self.owner} {self.key}"
