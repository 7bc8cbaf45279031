"""References: masters, duplicates, limit samples, chip packs, sealed and retained pieces."""

from __future__ import annotations

from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy
from django.utils.translation import gettext_lazy as _

from method.terms.models.references import KIND_WORDS, MATCH_WORDS
from method.terms.models.tolerances import ILLUMINANT_WORDS, OBSERVER_WORDS
from parties.models.registers.base import RegisterRow, day, decimal, line

# The words of clause 4, so that a reference can be held against the terms.
MADE_AS = [(key, gettext_lazy(text)) for key, text in KIND_WORDS.items()]
LIGHTS = [(key, gettext_lazy(text)) for key, text in ILLUMINANT_WORDS.items()]
ANGLES = [(key, gettext_lazy(text)) for key, text in OBSERVER_WORDS.items()]
LIKE_PART = [(key, gettext_lazy(text)) for key, text in MATCH_WORDS.items()]


class Reference(RegisterRow):
    """A reference specimen, in a firm's register or shared in an agreement's dossier."""

    class Kind(models.TextChoices):
        MASTER = "master", _("master")
        DUPLICATE = "duplicate", _("duplicate (working standard)")
        LIMIT_SAMPLE = "limit_sample", _("limit sample")
        CHIP_PACK = "chip_pack", _("pack of tear-off chips")
        SEALED = "sealed", _("sealed sample")
        RETAINED = "retained", _("retained piece")

    kind = models.CharField(_("kind"), max_length=16, choices=Kind.choices)
    made_as = line(_("what it is"), 32, choices=MADE_AS)
    like_part = models.JSONField(_("made as the part is, in"), blank=True, default=list)
    part = line(_("part number"))
    colour = line(_("colour"))
    master_key = models.UUIDField(_("duplicate of"), null=True, blank=True)
    substrate = line(_("substrate"))
    thickness_mm = decimal(_("thickness (mm)"))
    finish = line(_("finish"))
    edition = line(_("edition and variant"))
    seal = line(_("seal number"), 60)
    issued_on = day(_("issued on"))
    opened_on = day(_("opened on"))
    expires_on = day(_("expires on"))
    offset_L = decimal(_("offset from the master ΔL*"))
    offset_a = decimal(_("offset from the master Δa*"))
    offset_b = decimal(_("offset from the master Δb*"))
    offset_illuminant = line(_("illuminant of the offset"), 16, choices=LIGHTS)
    offset_observer = line(_("colorimetric observer of the offset"), 2, choices=ANGLES)
    difference = decimal(_("difference from the master (ΔE00)"))
    drift = decimal(_("drift since its first reading (ΔE00)"))
    reading = line(_("digest of its stored reading"), 64)
    approval = line(_("approved as first article"), 60)
    storage = line(_("storage"), 300)
    custody = line(_("held by"))

    noun = "reference"
    facts = (
        "kind",
        "made_as",
        "like_part",
        "part",
        "colour",
        "substrate",
        "thickness_mm",
        "finish",
        "edition",
        "seal",
        "issued_on",
        "opened_on",
        "expires_on",
        "offset_L",
        "offset_a",
        "offset_b",
        "offset_illuminant",
        "offset_observer",
        "difference",
        "drift",
        "reading",
        "approval",
        "storage",
        "custody",
    )

    def get_like_part_display(self) -> str:
        """In what it is made as the part is, in words."""
        words = dict(LIKE_PART)
        return ", ".join(str(words[name]) for name in self.like_part)

    class Meta(RegisterRow.Meta):
        constraints = [
            *RegisterRow.Meta.constraints,
            models.CheckConstraint(
                condition=Q(
                    kind__in=[
                        "master",
                        "duplicate",
                        "limit_sample",
                        "chip_pack",
                        "sealed",
                        "retained",
                    ]
                ),
                name="reference_kind_known",
            ),
        ]


class Chip(RegisterRow):
    """A tear-off chip of a pack: used once. The row that says so supersedes the first one."""

    reference_key = models.UUIDField(_("pack"), db_index=True)
    used_on = day(_("used on"))
    used_for = line(_("used for"))

    noun = "chip"
    facts = ("used_on", "used_for")

    class Meta(RegisterRow.Meta):
        pass

    @property
    def label(self) -> str:
        """What is printed on the chip."""
        return self.name

    def get_absolute_url(self) -> str:
        """The pack it belongs to."""
        pack = Reference.objects.filter(
            dossier=self.dossier_id, key=self.reference_key, superseded_by__isnull=True
        ).get()
        return reverse("parties:reference", kwargs={"dossier": self.dossier_id, "pk": pack.pk})
