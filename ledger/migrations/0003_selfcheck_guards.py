"""What the self-check wrote is never changed; a check and an alarm only get their end."""

from django.db import migrations

from ledger.operations import AppendOnly, Freeze


class Migration(migrations.Migration):
    dependencies = [("ledger", "0002_selfchecks")]

    operations = [
        Freeze("SelfCheck", columns=["started_at", "whole", "last_blob"], once=["finished_at"]),
        AppendOnly("Finding"),
        AppendOnly("SeenHead"),
        Freeze(
            "Alarm",
            columns=["key", "fault", "chain", "facts", "raised_by", "raised_at"],
            once=["ended_by", "ended_at"],
        ),
    ]
