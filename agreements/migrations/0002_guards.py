"""A shared revision, who named it, and what was said about it can never be rewritten."""

from django.db import migrations

from ledger.operations import AppendOnly, Freeze


class Migration(migrations.Migration):
    dependencies = [("agreements", "0001_initial")]

    operations = [
        AppendOnly("Naming"),
        AppendOnly("Standing"),
        Freeze(
            "Revision",
            columns=[
                "dossier",
                "side_only",
                "created_at",
                "number",
                "terms",
                "digest",
                "proposed_by",
                "based_on",
                "note",
            ],
            once=["signed_at"],
        ),
        Freeze(
            "Remark",
            columns=[
                "dossier",
                "side_only",
                "created_at",
                "revision",
                "clause",
                "item",
                "text",
                "author",
                "side",
            ],
            once=["struck_at"],
        ),
    ]
