"""Submissions, verdicts and their papers never change; of lots and articles only the state does."""

from django.db import migrations

from ledger.operations import AppendOnly, Freeze

THING = ["dossier", "number", "part", "part_words", "revision", "quantity", "made_on"]


class Migration(migrations.Migration):
    dependencies = [("shipments", "0001_initial")]

    operations = [
        Freeze("FirstArticle", columns=THING),
        Freeze("Lot", columns=[*THING, "order", "accepted_on"]),
        AppendOnly("Submission"),
        AppendOnly("Verdict"),
        AppendOnly("VerdictPaper"),
    ]
