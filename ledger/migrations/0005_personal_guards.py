"""A person's key can be destroyed and nothing else; entries keep their guards, the new column too."""

from django.db import migrations

from ledger.operations import AppendOnly, Freeze


class Migration(migrations.Migration):
    dependencies = [("ledger", "0004_personal")]

    operations = [
        AppendOnly("Entry"),
        Freeze(
            "PersonalKey",
            columns=["chain", "person", "created_at"],
            once=["destroyed_at"],
            emptied=["sealed"],
        ),
    ]
