"""Keys and certificates with which the service seals PDFs, and the seals it has put on them."""

from __future__ import annotations

import uuid

from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from parties.models.dossiers import DossierRow, Organisation, Side
from parties.models.people import Person


class SealKey(models.Model):
    """A P-256 key that seals PDFs for one organisation, or for the service itself.

    Its certificate is issued by the installation's root, or is the organisation's own.
    """

    class Issuer(models.TextChoices):
        INSTALLATION = "installation", _("this installation")
        OWN = "own", _("the firm's own certificate")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    organisation = models.ForeignKey(
        Organisation, on_delete=models.PROTECT, null=True, related_name="seal_keys"
    )  # none: the service's own seal
    issuer = models.CharField(max_length=16, choices=Issuer.choices)
    certificate = models.BinaryField()  # DER
    chain = models.TextField(blank=True, default="")  # certificates above it (PEM)
    sealed = models.BinaryField()  # the private part, sealed at rest
    fingerprint = models.CharField(max_length=64)  # SHA-256 of the certificate
    # What the certificate says; a change of the firm's name asks for a new one.
    name = models.CharField(max_length=400)
    organisation_name = models.CharField(max_length=160, blank=True, default="")
    valid_from = models.DateTimeField()
    expires_at = models.DateTimeField()
    created_at = models.DateTimeField(auto_now_add=True)
    entered_by = models.ForeignKey(
        Person, on_delete=models.PROTECT, null=True, related_name="+"
    )  # of an own certificate
    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["organisation", "issuer"],
                condition=Q(retired_at__isnull=True, organisation__isnull=False),
                name="seal_key_one_in_use",
            ),
            models.UniqueConstraint(
                fields=["issuer"],
                condition=Q(retired_at__isnull=True, organisation__isnull=True),
                name="seal_key_one_of_service",
            ),
            models.CheckConstraint(
                condition=Q(issuer="installation")
                | Q(issuer="own", organisation__isnull=False, entered_by__isnull=False),
                name="seal_key_issuer_known",
            ),
        ]

    def __str__(self) -> str:
        return self.fingerprint

    def get_absolute_url(self) -> str:
        """The page of the firm's seal in its register; of the service's, the installation's."""
        if self.organisation is None:
            return reverse("parties:installation")
        own = self.organisation.seats.get(side=Side.OWN)
        return reverse("parties:seal", args=[own.dossier_id])


class DocumentSeal(DossierRow):
    """One seal on one PDF of a dossier, in words that pages show. Never changed."""

    class Stamp(models.TextChoices):
        UNASKED = "none", _("no time stamp: none is set up here")
        STAMPED = "made", _("with a time stamp")
        UNREACHABLE = "unreachable", _("without a time stamp: the authority could not be reached")
        REFUSED = "refused", _("without a time stamp: the authority gave none that holds")

    digest = models.CharField(max_length=64)  # SHA-256 of the PDF
    place = models.PositiveSmallIntegerField()  # first, second, third seal of the file
    key = models.ForeignKey(SealKey, on_delete=models.PROTECT, related_name="+")
    side = models.CharField(max_length=16)  # "system" for the service's certification
    holder = models.CharField(max_length=160)  # the organisation's name, empty for the service
    stamp = models.CharField(max_length=16, choices=Stamp.choices)
    sealed_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["dossier", "digest", "place"], name="seal_place_once"),
        ]

    def __str__(self) -> str:
        return f"{self.digest}: {self.place}"

    def side_words(self) -> str:
        """For whom: the side, or this service."""
        return str(dict(Side.choices).get(self.side, _("this service")))

    def get_absolute_url(self) -> str:
        """The dossier in which it stands."""
        return self.dossier.get_absolute_url()
