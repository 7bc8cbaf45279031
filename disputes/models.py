"""Disputes about rejected lots: grounds, the shared thread, offers, the settlement.

Nothing said is edited; it can only be struck, with a reason, and stays readable. An offer is the
text of a settlement: both leads sign the same bytes.
"""

from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from method.terms.models.disputes import REMEDY_WORDS
from parties.models import DossierRow, Signature
from shipments.models import Lot, Submission

SIDES = ["customer", "supplier"]


class Dispute(DossierRow):
    """One rejection and what both sides make of it."""

    class Status(models.TextChoices):
        RAISED = "raised", _("raised")
        ANSWERED = "answered", _("answered")
        EXAMINING = "examining", _("being examined")
        REMEDY_OFFERED = "remedy_offered", _("remedy offered")
        SETTLED = "settled", _("settled")
        WITHDRAWN = "withdrawn", _("withdrawn")

    FROZEN = ("dossier", "number", "lot", "rejection", "grounds", "contained", "text", "raised_by")

    number = models.PositiveIntegerField(_("number"))
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="disputes")
    rejection = models.OneToOneField(Submission, on_delete=models.PROTECT, related_name="dispute")
    grounds = models.JSONField(default=list)
    contained = models.JSONField(default=dict)
    text = models.TextField(_("statement"))
    raised_by = models.CharField(max_length=16)
    status = models.CharField(max_length=16, choices=Status.choices, default=Status.RAISED)
    answer_due = models.DateField(_("answer due"), null=True, blank=True)
    examination_due = models.DateField(_("examination ends"), null=True, blank=True)

    class Meta:
        indexes = [
            models.Index(fields=["dossier", "created_at", "id"], name="dispute_latest"),
        ]
        constraints = [
            models.UniqueConstraint(fields=["dossier", "number"], name="dispute_number_once"),
            models.CheckConstraint(
                condition=Q(
                    status__in=[
                        "raised",
                        "answered",
                        "examining",
                        "remedy_offered",
                        "settled",
                        "withdrawn",
                    ]
                ),
                name="dispute_status_known",
            ),
        ]

    def __str__(self) -> str:
        return str(
            _("Dispute %(number)s about lot %(lot)s")
            % {"number": self.number, "lot": self.lot.number}
        )

    @property
    def subject(self) -> str:
        """Its name in the ledger."""
        return f"dispute/{self.pk}"

    @property
    def is_open(self) -> bool:
        """Whether anything can still be said and offered."""
        return self.status not in (self.Status.SETTLED, self.Status.WITHDRAWN)

    def get_absolute_url(self) -> str:
        """The thread."""
        return reverse("disputes:dispute", kwargs={"dossier": self.dossier_id, "pk": self.pk})


class Post(DossierRow):
    """What one side said in the thread, with files. Frozen; struck with a reason."""

    FROZEN = ("dossier", "dispute", "side", "author", "kind", "text", "files")

    class Kind(models.TextChoices):
        STATEMENT = "statement", _("statement")
        ANSWER = "answer", _("answer to the rejection")

    dispute = models.ForeignKey(Dispute, on_delete=models.PROTECT, related_name="posts")
    side = models.CharField(max_length=16)
    author = models.CharField(max_length=16)
    kind = models.CharField(max_length=16, choices=Kind.choices, default=Kind.STATEMENT)
    text = models.TextField(_("statement"))
    files = models.JSONField(default=list)  # [{"name", "digest", "media_type", "size"}]
    struck_at = models.DateTimeField(null=True, blank=True)
    struck_by = models.CharField(max_length=16, blank=True, default="")
    struck_reason = models.TextField(blank=True, default="")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(side__in=SIDES), name="post_by_a_party"),
            models.CheckConstraint(
                condition=Q(struck_at__isnull=True, struck_reason="")
                | (Q(struck_at__isnull=False) & ~Q(struck_reason="")),
                name="post_struck_with_reason",
            ),
        ]

    def __str__(self) -> str:
        return self.text[:60]

    @property
    def subject(self) -> str:
        """Its name in the ledger."""
        return f"post/{self.pk}"

    def get_absolute_url(self) -> str:
        """Its place in the thread."""
        return f"{self.dispute.get_absolute_url()}#post-{self.pk}"


class Note(DossierRow):
    """One side's private note about a dispute: never released, never an entry."""

    dispute = models.ForeignKey(Dispute, on_delete=models.PROTECT, related_name="notes")
    author = models.CharField(max_length=16)
    text = models.TextField(_("note"))

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(side_only__in=SIDES, released_at__isnull=True),
                name="note_stays_private",
            )
        ]

    def get_absolute_url(self) -> str:
        """The thread it belongs to."""
        return self.dispute.get_absolute_url()


class Offer(DossierRow):
    """A remedy offered: the canonical bytes that become the settlement when both leads sign."""

    FROZEN = ("dossier", "dispute", "number", "side", "author", "bytes", "digest", "remedy", "text")

    class Status(models.TextChoices):
        OPEN = "open", _("open")
        DECLINED = "declined", _("declined")
        REPLACED = "replaced", _("replaced by a later offer")
        SIGNED_BY_ONE = "signed_by_one", _("signed by one")
        SETTLED = "settled", _("signed by both")

    dispute = models.ForeignKey(Dispute, on_delete=models.PROTECT, related_name="offers")
    number = models.PositiveIntegerField(_("number"))
    side = models.CharField(max_length=16)
    author = models.CharField(max_length=16)
    remedy = models.CharField(_("remedy"), max_length=20)
    text = models.TextField(_("terms of the settlement"))
    bytes = models.BinaryField()
    digest = models.CharField(max_length=64)
    status = models.CharField(max_length=16, choices=Status.choices, default=Status.OPEN)
    first_signer = models.CharField(max_length=16, blank=True, default="")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["dispute", "number"], name="offer_number_once"),
            models.UniqueConstraint(
                fields=["dispute"],
                condition=Q(status__in=["open", "signed_by_one"]),
                name="offer_one_open",
            ),
            models.CheckConstraint(condition=Q(side__in=SIDES), name="offer_by_a_party"),
            models.CheckConstraint(
                condition=Q(
                    status__in=["open", "declined", "replaced", "signed_by_one", "settled"]
                ),
                name="offer_status_known",
            ),
        ]

    def __str__(self) -> str:
        return str(_("Offer %(number)s") % {"number": self.number})

    @property
    def subject(self) -> str:
        """Its name in the ledger."""
        return f"settlement/{self.pk}"

    @property
    def remedy_words(self) -> str:
        """The remedy in words."""
        return str(_(REMEDY_WORDS[self.remedy]))

    def signatures(self) -> Any:
        """Who signed, in order."""
        rows = Signature.objects.filter(
            dossier=self.dossier_id, what="settlement", subject=self.subject
        )
        return rows.with_key_ends().order_by("created_at")

    def get_absolute_url(self) -> str:
        """Its page."""
        return reverse("disputes:offer", kwargs={"dossier": self.dossier_id, "pk": self.pk})
