"""Numbered revisions: what was put before the other side, frozen from the first moment."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from method.terms.document import parse_terms
from method.terms.models import Terms
from parties.models import DossierRow, DossierRowQuerySet, Side, Sitter

PARTIES = [Side.CUSTOMER, Side.SUPPLIER]


class RevisionQuerySet(DossierRowQuerySet["Revision"]):
    """Revisions of a dossier; lists leave the terms' bytes in the database."""

    def brief(self) -> RevisionQuerySet:
        """Without the terms, latest first: for lists."""
        return self.defer("terms").order_by("-number")

    def open(self) -> RevisionQuerySet:
        """The one revision that is being negotiated or signed, if any."""
        return self.filter(status__in=Revision.OPEN)

    def latest_seen(self, sitter: Sitter) -> Revision | None:
        """The highest-numbered revision this sitter sees."""
        found: Revision | None = self.visible_to(sitter).order_by("-number").first()
        return found


class Revision(DossierRow):
    """Terms put forward by one side. Everything but its state is frozen by a trigger.

    `countered` means answered by a counter-proposal, which is the next revision.
    """

    class Status(models.TextChoices):
        PROPOSED = "proposed", _("proposed")
        COUNTERED = "countered", _("countered")
        AGREED = "agreed", _("agreed")
        SIGNED_BY_ONE = "signed_by_one", _("signed by one")
        SIGNED = "signed", _("signed")
        WITHDRAWN = "withdrawn", _("withdrawn")

    OPEN = (Status.PROPOSED, Status.AGREED, Status.SIGNED_BY_ONE)
    # Frozen by the migration; the tests compare this with the database's triggers.
    FROZEN = (
        "dossier",
        "side_only",
        "created_at",
        "number",
        "terms",
        "digest",
        "proposed_by",
        "based_on",
        "note",
    )

    number = models.PositiveIntegerField(_("number"))
    terms = models.BinaryField(_("terms"))
    digest = models.CharField(_("digest"), max_length=64)
    proposed_by = models.CharField(max_length=16, choices=Side.choices)
    based_on = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    note = models.TextField(_("note"), blank=True, default="")
    status = models.CharField(max_length=16, choices=Status.choices, default=Status.PROPOSED)
    first_signer = models.CharField(max_length=16, blank=True, default="")
    signed_at = models.DateTimeField(_("signed"), null=True, blank=True)

    objects = RevisionQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["dossier", "number"], name="revision_number_once"),
            models.UniqueConstraint(
                fields=["dossier"],
                condition=Q(status__in=["proposed", "agreed", "signed_by_one"]),
                name="revision_one_open",
            ),
            models.CheckConstraint(
                condition=Q(
                    status__in=[
                        "proposed",
                        "countered",
                        "agreed",
                        "signed_by_one",
                        "signed",
                        "withdrawn",
                    ]
                ),
                name="revision_status_known",
            ),
            models.CheckConstraint(
                condition=Q(proposed_by__in=PARTIES), name="revision_by_a_party"
            ),
            models.CheckConstraint(
                condition=Q(status="signed", signed_at__isnull=False, first_signer__in=PARTIES)
                | (~Q(status="signed") & Q(signed_at__isnull=True)),
                name="revision_signed_has_time",
            ),
        ]

    def __str__(self) -> str:
        return str(_("revision %(number)s") % {"number": self.number})

    def get_absolute_url(self) -> str:
        """The revision's page."""
        return reverse("agreements:revision", args=[self.dossier_id, self.pk])

    @property
    def document(self) -> Terms:
        """The typed terms; old bytes always load."""
        return parse_terms(bytes(self.terms))

    @property
    def is_open(self) -> bool:
        """Whether it can still be agreed, signed or withdrawn."""
        return self.status in self.OPEN


class Naming(DossierRow):
    """One side named this digest: proposing names it, agreeing names it. Append-only."""

    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="namings")
    side = models.CharField(max_length=16, choices=Side.choices)
    digest = models.CharField(max_length=64)
    person = models.CharField(max_length=16)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["revision", "side"], name="naming_once_per_side"),
            models.CheckConstraint(condition=Q(side__in=PARTIES), name="naming_by_a_party"),
        ]

    def __str__(self) -> str:
        return f"{self.side}: {self.digest}"
