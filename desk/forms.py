"""Forms of the desk: a checkpoint to compare, and what the timeline is filtered by."""

from __future__ import annotations

import email
import email.policy
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from desk.filters import GROUPS
from ledger.notes import FIRST, Note, NoteError, find, read_note
from parties.forms.base import ActForm, CleanForm
from parties.forms.registers import day_input
from parties.models import Side

MOST = 256 * 1024  # a mail with a long thread below it


class CompareForm(ActForm):
    """A note pasted, or a file with one: a text, or the mail itself."""

    note = forms.CharField(
        label=_("The checkpoint, pasted"),
        help_text=_("From “countershade checkpoint 1” to its last line; a whole mail will do too."),
        widget=forms.Textarea(attrs={"rows": 12, "spellcheck": "false", "autocomplete": "off"}),
        max_length=MOST,
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
            cleaned["found"] = read_note(find(pasted or text_of(upload)))
        except NoteError as error:
            self.add_error(field, _unreadable(error))
        return cleaned

    def values(self) -> dict[str, Any]:
        """The note that was read."""
        found: Note = self.cleaned_data["found"]
        return {"note": found}


def _unreadable(error: NoteError) -> forms.ValidationError:
    """Which line is wrong, and what to do."""
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


def text_of(upload: UploadedFile) -> str:
    """The text of a file: as it is, or of the mail that it holds; bytes that are no text become
    replacement marks, which no note has."""
    data = upload.read(MOST + 1)[:MOST]
    text = data.decode("utf-8", "replace")
    if FIRST in text and "=\n" not in text.replace("\r\n", "\n"):
        return text
    try:
        body = email.message_from_bytes(data, policy=email.policy.default).get_body(("plain",))
        return str(body.get_content()) if body is not None else text
    except (LookupError, ValueError, AttributeError, KeyError):
        return text  # a mail that cannot be taken apart is looked at as it is


class TimelineForm(CleanForm):
    """Which entries the timeline shows; everything is optional."""

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
    person = forms.CharField(label=_("Code of the person"), max_length=16, required=False)
    from_day = forms.DateField(label=_("From (UTC)"), widget=day_input(), required=False)
    to_day = forms.DateField(label=_("To (UTC)"), widget=day_input(), required=False)
