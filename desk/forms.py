"""Forms of the desk: a checkpoint to compare, and what the timeline is filtered by."""

from __future__ import annotations

import datetime as dt
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from desk.filters import GROUPS
from ledger.notes import FIRST, MAX_TEXT, Note, NoteError, note_in
from parties.forms.base import ActForm, CleanForm
from parties.forms.registers import day_input
from parties.models import Side


class NoteForm(CleanForm):
    """A note pasted, or a file with one: a text, or the mail itself."""

    note = forms.CharField(
        label=_("The checkpoint, pasted"),
        help_text=_("From “countershade checkpoint 1” to its last line; a whole mail will do too."),
        widget=forms.Textarea(attrs={"rows": 12, "spellcheck": "false", "autocomplete": "off"}),
        max_length=MAX_TEXT,
        required=False,
    )
    upload = forms.FileField(
        label=_("Or a file with it: the text, or the mail as it was saved"), required=False
    )

    def clean(self) -> dict[str, Any]:
        """Exactly one of the two, and a note in it."""
        cleaned = super().clean() or self.cleaned_data
        pasted, upload = cleaned.get("note"), cleaned.get("upload")
        if self.errors:
            return cleaned
        if bool(pasted) == bool(upload):
            raise forms.ValidationError(
                _("Paste a checkpoint or choose a file, one of the two."), code="one"
            )
        field = "note" if pasted else "upload"
        try:
            cleaned["found"] = note_in(pasted or upload.read(MAX_TEXT + 1))
        except NoteError as error:
            self.add_error(field, _unreadable(error))
        return cleaned


class CompareForm(NoteForm, ActForm):
    """The same, as an act of somebody who sits in the dossier."""

    def values(self) -> dict[str, Any]:
        """The note that was read."""
        found: Note = self.cleaned_data["found"]
        return {"note": found}


def _unreadable(error: NoteError) -> forms.ValidationError:
    """Which line is wrong, and what to do."""
    if error.several:
        return forms.ValidationError(
            _(
                "There is more than one checkpoint in it. Copy one of them alone, from "
                "“%(first)s” to its last line. Nothing was compared or logged."
            ),
            code="several",
            params={"first": FIRST},
        )
    if not error.line or error.line == 1:
        return forms.ValidationError(
            _(
                "There is no checkpoint in it: none begins with “%(first)s”. Nothing was compared "
                "or logged."
            ),
            code="unreadable",
            params={"first": FIRST},
        )
    return forms.ValidationError(
        _(
            "Line %(line)s of the checkpoint cannot be read (%(word)s). It may have been cut or "
            "broken on the way: copy it again, whole. Nothing was compared or logged."
        ),
        code="unreadable",
        params={"line": error.line, "word": error.word or "…"},
    )


class TimelineForm(CleanForm):
    """Which entries the timeline shows; everything is optional."""

    only_reads = True  # nothing is sent that could change something

    group = forms.ChoiceField(
        label=_("Sort of act"),
        required=False,
        choices=[
            ("", pgettext_lazy("acts", "all")),
            *((key, words) for key, (words, _nouns) in GROUPS.items()),
        ],
    )
    about = forms.CharField(
        label=_("Lot or first article, by its number"), max_length=60, required=False
    )
    side = forms.ChoiceField(
        label=_("Side"),
        required=False,
        choices=[
            ("", pgettext_lazy("sides", "all")),
            *((side.value, side.label) for side in Side if side != Side.OWN),
            ("system", _("this service")),
        ],
    )
    person = forms.CharField(
        label=_("Code of the person"),
        max_length=16,
        required=False,
        help_text=_("As it stands under “Who”: names are not searched."),
    )
    from_day = forms.DateField(label=_("From (UTC)"), widget=day_input(), required=False)
    to_day = forms.DateField(label=_("To (UTC)"), widget=day_input(), required=False)

    def clean_to_day(self) -> dt.date | None:
        """Not before the first day, where both are given."""
        first, last = self.cleaned_data.get("from_day"), self.cleaned_data["to_day"]
        if first and last and last < first:
            raise forms.ValidationError(
                _("This day is before the first one, %(first)s. All entries are shown."),
                code="order",
                params={"first": first},
            )
        found: dt.date | None = last
        return found
