"""Copies of the signed record that somebody asked for."""

from __future__ import annotations

from django.db import models
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from parties.models import DossierRow


class RecordCopy(DossierRow):
    """A signed record as of one head of the chain, made for one side (`side_only`).

    Asking for one writes nothing into the chain. The file lies under VAR_DIR/records.
    """

    made_by = models.CharField(max_length=16)
    number = models.PositiveBigIntegerField(_("entries"))
    hash = models.CharField(max_length=64)
    size = models.PositiveBigIntegerField(null=True)
    digest = models.CharField(max_length=64, blank=True, default="")

    def __str__(self) -> str:
        words = _("%(number)s entries, asked for %(day)s UTC")
        return str(words % {"number": self.number, "day": f"{self.created_at:%Y-%m-%d %H:%M}"})

    @property
    def subject(self) -> str:
        """Its name for jobs."""
        return f"record/{self.pk}"

    @property
    def file_name(self) -> str:
        """The name under which it is saved."""
        return f"countershade-record-{self.dossier_id}-{self.number}.zip"

    def get_absolute_url(self) -> str:
        """Where its progress is shown."""
        return reverse("desk:copy", kwargs={"dossier": self.dossier_id, "pk": self.pk})
