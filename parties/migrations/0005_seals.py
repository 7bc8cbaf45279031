"""Keys that seal PDFs, and the seals on each PDF."""

import django.db.models.deletion
import ledger.clock
import uuid
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("parties", "0004_own_keys_guards"),
    ]

    operations = [
        migrations.CreateModel(
            name="SealKey",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=uuid.uuid4, editable=False, primary_key=True, serialize=False
                    ),
                ),
                (
                    "issuer",
                    models.CharField(
                        choices=[
                            ("installation", "this installation"),
                            ("own", "the firm's own certificate"),
                        ],
                        max_length=16,
                    ),
                ),
                ("certificate", models.BinaryField()),
                ("chain", models.TextField(blank=True, default="")),
                ("sealed", models.BinaryField()),
                ("fingerprint", models.CharField(max_length=64)),
                ("name", models.CharField(max_length=400)),
                ("organisation_name", models.CharField(blank=True, default="", max_length=160)),
                ("valid_from", models.DateTimeField()),
                ("expires_at", models.DateTimeField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("retired_at", models.DateTimeField(blank=True, null=True)),
                (
                    "entered_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "organisation",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="seal_keys",
                        to="parties.organisation",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="DocumentSeal",
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
                ("digest", models.CharField(max_length=64)),
                ("place", models.PositiveSmallIntegerField()),
                ("side", models.CharField(max_length=16)),
                ("holder", models.CharField(max_length=160)),
                (
                    "stamp",
                    models.CharField(
                        choices=[
                            ("none", "no time stamp: none is set up here"),
                            ("made", "with a time stamp"),
                            (
                                "unreachable",
                                "without a time stamp: the authority could not be reached",
                            ),
                            ("refused", "without a time stamp: the authority gave none that holds"),
                        ],
                        max_length=16,
                    ),
                ),
                ("sealed_at", models.DateTimeField()),
                (
                    "dossier",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="parties.dossier",
                    ),
                ),
                (
                    "key",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="parties.sealkey",
                    ),
                ),
            ],
        ),
        migrations.AddConstraint(
            model_name="sealkey",
            constraint=models.UniqueConstraint(
                condition=models.Q(("organisation__isnull", False), ("retired_at__isnull", True)),
                fields=("organisation", "issuer"),
                name="seal_key_one_in_use",
            ),
        ),
        migrations.AddConstraint(
            model_name="sealkey",
            constraint=models.UniqueConstraint(
                condition=models.Q(("organisation__isnull", True), ("retired_at__isnull", True)),
                fields=("issuer",),
                name="seal_key_one_of_service",
            ),
        ),
        migrations.AddConstraint(
            model_name="sealkey",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("issuer", "installation"),
                    models.Q(
                        ("entered_by__isnull", False),
                        ("issuer", "own"),
                        ("organisation__isnull", False),
                    ),
                    _connector="OR",
                ),
                name="seal_key_issuer_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="documentseal",
            constraint=models.UniqueConstraint(
                fields=("dossier", "digest", "place"), name="seal_place_once"
            ),
        ),
    ]
