"""A key that sealed never changes, it is only retired; the seals on a PDF stand."""

from django.db import migrations

from ledger.operations import AppendOnly, Freeze


class Migration(migrations.Migration):
    dependencies = [("parties", "0005_seals")]

    operations = [
        Freeze(
            "SealKey",
            columns=[
                "organisation",
                "issuer",
                "certificate",
                "chain",
                "sealed",
                "fingerprint",
                "name",
                "organisation_name",
                "valid_from",
                "expires_at",
                "created_at",
                "entered_by",
            ],
            once=["retired_at"],
        ),
        AppendOnly("DocumentSeal"),
    ]
