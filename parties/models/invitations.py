"""Invitations: a bearer token sent to one address, of which only the hash is stored."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from parties.models.dossiers import DossierRow, Organisation, Role, Side
from parties.models.people import Person


class Invitation(DossierRow):
    """Into a firm (`side` empty; the dossier is its register or an agreement it sits in), or of
    another firm into an agreement (`side` set, `organisation` empty until accepted).

    Seen by the inviting side only.
    """

    class Status(models.TextChoices):
        OPEN = "open", pgettext_lazy("invitation", "open")
        ACCEPTED = "accepted", pgettext_lazy("invitation", "accepted")
        WITHDRAWN = "withdrawn", _("withdrawn")

    email = models.EmailField(_("e-mail address"))
    role = models.CharField(_("role"), max_length=20, choices=Role.choices)
    side = models.CharField(max_length=16, blank=True, default="", choices=Side.choices)
    organisation = models.ForeignKey(
        Organisation, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    organisation_name = models.CharField(_("firm"), max_length=160, blank=True, default="")
    seat_until = models.DateField(_("seat ends after"), null=True, blank=True)
    token_hash = models.CharField(max_length=64, unique=True)
    expires_at = models.DateTimeField(_("expires"))
    status = models.CharField(max_length=16, choices=Status.choices, default=Status.OPEN)
    invited_by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    accepted_by = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    accepted_at = models.DateTimeField(null=True, blank=True)

    # Known only to the process that made the invitation, for the mail it writes; never stored.
    token: str = ""

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(status__in=["open", "accepted", "withdrawn"]),
                name="invitation_status_known",
            ),
            models.CheckConstraint(condition=Q(role__in=Role.values), name="invitation_role_known"),
            models.CheckConstraint(
                condition=Q(side__in=["", "customer", "supplier", "auditor"]),
                name="invitation_side_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.email} ({self.get_role_display()})"

    @property
    def expired(self) -> bool:
        """Whether it can no longer be accepted because of its age."""
        return self.expires_at <= timezone.now()

    def get_absolute_url(self) -> str:
        """The list in which it stands."""
        return reverse("parties:people", kwargs={"dossier": self.dossier_id})
