"""The sealed PDFs of signed terms."""

import django.db.models.deletion
import ledger.clock
import uuid
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("agreements", "0002_guards"),
        ("parties", "0006_seals_guards"),
    ]

    operations = [
        migrations.CreateModel(
            name="TermsPaper",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=uuid.uuid4, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("side_only", models.CharField(blank=True, default="", max_length=16)),
                ("released_at", models.DateTimeField(blank=True, null=True)),
                ("created_at", models.DateTimeField(default=ledger.clock.now, editable=False)),
                ("language", models.CharField(max_length=16)),
                ("place", models.PositiveSmallIntegerField()),
                ("digest", models.CharField(max_length=64)),
                ("size", models.PositiveIntegerField()),
                (
                    "dossier",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="parties.dossier",
                    ),
                ),
                (
                    "revision",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="papers",
                        to="agreements.revision",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("revision", "language", "place"), name="terms_paper_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("place__in", [1, 2])), name="terms_paper_place_known"
                    ),
                ],
            },
        ),
    ]
