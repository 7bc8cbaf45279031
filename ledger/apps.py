"""The ledger as a Django app."""

from __future__ import annotations

from typing import Any

from django.apps import AppConfig
from django.db.models.signals import post_migrate

from ledger.operations import restore_triggers


class LedgerConfig(AppConfig):
    """Chains, entries and blobs; knows nothing of the apps above."""

    name = "ledger"
    label = "ledger"

    def ready(self) -> None:
        """Re-create triggers after every migrate: SQLite drops them when it rebuilds a table."""
        post_migrate.connect(_restore, dispatch_uid="ledger.restore_triggers")


def _restore(sender: AppConfig, using: str, **_: Any) -> None:
    restore_triggers(using, app_label=sender.label)
