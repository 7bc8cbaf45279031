"""Grounds, statements and offers never change; they move on, or are struck with a reason."""

from django.db import migrations

from ledger.operations import AppendOnly, Freeze


class Migration(migrations.Migration):
    dependencies = [("disputes", "0001_initial")]

    operations = [
        Freeze(
            "Dispute",
            columns=[
                "dossier",
                "number",
                "lot",
                "rejection",
                "grounds",
                "contained",
                "text",
                "raised_by",
            ],
        ),
        Freeze(
            "Post",
            columns=["dossier", "dispute", "side", "author", "kind", "text", "files"],
            once=["struck_at"],
        ),
        Freeze(
            "Offer",
            columns=[
                "dossier",
                "dispute",
                "number",
                "side",
                "author",
                "bytes",
                "digest",
                "remedy",
                "text",
            ],
        ),
        AppendOnly("Note"),
    ]
