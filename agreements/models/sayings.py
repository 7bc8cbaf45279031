"""What is said about a revision, and whether the agreement is suspended or ended."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from agreements.models.revisions import PARTIES, Revision
from parties.models import DossierRow, Side


class Remark(DossierRow):
    """A remark on a clause or an item of a shared revision: never edited, only struck."""

    FROZEN = (
        "dossier",
        "side_only",
        "created_at",
        "revision",
        "clause",
        "item",
        "text",
        "author",
        "side",
    )

    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="remarks")
    clause = models.CharField(_("clause"), max_length=40)
    item = models.CharField(_("item"), max_length=80, blank=True, default="")
    text = models.TextField(_("remark"))
    author = models.CharField(max_length=16)
    side = models.CharField(max_length=16, choices=Side.choices)
    struck_at = models.DateTimeField(null=True, blank=True)
    struck_by = models.CharField(max_length=16, blank=True, default="")
    struck_reason = models.TextField(blank=True, default="")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(side__in=PARTIES), name="remark_by_a_party"),
            models.CheckConstraint(
                condition=Q(struck_at__isnull=True, struck_reason="")
                | (Q(struck_at__isnull=False) & ~Q(struck_reason="")),
                name="remark_struck_with_reason",
            ),
        ]

    def __str__(self) -> str:
        return self.text[:60]

    def get_absolute_url(self) -> str:
        """Where it stands: at its clause on the revision's page."""
        page = reverse("agreements:revision", args=[self.dossier_id, self.revision_id])
        return f"{page}#clause-{self.clause}"


class Standing(DossierRow):
    """The agreement was suspended, taken up again, or ended from a day on. Append-only."""

    class State(models.TextChoices):
        SUSPENDED = "suspended", _("suspended")
        RESUMED = "resumed", _("resumed")
        ENDED = "ended", _("ended")

    number = models.PositiveIntegerField()
    state = models.CharField(max_length=16, choices=State.choices)
    from_day = models.DateField(_("from"))
    reason = models.TextField(_("reason"))
    side = models.CharField(max_length=16, choices=Side.choices)
    author = models.CharField(max_length=16)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["dossier", "number"], name="standing_number_once"),
            models.CheckConstraint(
                condition=Q(state__in=["suspended", "resumed", "ended"]),
                name="standing_state_known",
            ),
            models.CheckConstraint(condition=Q(side__in=PARTIES), name="standing_by_a_party"),
        ]

    def __str__(self) -> str:
        return f"{self.get_state_display()} {self.from_day}"
