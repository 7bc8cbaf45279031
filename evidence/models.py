"""Evidence as it comes in: files, measured sets, booth sittings.

Everything here belongs to one side until it is handed in (`side_only`). Evidence knows no lot:
`subject` is a string ("lot/<id>") that the apps above understand. Rows are not edited: a set that
was read wrongly is set aside and read again.
"""

from __future__ import annotations

from typing import Any

from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy
from django.utils.translation import gettext_lazy as _

from method.terms.models.evidence import EVIDENCE_WORDS
from parties.models import DossierRow, DossierRowQuerySet

# What a file can answer, by the words of clause 8. Chips, limit samples and pieces are physical:
# a sitting names the first two, a seal the last.
FILED = ("booth_report", "calibration_certificate", "photograph", "process_record")
FILED_WORDS = [(kind, gettext_lazy(EVIDENCE_WORDS[kind])) for kind in FILED]


class EvidenceQuerySet(DossierRowQuerySet[Any]):
    """Evidence about one subject."""

    def about(self, subject: str, side: str) -> Any:
        """What a side brought for this subject and did not set aside."""
        return self.filter(subject=subject, side_only=side, set_aside_at__isnull=True)


class EvidenceRow(DossierRow):
    """What files, sets and sittings have in common."""

    subject = models.CharField(max_length=80, blank=True)
    made_by = models.CharField(_("entered by"), max_length=16)
    set_aside_at = models.DateTimeField(null=True, blank=True)
    set_aside_reason = models.CharField(max_length=300, blank=True)

    objects = EvidenceQuerySet.as_manager()

    class Meta:
        abstract = True
        indexes = [
            models.Index(fields=["dossier", "created_at", "id"], name="%(class)s_latest"),
            models.Index(fields=["dossier", "subject"], name="%(class)s_subject"),
        ]


class EvidenceFileQuerySet(EvidenceQuerySet):
    """Files by what became of them."""

    def waiting(self) -> Any:
        """Measurement files in use from which nothing was confirmed yet: nothing counts of them."""
        held = [Document.objects.values("file"), Sitting.objects.exclude(scan=None).values("scan")]
        return self.filter(set_aside_at__isnull=True, sets=None).exclude(
            Q(pk__in=held[0]) | Q(pk__in=held[1])
        )


class EvidenceFile(EvidenceRow):
    """A file as uploaded: its bytes are a blob of the dossier and are never changed."""

    name = models.CharField(_("file name"), max_length=200)
    digest = models.CharField(max_length=64)
    size = models.PositiveBigIntegerField()
    media_type = models.CharField(max_length=100)

    objects = EvidenceFileQuerySet.as_manager()

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        """Where the reader's understanding of the file is shown and confirmed."""
        return reverse("evidence:file", kwargs={"dossier": self.dossier_id, "pk": self.pk})


class MeasuredSet(EvidenceRow):
    """Readings of one file under a confirmed mapping: of specimens, or of a reference.

    Where `reference` is set, these are fresh readings of that reference (a target), not specimens.
    `rows` is the number of readings, `specimens` how many specimens they read. `condition` holds
    what was said of geometry, aperture (mm), UV and backing; what nobody said is absent.
    """

    file = models.ForeignKey(EvidenceFile, on_delete=models.PROTECT, related_name="sets")
    mapping = models.CharField(max_length=64)
    packed = models.CharField(max_length=64)
    rows = models.PositiveIntegerField()
    labels = models.JSONField(default=list)
    wavelengths = models.CharField(max_length=60)
    instrument = models.UUIDField(_("instrument"))
    instrument_name = models.CharField(max_length=120)
    measured_on = models.DateField(_("measured on"))
    zone = models.CharField(_("time zone"), max_length=64)
    condition = models.JSONField(default=dict)
    place = models.CharField(_("place on the piece"), max_length=120, blank=True)
    reference = models.UUIDField(_("readings of the reference"), null=True, blank=True)
    reference_name = models.CharField(max_length=200, blank=True)

    def __str__(self) -> str:
        return f"{self.file.name} · {self.measured_on.isoformat()}"

    def get_absolute_url(self) -> str:
        """The set's page."""
        return reverse("evidence:set", kwargs={"dossier": self.dossier_id, "pk": self.pk})

    @property
    def specimens(self) -> list[str]:
        """Labels of the specimens, each once, in the order of the file."""
        return list(dict.fromkeys(self.labels))


class Comparator(models.TextChoices):
    """What specimens are held against in a sitting."""

    MASTER = "master", _("master")
    DUPLICATE = "duplicate", _("duplicate (working standard)")
    LIMIT_SAMPLE = "limit_sample", _("limit samples")
    CHIP = "chip", _("tear-off chip")
    PREVIOUS_LOT = "previous_lot", _("previous lot")


class Sitting(EvidenceRow):
    """A booth sitting: when and where, under which lights, against what, which specimens.

    `day` is the local date at the booth, `zone` the booth's time zone (IANA name). `chip` is the
    chip of the pack `reference` that was torn off for this sitting.
    """

    class Procedure(models.TextChoices):
        RELEASE_CHECK = "release_check", _("side by side")
        BLIND = "blind", _("blind, random order")

    day = models.DateField(_("day at the booth"))
    zone = models.CharField(_("time zone"), max_length=64)
    booth = models.UUIDField(_("booth"))
    booth_name = models.CharField(max_length=120)
    procedure = models.CharField(
        max_length=16, choices=Procedure.choices, default=Procedure.RELEASE_CHECK
    )
    comparator = models.CharField(
        _("compared with"), max_length=16, choices=Comparator.choices, default=Comparator.MASTER
    )
    reference = models.UUIDField(_("reference"), null=True, blank=True)
    reference_name = models.CharField(max_length=200, blank=True)
    chip = models.UUIDField(_("tear-off chip"), null=True, blank=True)
    chip_name = models.CharField(max_length=60, blank=True)
    illuminants = models.JSONField(default=list)
    specimens = models.JSONField(default=list)
    warm_up_minutes = models.PositiveIntegerField(
        _("lamps warmed up for (minutes)"), validators=[MaxValueValidator(600)]
    )
    adaptation_minutes = models.PositiveIntegerField(
        _("observers adapted for (minutes)"), validators=[MaxValueValidator(600)]
    )
    scan = models.ForeignKey(
        EvidenceFile, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta(EvidenceRow.Meta):
        constraints = [
            models.CheckConstraint(
                condition=Q(comparator__in=Comparator.values), name="sitting_comparator_known"
            )
        ]

    def __str__(self) -> str:
        return f"{self.booth_name} · {self.day.isoformat()}"

    def get_absolute_url(self) -> str:
        """The sitting's page."""
        return reverse("evidence:sitting", kwargs={"dossier": self.dossier_id, "pk": self.pk})


class Document(EvidenceRow):
    """Other evidence of clause 8: a file, and the kind of evidence that it is."""

    file = models.ForeignKey(EvidenceFile, on_delete=models.PROTECT, related_name="+")
    answers = models.CharField(_("what it is"), max_length=32, choices=FILED_WORDS)
    note = models.CharField(_("note"), max_length=300, blank=True)

    class Meta(EvidenceRow.Meta):
        constraints = [
            models.CheckConstraint(condition=Q(answers__in=FILED), name="document_kind_known")
        ]

    def __str__(self) -> str:
        return f"{self.get_answers_display()} · {self.file.name}"

    def get_absolute_url(self) -> str:
        """The document's page."""
        return reverse("evidence:document", kwargs={"dossier": self.dossier_id, "pk": self.pk})


class RetainedPiece(EvidenceRow):
    """A piece kept back under seal, so that both sides can look at it again."""

    seal = models.CharField(_("seal number"), max_length=60)
    specimen = models.CharField(_("specimen"), max_length=80, blank=True)
    note = models.CharField(_("note"), max_length=300, blank=True)

    class Meta(EvidenceRow.Meta):
        constraints = [
            models.UniqueConstraint(
                fields=["dossier", "side_only", "seal"],
                condition=Q(set_aside_at__isnull=True),
                name="piece_seal_once",
            )
        ]

    def __str__(self) -> str:
        return self.seal

    def get_absolute_url(self) -> str:
        """The piece's page."""
        return reverse("evidence:piece", kwargs={"dossier": self.dossier_id, "pk": self.pk})


class Outcome(models.TextChoices):
    """What an observer says of a specimen."""

    ACCEPT = "accept", _("accept")
    REJECT = "reject", _("reject")


class Direction(models.TextChoices):
    """How a specimen differs from the comparator, in the words of the trade."""

    LIGHTER = "lighter", _("lighter")
    DARKER = "darker", _("darker")
    REDDER = "redder", _("redder")
    GREENER = "greener", _("greener")
    YELLOWER = "yellower", _("yellower")
    BLUER = "bluer", _("bluer")
    CLEANER = "cleaner", _("cleaner")
    GREYER = "greyer", _("greyer")
    GLOSSIER = "glossier", _("glossier")
    DULLER = "duller", _("duller")


class Judgement(DossierRow):
    """What one observer said of one specimen under one light (empty: under all of the sitting).

    `observer` is the identity in the firm's register, `observer_code` the code in this dossier.
    Whether it counts is never stored here: it is computed for the day of the sitting.
    """

    sitting = models.ForeignKey(Sitting, on_delete=models.PROTECT, related_name="judgements")
    observer = models.UUIDField()
    observer_code = models.CharField(max_length=16)
    specimen = models.CharField(max_length=80)
    illuminant = models.CharField(max_length=20, blank=True)
    outcome = models.CharField(max_length=8, choices=Outcome.choices)
    directions = models.JSONField(default=list)
    grade = models.CharField(max_length=40, blank=True)
    entered_by = models.CharField(max_length=16)
    entered_by_observer = models.BooleanField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["sitting", "observer", "specimen", "illuminant"], name="judgement_once"
            ),
            models.CheckConstraint(
                condition=Q(outcome__in=Outcome.values), name="judgement_outcome_known"
            ),
        ]
