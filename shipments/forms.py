"""Forms of the acts on first articles and lots."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from agreements.models import Revision
from agreements.standing import in_force, today_in
from parties.forms import ActForm, SigningForm
from shipments.lists import asks_signature, unsigned
from shipments.models import Submission
from shipments.parts import part_words


def day_field(label: Any, **options: Any) -> forms.DateField:
    """A day, with the browser's own picker."""
    return forms.DateField(label=label, widget=forms.DateInput(attrs={"type": "date"}), **options)


class PartsForm(ActForm):
    """A form that asks for a part of the terms in force."""

    part = forms.ChoiceField(label=_("Part and colour"))
    quantity = forms.IntegerField(label=_("Pieces"), min_value=1, max_value=10**9)
    made_on = day_field(_("Made on"), required=False)

    def prepare(self) -> None:
        """Parts of the signed revisions; the transition checks the one that binds."""
        field: Any = self.fields["part"]
        revision = in_force(self.by.dossier, today_in(self.by.dossier))
        found = {} if revision is None else _parts(revision)
        for earlier in Revision.objects.visible_to(self.by.sitter).filter(
            status=Revision.Status.SIGNED
        ):
            found = _parts(earlier) | found
        field.choices = list(found.items())


def _parts(revision: Revision) -> dict[str, str]:
    return {part.id: part_words(part) for part in revision.document.parts}


class ArticleForm(PartsForm):
    """A first article to be prepared."""

    number = forms.CharField(label=_("Number of the first article"), max_length=60)
    field_order = ["number", "part", "quantity", "made_on"]


class LotForm(PartsForm):
    """A lot to be opened."""

    number = forms.CharField(label=_("Lot number"), max_length=60)
    order = forms.CharField(label=_("Order number"), max_length=60)
    accepted_on = day_field(
        _("Order accepted on"),
        help_text=_("The revision of the terms in force on this day binds the lot."),
    )
    field_order = ["number", "order", "accepted_on", "part", "quantity", "made_on"]


class NoteForm(ActForm):
    """An act with room for a remark."""

    note = forms.CharField(
        label=_("Remark"), required=False, max_length=300, widget=forms.Textarea(attrs={"rows": 3})
    )


class ReasonForm(ActForm):
    """An act that must be explained."""

    reason = forms.CharField(
        label=_("Reason"), max_length=2000, widget=forms.Textarea(attrs={"rows": 3})
    )


class CorrectionForm(ActForm):
    """What is to be corrected."""

    note = forms.CharField(
        label=_("What is to be corrected"),
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 4}),
    )


class ApprovalForm(SigningForm):
    """Approve a first article; it becomes the master of its part."""

    digest = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)
    seal = forms.CharField(
        label=_("Seal numbers of the sealed pair"), required=False, max_length=60
    )
    expires_on = day_field(
        _("The master expires on"),
        required=False,
        help_text=_("Left open: twelve months from today (common practice)."),
    )
    note = forms.CharField(
        label=_("Remark"), required=False, max_length=2000, widget=forms.Textarea
    )
    field_order = ["seal", "expires_on", "note", "quantity", "until", "key", "password"]

    def prepare(self) -> None:
        """The submission that is being looked at."""
        seen = Submission.objects.visible_to(self.by.sitter).filter(article=self.obj)
        digests = seen.order_by("-nth").values_list("digest", flat=True)
        self.initial["digest"] = digests.first() or ""


class LimitedApprovalForm(ApprovalForm):
    """Approve for so many pieces, or until a day."""

    quantity = forms.IntegerField(label=_("Pieces at most"), required=False, min_value=1)
    until = day_field(_("Until"), required=False)


class ListForm(ActForm):
    """Evidence of one's own side that shall be signed together."""

    submissions = forms.MultipleChoiceField(
        label=_("Evidence"),
        widget=forms.CheckboxSelectMultiple,
        help_text=_("What was handed in last and nobody has signed; one revision to a list."),
        error_messages={"required": _("Choose at least one.")},
    )

    def prepare(self) -> None:
        """What may be chosen; marked beforehand is what clause 8 asks for, of one revision."""
        self.found = {str(one.pk): one for one in unsigned(self.by.sitter)}
        field: Any = self.fields["submissions"]
        field.choices = [(key, choice_words(one)) for key, one in self.found.items()]
        asked = [
            one
            for one in self.found.values()
            if asks_signature(one.revision, one.what.part, one.purpose)
        ]
        first = [str(one.pk) for one in asked if one.revision_id == asked[0].revision_id]
        self.initial.setdefault("submissions", first)

    def values(self) -> dict[str, Any]:
        """The submissions themselves."""
        return {"submissions": [self.found[key] for key in self.cleaned_data["submissions"]]}


def choice_words(one: Submission) -> str:
    """A submission in a list of choices: of what, for what, its verdict, its revision."""
    verdict = getattr(one, "verdict", None)
    said = str(verdict.get_outcome_display()) if verdict is not None else gettext("being judged")
    return f"{one} · {said} · {one.revision}"


class ReceiptForm(ActForm):
    """The lot came in."""

    received_on = day_field(_("Received on"))

    def prepare(self) -> None:
        """Today, unless said otherwise."""
        self.initial.setdefault("received_on", today_in(self.by.dossier))
