"""Organisations, dossiers and seats: the one home of who may see what.

A dossier is a closed room (an agreement, or a firm's register) with one chain. An organisation has
a seat in it, a person sits on that seat with a role. Every row of the apps above belongs to a
dossier; `visible_to` decides which of them a sitter sees and is written only here.
"""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterable
from typing import Any, TypeVar

from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from ledger import clock
from parties.models.people import Person


class Role(models.TextChoices):
    """What a person does for their organisation."""

    ADMINISTRATOR = "administrator", _("administrator")
    QUALITY_LEAD = "quality_lead", _("quality lead")
    DEPUTY = "deputy", _("deputy")
    QUALITY_STAFF = "quality_staff", _("quality staff")
    OBSERVER = "observer", _("observer")
    READER = "reader", _("reader")


class Side(models.TextChoices):
    """What an organisation is in a dossier."""

    CUSTOMER = "customer", _("customer")
    SUPPLIER = "supplier", _("supplier")
    AUDITOR = "auditor", _("auditor")
    REFEREE = "referee", _("referee")
    COLOUR_OWNER = "colour_owner", _("colour owner")
    OWN = "own", _("own register")


class Organisation(models.Model):
    """A firm: customer in one agreement, supplier in another."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    name = models.CharField(_("name"), max_length=160)
    created_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return self.name


class Membership(models.Model):
    """A person works for an organisation, in the role they take on its new seats."""

    organisation = models.ForeignKey(
        Organisation, on_delete=models.PROTECT, related_name="memberships"
    )
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="memberships")
    role = models.CharField(_("role"), max_length=20, choices=Role.choices)
    active = models.BooleanField(default=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["organisation", "person"], name="member_once"),
            models.CheckConstraint(condition=Q(role__in=Role.values), name="membership_role_known"),
        ]


class DossierQuerySet(models.QuerySet["Dossier"]):
    """Dossiers start from the person: there is no list of all of them on any page."""

    def of_person(self, person: Person) -> DossierQuerySet:
        """The dossiers in which this person sits today."""
        return self.filter(id__in=Sitter.objects.today().filter(person=person).values("dossier"))


class Dossier(models.Model):
    """A closed room with one chain."""

    class Purpose(models.TextChoices):
        AGREEMENT = "agreement", _("agreement")
        REGISTER = "register", _("register")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    purpose = models.CharField(max_length=16, choices=Purpose.choices)
    title = models.CharField(_("title"), max_length=200)
    created_at = models.DateTimeField(auto_now_add=True)

    objects = DossierQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(purpose__in=["agreement", "register"]), name="dossier_purpose_known"
            )
        ]

    def __str__(self) -> str:
        return self.title

    @property
    def chain(self) -> str:
        """The name of this dossier's chain in the ledger."""
        return str(self.id)

    def get_absolute_url(self) -> str:
        """Its first page; that of an agreement belongs to an app above and is found by name."""
        name = "parties:register" if self.purpose == "register" else "agreements:overview"
        return reverse(name, kwargs={"dossier": self.id})


class Seat(models.Model):
    """An organisation's place in a dossier."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    dossier = models.ForeignKey(Dossier, on_delete=models.PROTECT, related_name="seats")
    organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="seats")
    side = models.CharField(max_length=16, choices=Side.choices)
    code = models.CharField(max_length=16)
    until = models.DateField(_("until"), null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["dossier", "side"], name="seat_one_per_side"),
            models.UniqueConstraint(fields=["dossier", "organisation"], name="seat_one_per_firm"),
            models.UniqueConstraint(fields=["dossier", "code"], name="seat_code_once"),
            models.UniqueConstraint(
                fields=["organisation"], condition=Q(side="own"), name="seat_one_register"
            ),
            models.CheckConstraint(condition=Q(side__in=Side.values), name="seat_side_known"),
        ]

    def __str__(self) -> str:
        return f"{self.organisation} ({self.get_side_display()})"

    def get_absolute_url(self) -> str:
        """The dossier in which it stands."""
        return self.dossier.get_absolute_url()


class SitterQuerySet(models.QuerySet["Sitter"]):
    """Sitters as of today: an ended seat, a person who left or may not sign in sits nowhere."""

    def today(self, day: dt.date | None = None) -> SitterQuerySet:
        """Those whose seat has not ended on `day` (UTC date of now by default)."""
        day = day or timezone.now().date()
        return self.filter(
            Q(seat__until__isnull=True) | Q(seat__until__gte=day),
            active=True,
            person__is_active=True,
        )

    def sitting(self, person: Person, dossier: uuid.UUID) -> Sitter:
        """The sitter as whom this person enters the dossier; raises Sitter.DoesNotExist."""
        return (
            self.today()
            .select_related("seat__organisation", "seat__dossier", "person", "dossier")
            .get(person=person, dossier=dossier)
        )


class Sitter(models.Model):
    """A person on a seat: nobody sits on two sides of one dossier."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    dossier = models.ForeignKey(Dossier, on_delete=models.PROTECT, related_name="sitters")
    seat = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="sitters")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="sitters")
    role = models.CharField(_("role"), max_length=20, choices=Role.choices)
    code = models.CharField(max_length=16)
    active = models.BooleanField(default=True)

    objects = SitterQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["dossier", "person"], name="sitter_one_side"),
            models.UniqueConstraint(fields=["dossier", "code"], name="sitter_code_once"),
            models.CheckConstraint(condition=Q(role__in=Role.values), name="sitter_role_known"),
        ]

    def __str__(self) -> str:
        return f"{self.person} ({self.code})"

    @property
    def side(self) -> str:
        """The side on which this person sits."""
        return self.seat.side


RowT = TypeVar("RowT", bound="DossierRow")


class DossierRowQuerySet(models.QuerySet[RowT]):
    """The one place that decides which rows of a dossier a sitter sees."""

    def visible_to(self, sitter: Sitter) -> Any:
        """Rows of the sitter's dossier that are shared, released, or their own side's."""
        return self.visible_to_any([sitter])

    def visible_to_any(self, sitters: Iterable[Sitter]) -> Any:
        """The same for one person's sitters in several dossiers, in one query."""
        dossiers: dict[str, list[uuid.UUID]] = {}
        for sitter in sitters:
            dossiers.setdefault(sitter.seat.side, []).append(sitter.dossier_id)
        seen = Q(pk__in=[])
        for side, ids in dossiers.items():
            own = Q(side_only="") | Q(released_at__isnull=False) | Q(side_only=side)
            seen |= Q(dossier__in=ids) & own
        return self.filter(seen)


class DossierRow(models.Model):
    """Base of every table above `parties`: a row of one dossier, shared or one side's only."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    dossier = models.ForeignKey(Dossier, on_delete=models.PROTECT, related_name="+")
    side_only = models.CharField(max_length=16, blank=True, default="")
    released_at = models.DateTimeField(null=True, blank=True)
    created_at = models.DateTimeField(default=clock.now, editable=False)

    objects = DossierRowQuerySet.as_manager()

    class Meta:
        abstract = True
