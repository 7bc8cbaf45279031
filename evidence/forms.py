"""Forms of the evidence acts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.text import format_lazy
from django.utils.translation import gettext, gettext_lazy
from django.utils.translation import gettext_lazy as _

from evidence.models import FILED_WORDS, Comparator, Direction, Outcome, Sitting
from evidence.reading_words import (
    error_words,
    shown_digest,
    understanding_of,
    understood,
)
from evidence.transitions import Said
from method.readers import ReadError, Reading
from method.readers.reading import STRUCTURAL
from method.terms.models.measurement import MEASURING_BACKING_WORDS, UV_WORDS
from method.terms.models.tolerances import GEOMETRY_WORDS
from method.terms.models.viewing import LIGHT_WORDS
from parties.capacity import Capacity
from parties.forms import ActForm
from parties.models import Booth, Chip, Instrument, Observer, Reference, Role, Sitter
from parties.own import own_register


def unless_said(words: Mapping[str, str]) -> list[tuple[str, Any]]:
    """Choices of a field of the terms, in the terms' own ids; silence first."""
    return [("", _("not said")), *((key, gettext_lazy(text)) for key, text in words.items())]


NUMBERS = ("aperture", "temperature_c", "age_hours", "hours_since_white")


def decimal_field(label: Any, least: int = 0) -> forms.DecimalField:
    """A number that may stay unsaid."""
    return forms.DecimalField(
        label=label, required=False, min_value=least, max_digits=8, decimal_places=2
    )


def plain(value: Decimal | None) -> str:
    """A number as documents carry it, without idle zeros; unsaid is empty."""
    return "" if value is None else f"{value.normalize():f}"


class SubjectForm(ActForm):
    """A form about a subject, which the link that leads here names."""

    subject = forms.CharField(max_length=80, required=False, widget=forms.HiddenInput)

    def prepare(self) -> None:
        """Take the subject from the address when the page is opened."""
        if self.request is not None and not self.is_bound:
            self.initial["subject"] = self.request.GET.get("subject", "")


class UploadForm(SubjectForm):
    """A measurement file."""

    upload = forms.FileField(
        label=_("Measurement file"),
        help_text=_(
            "Spectral reflectance as text (CSV, tab-separated, CGATS.17), workbook (.xlsx) or "
            "CxF3, up to 20 MiB. You see what was understood before anything counts; the file "
            "itself is kept as it is."
        ),
    )


class ReadingForm(ActForm):
    """Confirm how a file is read: the reader's questions, the instrument, the condition.

    Nothing is confirmed that was not shown: where an answer changes what is read, the page is shown
    again with that, and only what is sent from there is taken. ``understanding`` is what the page
    shows, ``shown`` says which.
    """

    shown = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)
    instrument = forms.ModelChoiceField(Instrument.objects.none(), label=_("Instrument"))
    measured_on = forms.DateField(
        label=_("Measured on"), widget=forms.DateInput(attrs={"type": "date"})
    )
    zone = forms.CharField(label=_("Time zone of that place"), initial="UTC", max_length=64)
    geometry = forms.ChoiceField(
        label=_("Geometry"), choices=unless_said(GEOMETRY_WORDS), required=False
    )
    aperture = decimal_field(_("Aperture (mm)"))
    uv = forms.ChoiceField(
        label=_("Ultraviolet in the light"), choices=unless_said(UV_WORDS), required=False
    )
    backing = forms.ChoiceField(
        label=_("Backing"), choices=unless_said(MEASURING_BACKING_WORDS), required=False
    )
    temperature_c = decimal_field(_("Temperature of the specimens (°C)"), least=-50)
    age_hours = decimal_field(_("Hours since the specimens were made"))
    hours_since_white = decimal_field(_("Hours since the white calibration"))
    orientation = forms.CharField(label=_("Orientation"), required=False, max_length=120)
    place = forms.CharField(
        label=_("Place on the piece"),
        required=False,
        max_length=120,
        help_text=_(
            "Where the terms name measuring places: which one this file reads, by that name. "
            "Give each place a file of its own."
        ),
    )
    reference = forms.ModelChoiceField(
        Reference.objects.none(),
        label=_("Readings of a reference"),
        required=False,
        help_text=_("Only if this file holds readings of a reference and not of specimens."),
    )

    def prepare(self) -> None:
        """Ask what the reader could not know from the file."""
        register = own_register(self.by)
        field: Any = self.fields["instrument"]
        field.queryset = Instrument.objects.visible_to(register).current()
        booths = Booth.objects.visible_to(register).current().filter(retired=False)
        zones = set(booths.values_list("zone", flat=True))
        if len(zones) == 1:  # where the firm's own booths stand, rather than nobody's zone
            self.fields["zone"].initial = zones.pop()
        reference: Any = self.fields["reference"]
        reference.queryset = references_open_to(self.by.sitter, register)
        self.questions: list[str] = []
        self.unseen = ""
        try:
            first = understood(self.obj)
        except ReadError as error:
            self.understanding = {"error": error_words(error)}
            return
        reading = self._reading(first)
        self.understanding = understanding_of(reading)
        self._show(first, reading)
        self._suggest(reading)
        for question in reading.questions:
            name = f"answer_{question.id}"
            self.questions.append(name)
            words = gettext(question.message) % question.params
            if question.choices:
                choices = [(choice.value, gettext(choice.message)) for choice in question.choices]
                self.fields[name] = forms.ChoiceField(
                    label=words, choices=choices, widget=forms.RadioSelect
                )
            else:
                self.fields[name] = forms.CharField(label=words, max_length=80)
        self.order_fields(self.questions)  # what the file left open comes first

    def _reading(self, first: Reading) -> Reading:
        """The file as read under the answers sent so far: one answer may open a question."""
        if not self.is_bound:
            return first
        sent = {question: self.data.get(f"answer_{question}") for question in STRUCTURAL}
        try:
            return first.again({id: str(value) for id, value in sent.items() if value})
        except ReadError:  # the answer's own fault, named when it is confirmed
            return first

    def _show(self, first: Reading, reading: Reading) -> None:
        """Say in the form what its page shows, and note if what was sent came from another one.

        A page shows at first what the file says without answers: a call that names nothing has
        seen no more.
        """
        now = shown_digest(reading)
        self.initial["shown"] = now
        if not self.is_bound:
            return
        if (self.data.get("shown") or shown_digest(first)) != now:
            self.unseen = now
        self.data = self.data.copy()
        self.data["shown"] = now

    def clean(self) -> dict[str, Any]:
        """Refuse what the page has not shown, unless it is refused in any case."""
        if self.unseen and not self.understanding["unusable"]:
            words = _(
                "Your answers change what is read, as the page now shows. Look at it, then confirm "
                "again."
            )
            if hasattr(self.request, "_request"):  # a call has no page: it is told what to send
                self.add_error("shown", [words, self.unseen])
            else:
                self.add_error(None, words)
        return self.cleaned_data

    def _suggest(self, reading: Reading) -> None:
        """Fill in what the file itself says of the condition, to be confirmed."""
        geometry = reading.known("geometry")
        if geometry == "d:8":
            geometry = {"included": "di:8", "excluded": "de:8"}.get(reading.known("specular") or "")
        said = {
            "geometry": geometry if geometry in GEOMETRY_WORDS else None,
            "uv": reading.known("uv") if reading.known("uv") in UV_WORDS else None,
            "backing": reading.known("backing"),
            "aperture": reading.known("aperture"),
        }
        if said["backing"] not in MEASURING_BACKING_WORDS:
            said["backing"] = None
        for name, value in said.items():
            if value:
                self.initial.setdefault(name, value)

    def values(self) -> dict[str, Any]:
        """Answers and condition as the transition takes them."""
        data = self.cleaned_data
        condition = {name: data[name] for name in ("geometry", "uv", "backing", "orientation")}
        condition |= {name: plain(data[name]) for name in NUMBERS}
        return {
            "answers": {name.removeprefix("answer_"): data[name] for name in self.questions},
            "instrument": data["instrument"],
            "measured_on": data["measured_on"],
            "zone": data["zone"],
            "condition": condition,
            "place": data["place"],
            "reference": data["reference"],
        }


class StoredReadingForm(ActForm):
    """Whose stored reading this becomes."""

    reference = forms.ModelChoiceField(Reference.objects.none(), label=_("Reference"))

    def prepare(self) -> None:
        """References that one's own side entered and that have no reading yet."""
        field: Any = self.fields["reference"]
        open_ones = references_open_to(self.by.sitter, own_register(self.by))
        field.queryset = open_ones.filter(reading="", recorded_by__in=own_codes(self.by))


class SetAsideForm(ActForm):
    """Why a row is left out."""

    reason = forms.CharField(label=_("Reason"), max_length=300)


class SittingForm(SubjectForm):
    """Where, when, under which lights and against what specimens are judged."""

    day = forms.DateField(
        label=_("Day at the booth"), widget=forms.DateInput(attrs={"type": "date"})
    )
    booth = forms.ModelChoiceField(Booth.objects.none(), label=_("Booth"))
    procedure = forms.ChoiceField(label=_("Procedure"), choices=Sitting.Procedure.choices)
    comparator = forms.ChoiceField(label=_("Compared with"), choices=Comparator.choices)
    reference = forms.ModelChoiceField(
        Reference.objects.none(), label=_("Reference specimen"), required=False
    )
    chip = forms.ModelChoiceField(
        Chip.objects.none(),
        label=_("Tear-off chip"),
        required=False,
        help_text=_("A chip is used once: it counts as used from now on, whatever is judged."),
    )
    illuminants = forms.MultipleChoiceField(
        label=_("Lights used"),
        choices=[(name, name) for name in LIGHT_WORDS],
        widget=forms.CheckboxSelectMultiple,
    )
    warm_up_minutes = forms.IntegerField(
        label=_("Lamps warmed up for (minutes)"), min_value=0, max_value=600
    )
    adaptation_minutes = forms.IntegerField(
        label=_("Observers adapted to the light for (minutes)"), min_value=0, max_value=600
    )
    specimens = forms.CharField(
        label=_("Specimens, one on a line"), widget=forms.Textarea(attrs={"rows": 6})
    )
    scan = forms.FileField(
        label=_("Scan of the printed sheet"),
        required=False,
        help_text=_(
            "If the judgements were written on paper at the booth. The scan enters the record when "
            "the evidence is handed in, and the other side and the auditor can open it: no names "
            "may stand on it, only the observers' codes."
        ),
    )

    def prepare(self) -> None:
        """Booths and references of one's own firm, references of this dossier."""
        super().prepare()
        register = own_register(self.by)
        booth: Any = self.fields["booth"]
        booth.queryset = Booth.objects.visible_to(register).current()
        reference: Any = self.fields["reference"]
        reference.queryset = references_open_to(self.by.sitter, register)
        chip: Any = self.fields["chip"]
        chip.queryset = unused_chips(self.by.sitter, register)
        packs = {pack.key: pack.name for pack in reference.queryset if pack.kind == "chip_pack"}
        chip.label_from_instance = lambda one: f"{packs.get(one.reference_key, '?')}: {one.label}"

    def values(self) -> dict[str, Any]:
        """Specimens as a list."""
        return self.cleaned_data | {"specimens": self.cleaned_data["specimens"].splitlines()}


def references_open_to(sitter: Sitter, register: Sitter) -> Any:
    """References of the agreement and of one's own register, as they stand now."""
    here = Reference.objects.visible_to(sitter).current()
    own = Reference.objects.visible_to(register).current()
    return (here | own).order_by("kind", "colour")


def unused_chips(sitter: Sitter, register: Sitter) -> Any:
    """Chips of packs in the agreement and in one's own register that were not used yet."""
    here = Chip.objects.visible_to(sitter).current()
    own = Chip.objects.visible_to(register).current()
    return (here | own).filter(used_on=None, retired=False).order_by("reference_key", "name")


class DocumentForm(SubjectForm):
    """A report, certificate, photograph or record."""

    upload = forms.FileField(label=_("File"), help_text=_("Any kind of file, up to 20 MiB."))
    answers = forms.ChoiceField(label=_("What it is"), choices=FILED_WORDS)
    note = forms.CharField(label=_("Note"), required=False, max_length=300)


class RetainForm(SubjectForm):
    """A piece under seal."""

    seal = forms.CharField(label=_("Seal number"), max_length=60)
    specimen = forms.CharField(
        label=_("Specimen"),
        required=False,
        max_length=80,
        help_text=_("Its label, if it was read or judged as well."),
    )
    note = forms.CharField(label=_("Note"), required=False, max_length=300)


def own_codes(by: Capacity) -> list[str]:
    """Under which codes people of this side recorded things, here and in their register."""
    seats = Sitter.objects.filter(seat__organisation=by.organisation)
    return list(seats.values_list("code", flat=True))


class JudgingForm(ActForm):
    """One observer's word on every specimen of the sitting."""

    outcomes = [*Outcome.choices, ("", _("not judged"))]
    observer = forms.ModelChoiceField(Observer.objects.none(), label=_("Observer"))
    illuminant = forms.ChoiceField(label=_("Under"), required=False)

    def prepare(self) -> None:
        """A group of fields per specimen; an observer's own login offers only that observer."""
        register = own_register(self.by)
        observers = Observer.objects.visible_to(register).current()
        if self.by.role == Role.OBSERVER:
            observers = observers.filter(person=self.by.person)
        field: Any = self.fields["observer"]
        field.queryset = observers
        field.label_from_instance = lambda observer: observer.name
        if self.by.role == Role.OBSERVER:
            field.initial = observers.first()
        light: Any = self.fields["illuminant"]
        light.choices = [("", _("all lights of the sitting"))] + [
            (name, name) for name in self.obj.illuminants
        ]
        for number, specimen in enumerate(self.obj.specimens):
            self._specimen(number, specimen)

    def _specimen(self, number: int, specimen: str) -> None:
        self.fields[f"outcome_{number}"] = forms.ChoiceField(
            label=format_lazy(_("{specimen}: judgement"), specimen=specimen),
            choices=self.outcomes,
            widget=forms.RadioSelect,
            required=False,
        )
        self.fields[f"directions_{number}"] = forms.MultipleChoiceField(
            label=format_lazy(_("{specimen}: how it differs"), specimen=specimen),
            choices=Direction.choices,
            widget=forms.CheckboxSelectMultiple,
            required=False,
        )

    @property
    def general(self) -> list[tuple[forms.BoundField, Any]]:
        """Who and under which light, with their errors: what stands above the table."""
        return [(self[name], self[name].errors) for name in ("observer", "illuminant")]

    @property
    def heads(self) -> list[Any]:
        """Words of the columns after the specimen."""
        return [words for _value, words in [*self.outcomes, *Direction.choices]]

    @property
    def rows(self) -> Iterator[dict[str, Any]]:
        """One row per specimen: its inputs in the order of `heads`, its errors."""
        for number, specimen in enumerate(self.obj.specimens):
            outcome, directions = self[f"outcome_{number}"], self[f"directions_{number}"]
            yield {
                "specimen": specimen,
                "inputs": [*outcome, *directions],
                "errors": [*outcome.errors, *directions.errors],
            }

    def clean(self) -> dict[str, Any]:
        """At least one specimen is judged."""
        data = super().clean() or self.cleaned_data
        if not any(data.get(f"outcome_{n}") for n in range(len(self.obj.specimens))):
            raise forms.ValidationError(_("Judge at least one specimen."), code="none")
        return data

    def values(self) -> dict[str, Any]:
        """Judged specimens only."""
        data = self.cleaned_data
        said = [
            Said(specimen, data[f"outcome_{number}"], data[f"directions_{number}"])
            for number, specimen in enumerate(self.obj.specimens)
            if data[f"outcome_{number}"]
        ]
        return {"observer": data["observer"], "illuminant": data["illuminant"], "said": said}
