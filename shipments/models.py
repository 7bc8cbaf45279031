"""First articles, lots, what was handed in for them, and the verdicts.

A submission and its verdict are frozen: a correction is a further submission (`nth`), and a
customer's rejection evidence is a submission of its own that stands beside the first.
"""

from __future__ import annotations

from typing import Any

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from agreements.models import Revision
from parties.models import DossierRow


class FirstArticle(DossierRow):
    """The first pieces of a part in a colour. While it is prepared it is the supplier's own."""

    class Status(models.TextChoices):
        PREPARING = "preparing", _("being prepared")
        SUBMITTED = "submitted", _("submitted")
        APPROVED = "approved", _("approved")
        APPROVED_WITH_LIMITS = "approved_with_limits", _("approved with limits")
        TO_BE_CORRECTED = "to_be_corrected", _("to be corrected")

    number = models.CharField(_("number"), max_length=60)
    part = models.CharField(_("part"), max_length=40)
    part_words = models.CharField(max_length=300)
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="+")
    quantity = models.PositiveIntegerField(_("pieces"), validators=[MinValueValidator(1)])
    made_on = models.DateField(_("made on"), null=True, blank=True)
    status = models.CharField(max_length=24, choices=Status.choices, default=Status.PREPARING)
    decided_at = models.DateTimeField(null=True, blank=True)
    decided_on = models.DateField(null=True, blank=True)
    limit_quantity = models.PositiveIntegerField(_("pieces at most"), null=True, blank=True)
    limit_until = models.DateField(_("until"), null=True, blank=True)
    decision_note = models.TextField(blank=True)

    class Meta:
        indexes = [
            models.Index(fields=["dossier", "created_at", "id"], name="article_latest"),
        ]
        constraints = [
            models.UniqueConstraint(fields=["dossier", "number"], name="article_number_once"),
            models.CheckConstraint(
                condition=Q(
                    status__in=[
                        "preparing",
                        "submitted",
                        "approved",
                        "approved_with_limits",
                        "to_be_corrected",
                    ]
                ),
                name="article_status_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} · {self.part_words}"

    @property
    def subject(self) -> str:
        """Its name in evidence and ledger."""
        return f"article/{self.pk}"

    def get_absolute_url(self) -> str:
        """Its page."""
        return reverse("shipments:article", kwargs={"dossier": self.dossier_id, "pk": self.pk})


class Lot(DossierRow):
    """A lot. Its revision is fixed when it is opened, by the day its order was accepted."""

    class Status(models.TextChoices):
        OPEN = "open", _("open")
        SUBMITTED = "submitted", _("submitted, being judged")
        JUDGED = "judged", _("judged")
        RELEASED = "released", _("released")
        RECEIVED = "received", _("received")
        ACCEPTED = "accepted", _("accepted")
        REJECTED = "rejected", _("rejected")
        CLOSED = "closed", _("closed")
        WITHDRAWN = "withdrawn", _("withdrawn")

    number = models.CharField(_("lot number"), max_length=60)
    order = models.CharField(_("order number"), max_length=60)
    accepted_on = models.DateField(_("order accepted on"))
    part = models.CharField(_("part"), max_length=40)
    part_words = models.CharField(max_length=300)
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="+")
    quantity = models.PositiveIntegerField(_("pieces"), validators=[MinValueValidator(1)])
    made_on = models.DateField(_("made on"), null=True, blank=True)
    status = models.CharField(max_length=16, choices=Status.choices, default=Status.OPEN)
    left_at = models.DateTimeField(_("released"), null=True, blank=True)
    received_on = models.DateField(_("received on"), null=True, blank=True)
    reject_until = models.DateField(_("may be rejected until"), null=True, blank=True)

    class Meta:
        indexes = [
            models.Index(fields=["dossier", "created_at", "id"], name="lot_latest"),
            models.Index(fields=["dossier", "status"], name="lot_status"),
        ]
        constraints = [
            models.UniqueConstraint(fields=["dossier", "number"], name="lot_number_once"),
            models.CheckConstraint(
                condition=Q(
                    status__in=[
                        "open",
                        "submitted",
                        "judged",
                        "released",
                        "received",
                        "accepted",
                        "rejected",
                        "closed",
                        "withdrawn",
                    ]
                ),
                name="lot_status_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} · {self.part_words}"

    @property
    def subject(self) -> str:
        """Its name in evidence and ledger."""
        return f"lot/{self.pk}"

    def get_absolute_url(self) -> str:
        """Its page."""
        return reverse("shipments:lot", kwargs={"dossier": self.dossier_id, "pk": self.pk})


class Submission(DossierRow):
    """Evidence as handed in: the canonical bytes (see method.submission) and where they belong."""

    class Purpose(models.TextChoices):
        FIRST_ARTICLE = "first_article", _("first article")
        LOT = "lot", _("release of a lot")
        REJECTION = "rejection", _("rejection")

    purpose = models.CharField(max_length=16, choices=Purpose.choices)
    nth = models.PositiveIntegerField()
    lot = models.ForeignKey(Lot, null=True, on_delete=models.PROTECT, related_name="submissions")
    article = models.ForeignKey(
        FirstArticle, null=True, on_delete=models.PROTECT, related_name="submissions"
    )
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="+")
    answers = models.ForeignKey("self", null=True, on_delete=models.PROTECT, related_name="+")
    side = models.CharField(max_length=16)
    made_by = models.CharField(max_length=16)
    bytes = models.BinaryField()
    digest = models.CharField(max_length=64)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["lot", "purpose", "nth"], name="submission_nth_of_lot"),
            models.UniqueConstraint(fields=["article", "nth"], name="submission_nth_of_article"),
            models.CheckConstraint(
                condition=Q(lot__isnull=False) ^ Q(article__isnull=False),
                name="submission_of_one_thing",
            ),
            models.CheckConstraint(
                condition=Q(purpose__in=["first_article", "lot", "rejection"]),
                name="submission_purpose_known",
            ),
        ]

    @property
    def subject(self) -> str:
        """Its name in the ledger."""
        return f"submission/{self.pk}"

    def __str__(self) -> str:
        return f"{self.what} · {self.get_purpose_display()} {self.nth}"

    @property
    def what(self) -> Any:
        """The lot or first article it was made for."""
        return self.lot or self.article

    def get_absolute_url(self) -> str:
        """Its page, with the verdict."""
        return reverse("shipments:submission", kwargs={"dossier": self.dossier_id, "pk": self.pk})


class SubmissionList(DossierRow):
    """Evidence that a side's lead signs with one signature. Until then it is the side's own.

    `bytes` is the canonical document (see shipments.lists) whose digest is signed.
    """

    class Status(models.TextChoices):
        DRAWN_UP = "drawn_up", _("drawn up, not signed")
        SIGNED = "signed", _("signed")
        SET_ASIDE = "set_aside", _("set aside")

    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="+")
    side = models.CharField(max_length=16)
    made_by = models.CharField(max_length=16)
    bytes = models.BinaryField()
    digest = models.CharField(max_length=64)
    status = models.CharField(max_length=16, choices=Status.choices, default=Status.DRAWN_UP)
    submissions = models.ManyToManyField(
        Submission, through="ListedSubmission", related_name="lists"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(status__in=["drawn_up", "signed", "set_aside"]),
                name="list_status_known",
            ),
            models.CheckConstraint(
                condition=Q(released_at__isnull=False) | ~Q(status="signed"),
                name="list_shared_when_signed",
            ),
        ]

    @property
    def subject(self) -> str:
        """Its name in the ledger."""
        return f"submissions/{self.pk}"

    def __str__(self) -> str:
        return str(_("List of evidence %(digest)s")) % {"digest": self.digest[:12]}

    def get_absolute_url(self) -> str:
        """Its page."""
        return reverse("shipments:list", kwargs={"dossier": self.dossier_id, "pk": self.pk})


class ListedSubmission(models.Model):
    """A submission on a list. Written with the list and never changed."""

    list = models.ForeignKey(SubmissionList, on_delete=models.PROTECT, related_name="entries")
    submission = models.ForeignKey(Submission, on_delete=models.PROTECT, related_name="listings")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["list", "submission"], name="listed_once_a_list")
        ]

    def __str__(self) -> str:
        return str(self.submission)


class Verdict(DossierRow):
    """What the terms say of a submission: canonical bytes (see method.judge), never recomputed."""

    class Outcome(models.TextChoices):
        CONFORMING = "conforming", _("conforming")
        NONCONFORMING = "nonconforming", _("nonconforming")
        INCONCLUSIVE = "inconclusive", _("inconclusive")
        INCOMPLETE = "incomplete", _("incomplete")

    submission = models.OneToOneField(Submission, on_delete=models.PROTECT, related_name="verdict")
    bytes = models.BinaryField()
    digest = models.CharField(max_length=64)
    outcome = models.CharField(max_length=16, choices=Outcome.choices)

    class Meta:
        indexes = [
            models.Index(fields=["dossier", "created_at", "id"], name="verdict_latest"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(
                    outcome__in=["conforming", "nonconforming", "inconclusive", "incomplete"]
                ),
                name="verdict_outcome_known",
            )
        ]

    @property
    def subject(self) -> str:
        """Its name in the ledger."""
        return f"verdict/{self.pk}"


class VerdictPaper(DossierRow):
    """The PDF of a verdict in one language; its bytes are a blob of the dossier."""

    verdict = models.ForeignKey(Verdict, on_delete=models.PROTECT, related_name="papers")
    language = models.CharField(max_length=16)
    digest = models.CharField(max_length=64)
    size = models.PositiveIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["verdict", "language"], name="paper_once_a_language")
        ]
