"""Copies of the signed record that somebody asked for; checkpoints that somebody compared."""

from __future__ import annotations

from django.db import models
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from parties.models import DossierRow


class RecordCopy(DossierRow):
    """A signed record as of one head of the chain, made for one side (`side_only`).

    Asking for one writes nothing into the chain. The file lies under VAR_DIR/records. It is
    verified where it was written, by the verifier that anybody can run, and `verdict` says so.
    """

    class Verdict(models.TextChoices):
        """What the verifier said under this installation's root (docs/record-format.md)."""

        VERIFIED = "verified", _("verified")
        UNPROVEN = "unproven", _("consistent, signers unproven")
        REFUSED = "refused", _("refused")

    made_by = models.CharField(max_length=16)
    number = models.PositiveBigIntegerField(_("entries"))
    hash = models.CharField(max_length=64)
    size = models.PositiveBigIntegerField(null=True)
    digest = models.CharField(max_length=64, blank=True, default="")
    # The subject of a part ("lot/…", "dispute/…"); empty for the whole record.
    about = models.CharField(max_length=120, blank=True, default="")
    # The checkpoint that the file holds, as a note (ledger.notes).
    note = models.TextField(blank=True, default="")
    verdict = models.CharField(max_length=16, blank=True, default="", choices=Verdict.choices)
    verified_at = models.DateTimeField(null=True)
    verified_head = models.CharField(max_length=64, blank=True, default="")
    finding = models.CharField(max_length=400, blank=True, default="")  # why it was refused

    def __str__(self) -> str:
        words = _("%(number)s entries, asked for %(day)s UTC")
        if self.about:
            words = _("a part, up to entry %(number)s, asked for %(day)s UTC")
        return str(words % {"number": self.number, "day": f"{self.created_at:%Y-%m-%d %H:%M}"})

    @property
    def subject(self) -> str:
        """Its name for jobs."""
        return f"record/{self.pk}"

    @property
    def file_name(self) -> str:
        """The name under which it is saved."""
        noun, _slash, key = self.about.partition("/")
        form = f"part-{noun}-{key[:8]}" if noun else "record"
        return f"countershade-{form}-{self.dossier_id}-{self.number}.zip"

    def get_absolute_url(self) -> str:
        """Where its progress is shown."""
        return reverse("desk:copy", kwargs={"dossier": self.dossier_id, "pk": self.pk})


class Comparison(DossierRow):
    """A checkpoint that somebody held against the chain of that moment; its side alone sees it.

    Nothing of it is in the agreement's chain; the reading log has what was compared and what came
    of it.
    """

    made_by = models.CharField(max_length=16)
    outcome = models.CharField(max_length=16)  # parties.checkpoints
    note = models.TextField()
    head_number = models.PositiveBigIntegerField()
    head_hash = models.CharField(max_length=64)
    unborne = models.TextField(blank=True, default="")  # lines that no signature bears out

    def __str__(self) -> str:
        words = _("checkpoint compared %(day)s UTC")
        return str(words % {"day": f"{self.created_at:%Y-%m-%d %H:%M}"})

    def get_absolute_url(self) -> str:
        """What came of it."""
        return reverse("desk:comparison", kwargs={"dossier": self.dossier_id, "pk": self.pk})
