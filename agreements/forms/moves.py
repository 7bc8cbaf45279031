"""Forms of the acts on revisions, remarks and the agreement itself."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from agreements.forms.fields import DayInput
from agreements.models import Revision
from agreements.words import clause_titles, items_of
from parties.forms import ActForm, SigningForm
from parties.models import Side

STARTERS = [
    ("spectral", _("with an instrument: spectra and a visual panel")),
    ("visual", _("visual only: a qualified panel decides")),
]


class StartForm(ActForm):
    """A new agreement: its title, the own side, the terms to begin from, and whom to invite."""

    title = forms.CharField(
        label=_("Title"),
        max_length=200,
        help_text=_("Both sides see it, for example the product and its colour."),
    )
    side = forms.ChoiceField(
        label=_("Your firm is the"),
        choices=[(Side.CUSTOMER, _("customer")), (Side.SUPPLIER, _("supplier"))],
    )
    terms = forms.ChoiceField(
        label=_("Begin with terms"), choices=STARTERS, help_text=_("All of them can be changed.")
    )
    firm = forms.CharField(label=_("The other side's firm"), max_length=160)
    email = forms.EmailField(
        label=_("E-mail address of their quality lead"),
        help_text=_("They get an invitation that only they can use, once."),
    )


class DigestForm(ActForm):
    """An act that names exactly which terms it is about."""

    digest = forms.CharField(
        label=_("Digest of the terms"),
        min_length=64,
        max_length=64,
        help_text=_("SHA-256 of the revision that you have read."),
        widget=forms.TextInput(attrs={"readonly": True, "size": 64}),
    )

    def prepare(self) -> None:
        """The digest of the revision on the page; another one that is sent is refused."""
        self.initial["digest"] = self.obj.digest


class AgreeForm(DigestForm):
    """Agreeing names the digest; nothing else is asked."""


class SignForm(SigningForm, DigestForm):
    """Signing names the digest, and the key or the password."""

    field_order = ["digest", "key", "password"]


class TakeUpForm(ActForm):
    """Beginning one's own draft asks nothing."""


class ReasonForm(ActForm):
    """An act that needs a reason, which the other side reads."""

    reason = forms.CharField(
        label=_("Reason"),
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text=_("The other side reads it, and it stays in the record."),
    )


class StandingForm(ReasonForm):
    """From which day on the agreement is suspended, resumed or ended."""

    from_day = forms.DateField(
        label=pgettext_lazy("day", "From"), widget=DayInput(), input_formats=["%Y-%m-%d"]
    )
    field_order = ["from_day", "reason"]


class RemarkForm(ActForm):
    """A remark on a clause, or on one numbered item of it."""

    clause = forms.ChoiceField(label=_("Clause"))
    item = forms.ChoiceField(label=_("Item"), required=False)
    text = forms.CharField(
        label=_("Remark"), max_length=4000, widget=forms.Textarea(attrs={"rows": 5})
    )

    def prepare(self) -> None:
        """The clauses, and the items of this revision's terms."""
        clause: Any = self.fields["clause"]
        clause.choices = clause_titles()
        item: Any = self.fields["item"]
        revision: Revision = self.obj
        rows = list(items_of(revision.document))
        self.where = {key: clause for clause, _list, key, _words in rows}
        items = [(key, words) for _clause, _list, key, words in rows]
        item.choices = [("", _("the whole clause")), *items]

    def clean(self) -> dict[str, Any]:
        """An item belongs to its clause."""
        cleaned = super().clean() or self.cleaned_data
        item, clause = cleaned.get("item"), cleaned.get("clause")
        if item and clause and self.where.get(item) != clause:
            self.add_error("item", _("This item stands in another clause."))
        return cleaned
