"""Forms of the acts on disputes."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy
from django.utils.translation import gettext_lazy as _

from disputes.settlement import FATES
from evidence.models import MeasuredSet, Sitting
from method.terms import CLAUSES
from method.terms.models import Clauses
from method.terms.models.disputes import COSTS_WORDS, REMEDY_WORDS
from method.terms.models.tolerances import COMPARED_WORDS
from parties.forms import ActForm
from shipments.transitions.lots import terms_of

PLACES = {
    "in_stock": _("pieces held in stock"),
    "in_transit": _("pieces held in transit"),
    "at_the_line": _("pieces held at the line"),
    "assembled": _("pieces held assembled"),
    "sold": _("pieces sold"),
}


def words(mapping: Any) -> list[tuple[str, Any]]:
    """Choices of a field of the terms in the reader's language."""
    return [(key, gettext_lazy(text)) for key, text in mapping.items()]


class ContainmentForm(ActForm):
    """First of all: what one's side holds back."""

    text = forms.CharField(
        label=_("Statement"), max_length=10_000, widget=forms.Textarea(attrs={"rows": 6})
    )

    def prepare(self) -> None:
        """A count for each place."""
        for name, label in PLACES.items():
            self.fields[f"held_{name}"] = forms.IntegerField(
                label=label, min_value=0, max_value=10**9, required=False
            )

    def contained(self) -> dict[str, int]:
        """Counts by place."""
        return {name: self.cleaned_data[f"held_{name}"] or 0 for name in PLACES}

    def values(self) -> dict[str, Any]:
        """Statement and counts."""
        return {"text": self.cleaned_data["text"], "contained": self.contained()}


class RejectForm(ContainmentForm):
    """Grounds: clause, specimens, compared with what."""

    clause = forms.ChoiceField(
        label=_("Under which clause"),
        choices=[
            (name, gettext_lazy(Clauses.model_fields[name].annotation.TITLE)) for name in CLAUSES
        ],
        initial="tolerances",
    )
    compared_with = forms.ChoiceField(label=_("Compared with"), choices=words(COMPARED_WORDS))
    specimens = forms.MultipleChoiceField(
        label=_("Specimens"),
        widget=forms.CheckboxSelectMultiple,
        help_text=_("Of your own evidence about this lot."),
    )
    field_order = ["clause", "compared_with", "specimens", "text"]

    def prepare(self) -> None:
        """Specimens of one's own evidence."""
        super().prepare()
        own = (self.obj.subject, self.by.side)
        sitter = self.by.sitter
        labels: list[str] = []
        for one in MeasuredSet.objects.visible_to(sitter).about(*own):
            labels += one.specimens
        for one in Sitting.objects.visible_to(sitter).about(*own):
            labels += one.specimens
        field: Any = self.fields["specimens"]
        field.choices = [(label, label) for label in dict.fromkeys(labels)]
        if not labels:
            field.help_text = _(
                "Your side has no evidence about this lot yet: upload readings or begin a booth "
                "sitting on the lot's page, then reject it."
            )

    def values(self) -> dict[str, Any]:
        """Grounds as the transition takes them."""
        data = self.cleaned_data
        plain = {name: data[name] for name in ("clause", "compared_with", "specimens", "text")}
        return plain | {"contained": self.contained()}


class PostForm(ActForm):
    """A statement."""

    text = forms.CharField(
        label=_("Statement"), max_length=10_000, widget=forms.Textarea(attrs={"rows": 6})
    )
    upload = forms.FileField(label=_("File"), required=False)


class NoteForm(ActForm):
    """A private note."""

    text = forms.CharField(
        label=_("Note"), max_length=10_000, widget=forms.Textarea(attrs={"rows": 4})
    )


class ReasonForm(ActForm):
    """An act that must be explained."""

    reason = forms.CharField(
        label=_("Reason"), max_length=2000, widget=forms.Textarea(attrs={"rows": 3})
    )


class OfferForm(ActForm):
    """A settlement to be put before the other side."""

    remedy = forms.ChoiceField(label=_("Remedy"))
    text = forms.CharField(
        label=_("What is agreed"), max_length=10_000, widget=forms.Textarea(attrs={"rows": 6})
    )
    costs = forms.ChoiceField(label=_("Costs are borne by"), choices=words(COSTS_WORDS))
    lessons = forms.CharField(
        label=_("Lessons for the terms"),
        required=False,
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_("What the next revision of the terms should say."),
    )

    def prepare(self) -> None:
        """Remedies of clause 9 (all, where it names none), and a count for every fate."""
        named = [item.kind for item in terms_of(self.obj.lot).disputes.remedies if item.kind]
        field: Any = self.fields["remedy"]
        field.choices = [pair for pair in words(REMEDY_WORDS) if not named or pair[0] in named]
        for name, label in FATES.items():
            self.fields[name] = forms.IntegerField(
                label=label, min_value=0, max_value=10**9, required=False
            )

    def values(self) -> dict[str, Any]:
        """The offer with its count of pieces."""
        data = self.cleaned_data
        plain = {name: data[name] for name in ("remedy", "text", "costs", "lessons")}
        return plain | {"pieces": {name: data[name] or 0 for name in FATES}}
