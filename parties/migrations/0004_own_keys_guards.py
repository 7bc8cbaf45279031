"""What a key is never changes: who holds it, its public part, and by whom it was confirmed."""

from django.db import migrations

from ledger.operations import AppendOnly, Freeze


class Migration(migrations.Migration):
    dependencies = [("parties", "0003_own_keys")]

    operations = [
        AppendOnly("Signature"),
        Freeze(
            "Key",
            columns=[
                "person",
                "organisation",
                "assurance",
                "certificate",
                "sealed",
                "fingerprint",
                "public_part",
                "credential",
                "relying_party",
                "origin",
                "cose",
                "wrapped",
                "name",
                "organisation_name",
                "replaces",
                "needs_confirmation",
                "expires_at",
                "created_at",
            ],
            once=["confirmed_at", "confirmed_by", "revoked_at", "revoked_by", "revoked_reason"],
        ),
    ]
