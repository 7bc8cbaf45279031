"""Tables of the self-check: when it looked, which heads it saw, what it found, which alarms stand.

All of it is only added to: an alarm ends by a later check that finds its cause gone, and both stay.
"""

from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import Q


class SelfCheck(models.Model):
    """One look at everything (`whole`) or at what came since the one before."""

    started_at = models.DateTimeField()
    whole = models.BooleanField()
    last_blob = models.PositiveBigIntegerField(default=0)  # the newest row of a blob at the start
    finished_at = models.DateTimeField(null=True)

    class Meta:
        db_table = "ledger_selfcheck"

    def __str__(self) -> str:
        return f"self-check {self.pk}"


class Finding(models.Model):
    """What one check found: the id of the fault, its chain (empty: the installation), its facts.

    `key` is the same for the same fault, whichever check finds it.
    """

    check_of = models.ForeignKey(SelfCheck, on_delete=models.PROTECT, related_name="findings")
    fault = models.CharField(max_length=40)
    chain = models.CharField(max_length=64, blank=True)
    facts: Any = models.JSONField(default=dict)
    key = models.CharField(max_length=64)

    class Meta:
        db_table = "ledger_finding"
        constraints = [
            models.UniqueConstraint(fields=["check_of", "key"], name="ledger_finding_once")
        ]
        indexes = [models.Index(fields=["check_of", "chain"], name="ledger_finding_chain")]

    def __str__(self) -> str:
        return f"{self.fault} {self.chain}"


class SeenHead(models.Model):
    """A head that a check read through to and found right: what stood there must stay there."""

    chain = models.CharField(max_length=64)
    number = models.PositiveBigIntegerField()
    hash = models.CharField(max_length=64)
    seen_at = models.DateTimeField()

    class Meta:
        db_table = "ledger_seen_head"
        constraints = [
            models.UniqueConstraint(fields=["chain", "number"], name="ledger_seen_head_once")
        ]

    def __str__(self) -> str:
        return f"{self.chain} #{self.number}"


class Alarm(models.Model):
    """A fault that people are told of, from the check that found it to the one that did not."""

    key = models.CharField(max_length=64)
    fault = models.CharField(max_length=40)
    chain = models.CharField(max_length=64, blank=True)
    facts: Any = models.JSONField(default=dict)
    raised_by = models.ForeignKey(SelfCheck, on_delete=models.PROTECT, related_name="raised")
    raised_at = models.DateTimeField()
    ended_by = models.ForeignKey(
        SelfCheck, on_delete=models.PROTECT, related_name="ended", null=True
    )
    ended_at = models.DateTimeField(null=True)

    class Meta:
        db_table = "ledger_alarm"
        constraints = [
            models.UniqueConstraint(
                fields=["key"], condition=Q(ended_at__isnull=True), name="ledger_alarm_open_once"
            ),
            models.CheckConstraint(
                condition=Q(ended_at__isnull=True, ended_by__isnull=True)
                | Q(ended_at__isnull=False, ended_by__isnull=False),
                name="ledger_alarm_ended_by_a_check",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.fault} {self.chain}"
