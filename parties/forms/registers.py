"""Forms of register rows, made from the columns so that labels and limits are written once."""

from __future__ import annotations

import datetime as dt
import uuid
import zoneinfo
from typing import Any, ClassVar

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.db import models
from django.utils.translation import gettext_lazy as _

from ledger import clock
from method.terms.models.viewing import LIGHT_WORDS
from parties.forms.base import ActForm
from parties.models import Booth, Instrument, Observer, Person, Reference, RegisterRow
from parties.models.registers.references import LIKE_PART

MOST_SCAN_BYTES = 10 * 2**20
SCAN_TYPES = ("application/pdf", "image/png", "image/jpeg")
OTHER_LIGHTS = 3
LIGHT_FACTS = ("illuminant", "technology", "lamp_hours", "lamp_limit", "illuminance_lux")
ILLUMINANTS = tuple(name for name in LIGHT_WORDS if name != "D65")  # the daylight stands apart


def day_input() -> forms.DateInput:
    """A day, written YYYY-MM-DD as the browser's own control does."""
    return forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


class RegisterForm(ActForm):
    """The columns of a row: empty for a new thing, those of the last row for a newer one."""

    model: ClassVar[type[RegisterRow]]
    left_out: ClassVar[frozenset[str]] = frozenset()

    def prepare(self) -> None:
        for name in ("name", *self.model.facts, "valid_from", "retired"):
            if name not in self.left_out and name not in self.fields:
                self.fields[name] = self._field(name)
        self.order_fields(["name", "kind", "made_as"])  # what it is comes first
        row = self.row
        if row is None:
            del self.fields["retired"]
            self.fields["valid_from"].initial = clock.now().date()
            return
        for name, field in self.fields.items():
            if name != "valid_from" and hasattr(row, name):
                field.initial = getattr(row, name)
        self.fields["valid_from"].initial = clock.now().date()

    @property
    def row(self) -> RegisterRow | None:
        """The row that is superseded, or None for a new thing."""
        return self.obj if isinstance(self.obj, RegisterRow) else None

    def _field(self, name: str) -> forms.Field:
        column = self.model._meta.get_field(name)
        if isinstance(column, models.DateField):
            return column.formfield(widget=day_input())
        return column.formfield()


class ObserverForm(RegisterForm):
    """Private facts of an observer; asked of the quality lead only."""

    model = Observer
    left_out = frozenset({"scan_name"})

    person = forms.ModelChoiceField(
        label=_("Their login"), queryset=Person.objects.none(), required=False
    )
    scan = forms.FileField(
        label=_("Scan of the test sheet"),
        help_text=_("PDF, PNG or JPEG, at most 10 MB. Seen by you and the observer only."),
        required=False,
    )

    def prepare(self) -> None:
        self.fields["person"].queryset = Person.objects.filter(
            memberships__organisation=self.by.organisation, memberships__active=True
        )
        super().prepare()
        self.fields["score"].help_text = _(
            "Total error score of the physical 85-cap test, copied from the sheet. "
            "A screening, not a diagnosis. A test on a screen does not count."
        )
        self.fields["borrowed_from"].help_text = _(
            "Only for an observer of another firm. Their judgements count where the terms admit "
            "borrowed observers, on the days for which their firm lends them."
        )
        self.fields["grant_until"].help_text = _("Left empty: until further notice.")

    def clean_scan(self) -> Any:
        """Only sheets that can be looked at later."""
        scan = self.cleaned_data["scan"]
        if not isinstance(scan, UploadedFile):
            return None  # without a new file Django hands on the digest of the one that stands
        if scan.size > MOST_SCAN_BYTES or scan.content_type not in SCAN_TYPES:
            raise forms.ValidationError(_("A PDF, PNG or JPEG of at most 10 MB is expected."))
        return scan

    def clean(self) -> dict[str, Any]:
        """A score belongs to a day, and the other way round; no test in the future."""
        values = super().clean() or self.cleaned_data
        for score, day in (("score", "tested_on"), ("earlier_score", "earlier_tested_on")):
            if (values.get(score) is None) != (values.get(day) is None):
                self.add_error(day, _("Give the score and the day of the test together."))
        later, earlier = values.get("tested_on"), values.get("earlier_tested_on")
        if earlier and (later is None or earlier >= later):
            self.add_error("earlier_tested_on", _("The test before lies before the last test."))
        if later and later > clock.now().date() + dt.timedelta(days=1):
            self.add_error("tested_on", _("This day lies in the future."))
        self._lent(values)
        return values

    def _lent(self, values: dict[str, Any]) -> None:
        """A lending firm and the first day belong together; the last day is not before it."""
        first, last = values.get("grant_from"), values.get("grant_until")
        if bool(values.get("borrowed_from")) != bool(first):
            self.add_error("grant_from", _("Give the lending firm and the first day together."))
        if last and (first is None or last < first):
            self.add_error("grant_until", _("The last day is not before the first one."))

    def values(self) -> dict[str, Any]:
        """Without a new scan the old one stays."""
        values = super().values()
        if not values["scan"]:
            del values["scan"]
        return values


class BoothForm(RegisterForm):
    """A booth: the daylight lamp, up to three other lights, interior and room."""

    model = Booth

    def prepare(self) -> None:
        super().prepare()
        self.fields["zone"].help_text = _("For example Europe/Berlin or Asia/Shanghai.")
        known = self.row.other_lights if self.row else []
        for place in range(1, OTHER_LIGHTS + 1):
            light = known[place - 1] if place <= len(known) else {}
            self._light(place, light)

    def _light(self, place: int, light: dict[str, Any]) -> None:
        choices = [("", "—"), *((name, name) for name in ILLUMINANTS)]
        fields = {
            "illuminant": forms.ChoiceField(
                label=_("Other light %(place)s") % {"place": place}, choices=choices
            ),
            "technology": forms.CharField(label=_("its technology"), max_length=160),
            "lamp_hours": forms.IntegerField(label=_("its hours"), min_value=0),
            "lamp_limit": forms.IntegerField(label=_("its relamping limit"), min_value=1),
            "illuminance_lux": forms.DecimalField(
                label=_("its illuminance (lx)"), min_value=0, max_digits=8, decimal_places=2
            ),
        }
        for name, field in fields.items():
            field.required = False
            field.initial = light.get(name)
            self.fields[f"light{place}_{name}"] = field

    def clean_zone(self) -> str:
        """A name of the time zone database."""
        zone = self.cleaned_data["zone"]
        if zone not in zoneinfo.available_timezones():
            raise forms.ValidationError(_("This is no name of a time zone."))
        return str(zone)

    def values(self) -> dict[str, Any]:
        """The other lights as one list; a light without an illuminant is left out."""
        values = super().values()
        lights = []
        for place in range(1, OTHER_LIGHTS + 1):
            light = {name: values.pop(f"light{place}_{name}", None) for name in LIGHT_FACTS}
            if light["illuminance_lux"] is not None:
                light["illuminance_lux"] = f"{light['illuminance_lux'].normalize():f}"
            if light["illuminant"]:
                lights.append({name: v for name, v in light.items() if v not in (None, "")})
        return {**values, "other_lights": lights}


class InstrumentForm(RegisterForm):
    """A measuring instrument."""

    model = Instrument

    def clean(self) -> dict[str, Any]:
        """The wavelength grid is whole or absent."""
        values = super().clean() or self.cleaned_data
        start, end, step = (values.get(f"grid_{name}") for name in ("start", "end", "step"))
        if any((start, end, step)) and not all((start, end, step)):
            self.add_error("grid_start", _("Give first, last and step, or none of them."))
        elif start and end and step and (end <= start or (end - start) % step):
            self.add_error("grid_end", _("The steps do not lead from the first to the last."))
        return values


class ReferenceForm(RegisterForm):
    """A reference. Its stored reading is attached from the evidence, never typed."""

    model = Reference
    left_out = frozenset({"reading", "approval"})

    master_key = forms.TypedChoiceField(
        label=_("Duplicate of"), coerce=uuid.UUID, empty_value=None, required=False
    )

    like_part = forms.MultipleChoiceField(
        label=_("Made as the part is, in"),
        choices=LIKE_PART,
        widget=forms.CheckboxSelectMultiple,
        required=False,
    )

    def prepare(self) -> None:
        super().prepare()
        masters = (
            Reference.objects.visible_to(self.by.sitter)
            .current()
            .filter(kind=Reference.Kind.MASTER)
        )
        self.fields["master_key"].choices = [("", "—"), *((str(m.key), m.name) for m in masters)]
        self.fields["expires_on"].help_text = _(
            "Left empty: twelve months after it was opened or issued (common practice)."
        )


class ChipsForm(ActForm):
    """Labels of the chips of a pack."""

    labels = forms.CharField(
        label=_("Labels"),
        help_text=_("One label to a line, as printed on the chips."),
        widget=forms.Textarea(attrs={"rows": 8}),
    )

    def clean_labels(self) -> list[str]:
        """The lines, without empty ones."""
        labels = [line.strip() for line in self.cleaned_data["labels"].splitlines()]
        labels = [label for label in labels if label]
        if any(len(label) > 60 for label in labels) or len(labels) > 500:
            raise forms.ValidationError(_("At most 500 labels of at most 60 characters each."))
        return labels


class UseChipForm(ActForm):
    """When and for what a chip was torn off."""

    used_on = forms.DateField(label=_("Used on"), widget=day_input())
    used_for = forms.CharField(label=_("Used for"), max_length=160, required=False)

    def prepare(self) -> None:
        self.fields["used_on"].initial = clock.now().date()
