"""Files, readings and judgements are kept as they came; sets and sittings can be set aside."""

from django.db import migrations

from ledger.operations import AppendOnly, Freeze

FILE = ["dossier", "side_only", "subject", "made_by", "name", "digest", "size", "media_type"]


class Migration(migrations.Migration):
    dependencies = [("evidence", "0001_initial")]

    operations = [
        Freeze("EvidenceFile", columns=FILE),
        Freeze(
            "MeasuredSet",
            columns=[
                "dossier",
                "side_only",
                "subject",
                "made_by",
                "file",
                "mapping",
                "packed",
                "rows",
                "labels",
                "wavelengths",
                "instrument",
                "measured_on",
                "zone",
                "condition",
                "place",
                "reference",
            ],
        ),
        Freeze(
            "Sitting",
            columns=[
                "dossier",
                "side_only",
                "subject",
                "made_by",
                "day",
                "zone",
                "booth",
                "procedure",
                "comparator",
                "reference",
                "chip",
                "chip_name",
                "illuminants",
                "specimens",
                "warm_up_minutes",
                "adaptation_minutes",
                "scan",
            ],
        ),
        Freeze(
            "Document",
            columns=["dossier", "side_only", "subject", "made_by", "file", "answers", "note"],
        ),
        Freeze(
            "RetainedPiece",
            columns=["dossier", "side_only", "subject", "made_by", "seal", "specimen", "note"],
        ),
        AppendOnly("Judgement"),
    ]
