"""The sealed PDF of signed terms: one file after each side's signature, in each language."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from agreements.models.revisions import Revision
from parties.models import DossierRow


class TermsPaper(DossierRow):
    """A PDF of a revision's terms; its bytes are a blob of the dossier. Never changed.

    `place` 1 carries the service's seal and that of the side that signed first; 2 begins with the
    bytes of 1 and carries the other side's seal too.
    """

    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="papers")
    language = models.CharField(max_length=16)
    place = models.PositiveSmallIntegerField()
    digest = models.CharField(max_length=64)
    size = models.PositiveIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["revision", "language", "place"], name="terms_paper_once"
            ),
            models.CheckConstraint(condition=Q(place__in=[1, 2]), name="terms_paper_place_known"),
        ]

    def __str__(self) -> str:
        return str(_("PDF of %(revision)s") % {"revision": self.revision})

    def get_absolute_url(self) -> str:
        """The revision's page."""
        return self.revision.get_absolute_url()
