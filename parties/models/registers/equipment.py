"""Booths and instruments as their owners declare them."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from parties.models.registers.base import RegisterRow, count, day, decimal, line


class Booth(RegisterRow):
    """A viewing booth. Hours are what the counter showed on the day the row holds from.

    Its daylight lamp has columns of its own; `other_lights` is a list of further lights, each
    {"illuminant", "technology", "lamp_hours", "lamp_limit", "illuminance_lux" (decimal text)}.
    """

    class Category(models.TextChoices):
        A = "A", _("category A")
        B = "B", _("category B")
        C = "C", _("category C")
        D = "D", _("category D")
        E = "E", _("category E")

    technology = line(_("technology of the daylight lamp"))
    simulator_category = line(
        _("declared category of the daylight simulator"), 1, choices=Category.choices
    )
    simulator_category_uv = line(
        _("its declared category in the ultraviolet"), 1, choices=Category.choices
    )
    report_on = day(_("date of the service report"))
    illuminance = decimal(_("illuminance on the specimen plane (lx)"))
    lamp_hours = count(_("hours of the daylight lamp"))
    lamp_limit = count(_("relamping limit (hours)"), 1)
    relamped_on = day(_("relamped on"))
    other_lights = models.JSONField(_("other lights"), blank=True, default=list)
    warm_up_minutes = count(_("warm-up (minutes)"))
    checked_on = day(_("last daily check"))
    interior_L = decimal(_("interior L*"))
    interior_a = decimal(_("interior a*"))
    interior_b = decimal(_("interior b*"))
    surround_L = decimal(_("room around the booth L*"))
    surround_a = decimal(_("room around the booth a*"))
    surround_b = decimal(_("room around the booth b*"))
    zone = models.CharField(_("time zone of its place"), max_length=64, default="UTC")

    noun = "booth"
    facts = (
        "technology",
        "simulator_category",
        "simulator_category_uv",
        "report_on",
        "illuminance",
        "lamp_hours",
        "lamp_limit",
        "relamped_on",
        "warm_up_minutes",
        "checked_on",
        "interior_L",
        "interior_a",
        "interior_b",
        "surround_L",
        "surround_a",
        "surround_b",
        "zone",
    )

    class Meta(RegisterRow.Meta):
        pass


class Instrument(RegisterRow):
    """A measuring instrument."""

    class Geometry(models.TextChoices):
        """Written as the terms write them (method.terms)."""

        DIRECTIONAL = "45:0", _("45:0")
        INCLUDED = "di:8", _("di:8 (specular included)")
        EXCLUDED = "de:8", _("de:8 (specular excluded)")

    class Ultraviolet(models.TextChoices):
        INCLUDED = "included", _("included")
        EXCLUDED = "excluded", _("excluded")
        ADJUSTED = "adjusted", _("adjusted to D65")

    geometry = line(_("geometry"), 16, choices=Geometry.choices)
    aperture_mm = decimal(_("measuring aperture (mm)"))
    uv = line(_("ultraviolet in the light"), 16, choices=Ultraviolet.choices)
    grid_start = count(_("first wavelength (nm)"), 1)
    grid_end = count(_("last wavelength (nm)"), 1)
    grid_step = count(_("wavelength step (nm)"), 1)
    calibrated_on = day(_("calibrated on"))
    calibration_due = day(_("calibration due"))
    repeatability = decimal(_("repeatability (CIEDE2000, mean of repeated readings of a tile)"))

    noun = "instrument"
    facts = (
        "geometry",
        "aperture_mm",
        "uv",
        "grid_start",
        "grid_end",
        "grid_step",
        "calibrated_on",
        "calibration_due",
        "repeatability",
    )

    class Meta(RegisterRow.Meta):
        pass
