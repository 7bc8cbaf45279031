"""Lists of evidence that a lead signs with one signature."""

import uuid

import django.db.models.deletion
from django.db import migrations, models

import ledger.clock


class Migration(migrations.Migration):
    dependencies = [("shipments", "0002_guards")]

    operations = [
        migrations.CreateModel(
            name="SubmissionList",
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
                ("side", models.CharField(max_length=16)),
                ("made_by", models.CharField(max_length=16)),
                ("bytes", models.BinaryField()),
                ("digest", models.CharField(max_length=64)),
                (
                    "status",
                    models.CharField(
                        choices=[
                            ("drawn_up", "drawn up, not signed"),
                            ("signed", "signed"),
                            ("set_aside", "set aside"),
                        ],
                        default="drawn_up",
                        max_length=16,
                    ),
                ),
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
                        related_name="+",
                        to="agreements.revision",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="ListedSubmission",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "list",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="entries",
                        to="shipments.submissionlist",
                    ),
                ),
                (
                    "submission",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="listings",
                        to="shipments.submission",
                    ),
                ),
            ],
        ),
        migrations.AddField(
            model_name="submissionlist",
            name="submissions",
            field=models.ManyToManyField(
                related_name="lists",
                through="shipments.ListedSubmission",
                to="shipments.submission",
            ),
        ),
        migrations.AddConstraint(
            model_name="submissionlist",
            constraint=models.CheckConstraint(
                condition=models.Q(status__in=["drawn_up", "signed", "set_aside"]),
                name="list_status_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="submissionlist",
            constraint=models.CheckConstraint(
                condition=models.Q(released_at__isnull=False) | ~models.Q(status="signed"),
                name="list_shared_when_signed",
            ),
        ),
        migrations.AddConstraint(
            model_name="listedsubmission",
            constraint=models.UniqueConstraint(
                fields=["list", "submission"], name="listed_once_a_list"
            ),
        ),
    ]
