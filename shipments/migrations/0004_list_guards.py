"""What a list names never changes; only whether it is signed or set aside does."""

from django.db import migrations

from ledger.operations import AppendOnly, Freeze

WRITTEN = ["dossier", "side_only", "created_at", "revision", "side", "made_by", "bytes", "digest"]


class Migration(migrations.Migration):
    dependencies = [("shipments", "0003_submission_lists")]

    operations = [
        Freeze("SubmissionList", columns=WRITTEN),
        AppendOnly("ListedSubmission"),
    ]
