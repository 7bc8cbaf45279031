"""Signing keys held by the service, the installation's root, and signatures."""

from __future__ import annotations

import uuid

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from ledger.canonical import parse
from parties.models.dossiers import DossierRow, Organisation, Side
from parties.models.people import Person

ASSURANCES = {
    "service-held": _("key held by this service: whoever runs it could sign with it"),
}


class Installation(models.Model):
    """The root of this installation: certifies signatories' keys and signs checkpoints."""

    id = models.PositiveSmallIntegerField(primary_key=True, default=1, editable=False)
    name = models.CharField(max_length=160)
    certificate = models.BinaryField()  # DER
    sealed = models.BinaryField()  # the private part, see parties.sealing
    fingerprint = models.CharField(max_length=64)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(id=1), name="installation_one")]

    def __str__(self) -> str:
        return self.fingerprint


class Key(models.Model):
    """One P-256 key of a signatory for one organisation, held by the service."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="keys")
    organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="keys")
    certificate = models.BinaryField()  # DER, issued by the installation's root
    sealed = models.BinaryField()
    fingerprint = models.CharField(max_length=64, unique=True)
    # What the certificate says; a change of name asks for a new key.
    name = models.CharField(max_length=120)
    organisation_name = models.CharField(max_length=160)
    expires_at = models.DateTimeField()
    created_at = models.DateTimeField(auto_now_add=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["person", "organisation"],
                condition=Q(revoked_at__isnull=True),
                name="key_one_in_use",
            )
        ]

    def __str__(self) -> str:
        return self.fingerprint


class Signature(DossierRow):
    """A signature over a statement, as it stands in the chain. Never changed."""

    what = models.CharField(max_length=40)
    subject = models.CharField(max_length=120)
    revision = models.PositiveIntegerField(null=True, blank=True)
    digest = models.CharField(max_length=64)
    intent = models.TextField(_("intent"))
    statement = models.BinaryField()
    jws = models.TextField()
    fingerprint = models.CharField(max_length=64)
    signer = models.CharField(max_length=16)
    name = models.CharField(_("name"), max_length=120)
    side = models.CharField(max_length=16, choices=Side.choices)
    act = models.CharField(max_length=64)
    assurance = models.CharField(max_length=32)

    class Meta:
        indexes = [models.Index(fields=["dossier", "what", "subject"], name="signature_subject")]
        constraints = [
            models.UniqueConstraint(
                fields=["dossier", "act", "what", "subject"], name="signature_once_an_act"
            ),
            models.CheckConstraint(condition=Q(side__in=Side.values), name="signature_side_known"),
        ]

    def __str__(self) -> str:
        return f"{self.what} {self.subject}: {self.signer}"

    def get_absolute_url(self) -> str:
        """The dossier in which it stands."""
        return self.dossier.get_absolute_url()

    @property
    def nonce(self) -> str:
        """The random value by which other entries name this signature."""
        return str(parse(bytes(self.statement))["nonce"])

    def assurance_words(self) -> str:
        """Who could have used the key; shown wherever the signature is."""
        return str(ASSURANCES[self.assurance])
