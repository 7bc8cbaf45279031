"""Register rows, codes and signatures are never changed; a key only gets its day of revocation."""

from django.db import migrations

from ledger.operations import AppendOnly, Freeze


class Migration(migrations.Migration):
    dependencies = [("parties", "0001_initial")]

    operations = [
        AppendOnly("Code"),
        AppendOnly("Installation"),
        AppendOnly("Observer"),
        AppendOnly("Booth"),
        AppendOnly("Instrument"),
        AppendOnly("Reference"),
        AppendOnly("Chip"),
        AppendOnly("Signature"),
        Freeze(
            "Key",
            columns=[
                "person",
                "organisation",
                "certificate",
                "sealed",
                "fingerprint",
                "name",
                "organisation_name",
                "expires_at",
                "created_at",
            ],
            once=["revoked_at"],
        ),
    ]
