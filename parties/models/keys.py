"""Signing keys of signatories, the installation's root, and signatures."""

from __future__ import annotations

import uuid
from datetime import datetime

from django.db import models
from django.db.models import OuterRef, Q, Subquery
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from ledger.canonical import parse
from parties.models.dossiers import DossierRow, DossierRowQuerySet, Organisation, Side
from parties.models.people import Person

SERVICE_HELD, PASSKEY, BROWSER_HELD = "service-held", "passkey", "browser-held"
# Who could have used the key; shown wherever a signature is.
ASSURANCES = {
    PASSKEY: _("passkey of the signatory: their own device signed after making sure of them"),
    BROWSER_HELD: _("key under the signatory's passphrase, used in their browser"),
    SERVICE_HELD: _("key held by this service: whoever runs it could sign with it"),
}
SORTS = {
    PASSKEY: _("passkey"),
    BROWSER_HELD: _("key in the browser, under a passphrase"),
    SERVICE_HELD: _("key held by this service"),
}


class Installation(models.Model):
    """The root of this installation: certifies signatories' keys and signs checkpoints."""

    id = models.PositiveSmallIntegerField(primary_key=True, default=1, editable=False)
    name = models.CharField(max_length=160)
    certificate = models.BinaryField()  # DER
    sealed = models.BinaryField()  # the private part, see ledger.sealing
    fingerprint = models.CharField(max_length=64)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(id=1), name="installation_one")]

    def __str__(self) -> str:
        return self.fingerprint


class KeyQuerySet(models.QuerySet["Key"]):
    """Keys by what can be done with them."""

    def own(self) -> KeyQuerySet:
        """Those that the service cannot sign with."""
        return self.exclude(assurance=SERVICE_HELD)

    def usable(self, at: datetime) -> KeyQuerySet:
        """Not revoked, not expired, and confirmed where somebody had to confirm them."""
        confirmed = Q(needs_confirmation=False) | Q(confirmed_at__isnull=False)
        return self.filter(confirmed, revoked_at__isnull=True, expires_at__gt=at)

    def pending(self) -> KeyQuerySet:
        """Waiting for a second person."""
        return self.filter(
            needs_confirmation=True, confirmed_at__isnull=True, revoked_at__isnull=True
        )


class Key(models.Model):
    """One P-256 key of a signatory for one organisation.

    `service-held`: `sealed` is the private part, which the service can open. `passkey`: `cose` is
    the public part as the authenticator gave it, with the credential's id and where it counts.
    `browser-held`: `wrapped` is the private part under a passphrase that the service never saw.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="keys")
    organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="keys")
    assurance = models.CharField(max_length=32, choices=SORTS, default=SERVICE_HELD)
    certificate = models.BinaryField()  # DER, issued by the installation's root
    sealed = models.BinaryField()
    fingerprint = models.CharField(max_length=64, unique=True)
    # SHA-256 of the public part: one's own key is enrolled once.
    public_part = models.CharField(max_length=64, unique=True, null=True)
    credential = models.TextField(default="")  # id, unpadded base64url
    relying_party = models.CharField(max_length=253, default="")
    origin = models.CharField(max_length=300, default="")
    cose = models.BinaryField(null=True)
    sign_count = models.BigIntegerField(default=0)
    wrapped = models.JSONField(null=True)
    # What the certificate says; a change of name asks for a new key.
    name = models.CharField(max_length=120)
    organisation_name = models.CharField(max_length=160)
    replaces = models.ForeignKey("self", on_delete=models.PROTECT, null=True, related_name="+")
    needs_confirmation = models.BooleanField(default=False)
    confirmed_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, related_name="+")
    confirmed_at = models.DateTimeField(null=True)
    expires_at = models.DateTimeField()
    created_at = models.DateTimeField(auto_now_add=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    revoked_by = models.ForeignKey(Person, on_delete=models.PROTECT, null=True, related_name="+")
    revoked_reason = models.TextField(null=True)

    objects = KeyQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["person", "organisation"],
                condition=Q(revoked_at__isnull=True, assurance="service-held"),
                name="key_one_in_use",
            ),
            models.CheckConstraint(
                condition=Q(assurance="service-held", cose__isnull=True, wrapped__isnull=True)
                | Q(assurance="passkey", cose__isnull=False, wrapped__isnull=True)
                | Q(assurance="browser-held", cose__isnull=True, wrapped__isnull=False),
                name="key_of_its_sort",
            ),
        ]

    def __str__(self) -> str:
        return self.fingerprint

    def get_absolute_url(self) -> str:
        """The page of keys in the firm's register."""
        own = self.organisation.seats.get(side=Side.OWN)
        return reverse("parties:keys", kwargs={"dossier": own.dossier_id})

    @property
    def sort_words(self) -> str:
        """Which sort of key it is."""
        return str(SORTS[self.assurance])

    @property
    def assurance_words(self) -> str:
        """Who could use it."""
        return str(ASSURANCES[self.assurance])

    @property
    def is_pending(self) -> bool:
        """Whether it waits for a second person."""
        return self.needs_confirmation and self.confirmed_at is None and self.revoked_at is None


class SignatureQuerySet(DossierRowQuerySet):
    """Signatures, with what became of their keys."""

    def with_key_ends(self) -> SignatureQuerySet:
        """Each with `key_revoked_at`, None while its key stands."""
        key = Key.objects.filter(fingerprint=OuterRef("fingerprint"))
        found: SignatureQuerySet = self.annotate(key_revoked_at=Subquery(key.values("revoked_at")))
        return found


class Signature(DossierRow):
    """A signature over a statement, as it stands in the chain. Never changed."""

    what = models.CharField(max_length=40)
    subject = models.CharField(max_length=120)
    revision = models.PositiveIntegerField(null=True, blank=True)
    digest = models.CharField(max_length=64)
    intent = models.TextField(_("intent"))
    statement = models.BinaryField()
    jws = models.TextField(default="")  # empty where a passkey signed
    passkey = models.JSONField(null=True)
    fingerprint = models.CharField(max_length=64)
    signer = models.CharField(max_length=16)
    name = models.CharField(_("name"), max_length=120)
    side = models.CharField(max_length=16, choices=Side.choices)
    act = models.CharField(max_length=64)
    assurance = models.CharField(max_length=32)

    objects = SignatureQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["dossier", "what", "subject"], name="signature_subject")]
        constraints = [
            models.UniqueConstraint(
                fields=["dossier", "act", "what", "subject"], name="signature_once_an_act"
            ),
            models.CheckConstraint(condition=Q(side__in=Side.values), name="signature_side_known"),
            models.CheckConstraint(
                condition=Q(jws="", passkey__isnull=False) | (~Q(jws="") & Q(passkey__isnull=True)),
                name="signature_one_proof",
            ),
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
