"""What all register rows share: a thing has a key, its rows are versions, none is ever edited.

A correction or a new fact is a new row that supersedes the last one. `valid_from` is the day from
which a row holds, `recorded_at` the moment it was written: a verdict takes the facts of the day as
they were recorded when the evidence was handed in, whatever is written later.
"""

from __future__ import annotations

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any, TypeVar

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from ledger import clock
from parties.models.dossiers import Dossier, DossierRow, DossierRowQuerySet, Organisation, Side

RowT = TypeVar("RowT", bound="RegisterRow")


class RegisterQuerySet(DossierRowQuerySet[RowT]):
    """Versions of things; which of them count now, or counted on a day."""

    def current(self) -> RegisterQuerySet[RowT]:
        """The last row of each thing, also where it holds only from a later day."""
        return self.filter(superseded_by__isnull=True)

    def as_of(
        self, day: dt.date, recorded_until: dt.datetime | None = None
    ) -> RegisterQuerySet[RowT]:
        """The row of each thing that held on `day`, from what was recorded until that moment.

        A row recorded later for an earlier day (a correction) counts from when it was recorded.
        """
        known = Q(valid_from__lte=day, recorded_at__lte=recorded_until or clock.now())
        later = self.model._default_manager.filter(
            known, key=OuterRef("key"), version__gt=OuterRef("version")
        )
        return self.filter(known).exclude(Exists(later))

    def history(self, key: uuid.UUID) -> RegisterQuerySet[RowT]:
        """Every row of one thing, the newest first."""
        return self.filter(key=key).order_by("-version")

    def of_firm(self, organisation: Organisation) -> RegisterQuerySet[RowT]:
        """Rows of a firm's own register. Only for transitions and pages of that firm: what may
        be seen on a page still starts from `visible_to` of a sitter in that register."""
        return self.filter(
            dossier__purpose=Dossier.Purpose.REGISTER,
            dossier__seats__side=Side.OWN,
            dossier__seats__organisation=organisation,
        )


class RegisterRow(DossierRow):
    """One version of a thing in a register. Rows are inserted and never changed or removed."""

    key = models.UUIDField(default=uuid.uuid4, editable=False, db_index=True)
    version = models.PositiveIntegerField(default=1, editable=False)
    valid_from = models.DateField(_("holds from"))
    recorded_at = models.DateTimeField(_("recorded"), default=clock.now, editable=False)
    recorded_by = models.CharField(_("recorded by"), max_length=16, editable=False)
    supersedes = models.OneToOneField(
        "self",
        null=True,
        blank=True,
        editable=False,
        on_delete=models.PROTECT,
        related_name="superseded_by",
    )
    retired = models.BooleanField(_("no longer in use"), default=False)
    name = models.CharField(_("name"), max_length=300)

    objects = RegisterQuerySet.as_manager()

    noun = ""  # in addresses and URL names
    # Facts of a thing, in the order in which forms and pages show them.
    facts: tuple[str, ...] = ()

    class Meta:
        abstract = True
        ordering = ["name", "key"]
        constraints = [
            models.UniqueConstraint(
                fields=["dossier", "key", "version"], name="%(class)s_version_once"
            )
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        """The page of the thing, opened from this version."""
        kwargs: dict[str, Any] = {"dossier": self.dossier_id, "pk": self.pk}
        return reverse(f"parties:{self.noun}", kwargs=kwargs)

    def shown(self) -> list[tuple[str, str]]:
        """(label, text) of every fact that is known, for the page of the thing."""
        rows = []
        for name in self.facts:
            field = self._meta.get_field(name)
            words = getattr(self, f"get_{name}_display", None)
            value = words() if words else getattr(self, name)
            if value not in (None, "", []):
                rows.append((str(field.verbose_name), _plain(value)))
        return rows


def _plain(value: Any) -> str:
    """A fact as documents write it: days as ISO 8601, numbers without idle zeros."""
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    return value.isoformat() if isinstance(value, dt.date) else str(value)


def decimal(words: Any, **options: Any) -> models.DecimalField:
    """An optional decimal column, six figures after the point."""
    return models.DecimalField(
        words, max_digits=14, decimal_places=6, null=True, blank=True, **options
    )


def count(words: Any, least: int = 0) -> models.PositiveIntegerField:
    """An optional whole number."""
    return models.PositiveIntegerField(
        words, null=True, blank=True, validators=[MinValueValidator(least)]
    )


def day(words: Any, **options: Any) -> models.DateField:
    """An optional day."""
    return models.DateField(words, null=True, blank=True, **options)


def line(words: Any, length: int = 300, **options: Any) -> models.CharField:
    """An optional line of text."""
    return models.CharField(words, max_length=length, blank=True, default="", **options)
