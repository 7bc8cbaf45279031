"""One side's own text of the terms: the only mutable terms, seen by that side alone."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from method.terms.document import parse_terms
from method.terms.models import Terms
from method.terms.upgrade import upgrade
from parties.models import DossierRow, Side


class Draft(DossierRow):
    """A side's draft. `side_only` is that side; `version` counts edits, so that none is lost."""

    terms = models.BinaryField(_("terms"))
    version = models.PositiveIntegerField(default=1)
    based_on = models.ForeignKey(
        "agreements.Revision", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    changed_at = models.DateTimeField(default=timezone.now)

    at: str = ""  # where the page opens; not stored

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["dossier", "side_only"], name="draft_one_per_side"),
            models.CheckConstraint(
                condition=Q(side_only__in=[Side.CUSTOMER, Side.SUPPLIER]), name="draft_of_a_side"
            ),
            models.CheckConstraint(
                condition=Q(released_at__isnull=True), name="draft_never_released"
            ),
        ]

    def __str__(self) -> str:
        return str(_("Your side's draft"))

    def get_absolute_url(self) -> str:
        """The draft's page, at the clause that was just worked on."""
        page = reverse("agreements:draft", args=[self.dossier_id, self.pk])
        return f"{page}#{self.at}" if self.at else page

    @property
    def document(self) -> Terms:
        """The typed terms, in the newest schema: a draft kept from before is read as upgraded."""
        return upgrade(parse_terms(bytes(self.terms)))
