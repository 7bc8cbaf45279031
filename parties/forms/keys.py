"""Forms about one's own keys: enrolling in two steps, confirming a colleague's, revoking."""

from __future__ import annotations

import json
from typing import Any, ClassVar

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from ledger import clock
from parties.access import KEEPERS
from parties.forms.base import PasswordForm
from parties.forms.signing import hidden, key_words
from parties.forms.steps import Step, TwoStepForm
from parties.keys import service_ended
from parties.models import Key
from parties.models.keys import BROWSER_HELD, PASSKEY, SERVICE_HELD
from parties.own_keys import (
    LIMIT,
    PASSPHRASE_LENGTH,
    NewKey,
    check_browser_key,
    check_passkey,
    new_challenge,
    passkey_options,
    password_mark,
)
from parties.refusal import Refusal

OWN_SORTS = [
    (
        PASSKEY,
        _(
            "Passkey: this device, or one at hand, keeps the key and asks for your finger, face "
            "or PIN each time."
        ),
    ),
    (
        BROWSER_HELD,
        _(
            "Key in the browser: made and used in the browser, kept here only in a form that needs "
            "your passphrase. It works on every device; whoever forgets the passphrase loses it."
        ),
    ),
]
SERVICE_SORT = (
    SERVICE_HELD,
    _(
        "Key held by this service, in the place of the one that was revoked: whoever runs the "
        "service could sign with it. A second person of your firm must confirm it."
    ),
)


class EnrolKeyForm(TwoStepForm):
    """Which sort of key, and whether it takes the place of another; then the browser makes it."""

    ANSWERS = ("credential", "public_key", "wrapped", "possession")

    sort = forms.ChoiceField(label=_("Sort of key"), choices=OWN_SORTS, widget=forms.RadioSelect)
    replaces = forms.ChoiceField(
        label=_("Takes the place of"),
        required=False,
        help_text=_(
            "The other key ends as soon as this one can sign: when it is confirmed, or at once "
            "where nobody has to confirm it."
        ),
    )
    credential = hidden(LIMIT)
    public_key = hidden(2_000)
    wrapped = hidden(2_000)
    possession = hidden(200)
    field_order = ["sort", "replaces", "password"]

    def prepare(self) -> None:
        """The sorts to choose from, and the keys of this person that are not revoked; the one that
        the service holds is replaced unless something else is chosen."""
        self.fields["password"].help_text = _("Asked again because a key signs in your name.")
        if service_ended(self.by.person, self.by.organisation):
            sorts: Any = self.fields["sort"]
            sorts.choices = [*OWN_SORTS, SERVICE_SORT]
        rows = Key.objects.filter(
            person=self.by.person, organisation=self.by.organisation, revoked_at__isnull=True
        ).order_by("-created_at")
        # A key of the service's that waits signs nothing: revoking it is an act of its own.
        self.known = {
            str(key.pk): key for key in rows if key.assurance != SERVICE_HELD or not key.is_pending
        }
        if not self.known:
            del self.fields["replaces"]
            return
        field: Any = self.fields["replaces"]
        none = ("", gettext("none: it is used beside the others"))
        field.choices = [none, *((pk, key_words(key)) for pk, key in self.known.items())]
        self.initial.setdefault("sort", PASSKEY)
        # Two keys of one person in each statement would say that the service still can sign.
        held = [pk for pk, key in self.known.items() if key.assurance == SERVICE_HELD]
        self.initial.setdefault("replaces", held[0] if held else "")

    def clean_password(self) -> str:
        """As every act's; what was typed is kept for the mark that the next page needs."""
        self.typed: str = self.cleaned_data["password"]
        return super().clean_password()

    @property
    def needs_browser(self) -> bool:  # type: ignore[override]
        """Until the browser has made the key; never for one that the service makes."""
        return self.taken is None and self.cleaned_data.get("sort") != SERVICE_HELD

    def first_step(self) -> Step:
        """A challenge, and for a passkey the browser's options."""
        sort = self.cleaned_data["sort"]
        challenge = new_challenge()
        answer: dict[str, Any] = {"sort": sort, "challenge": challenge}
        if sort == PASSKEY:
            answer["options"] = passkey_options(self.by.person, self.by.organisation, challenge)
        answer["prepared"] = self.token({"challenge": challenge})
        context = {
            "asked": answer,
            "answers": self.ANSWERS,
            "options_json": json.dumps(answer.get("options")),
            "shortest": PASSPHRASE_LENGTH,
        }
        if sort == BROWSER_HELD:
            context["password_mark"] = password_mark(self.typed, challenge)
        return Step("parties/key_make.html", context, answer)

    def values(self) -> dict[str, Any]:
        """The key, checked against the challenge, and the one that it replaces; no key where the
        service shall make it."""
        said = self.cleaned_data
        if said["sort"] == SERVICE_HELD:
            return {"new": None, "replaces": None}
        replaced = self.known.get(said.get("replaces") or "")
        facts = self.taken.facts if self.taken else {}
        return {"new": self._made(said, facts["challenge"]), "replaces": replaced}

    @staticmethod
    def _made(said: dict[str, Any], challenge: str) -> NewKey:
        if said["sort"] == PASSKEY:
            return check_passkey(said["credential"], challenge)
        return check_browser_key(said["public_key"], said["wrapped"], said["possession"], challenge)


class KeyChoiceForm(PasswordForm):
    """An act on one key of the firm."""

    key = forms.ChoiceField(label=_("Key"), widget=forms.RadioSelect)
    NONE: ClassVar[Any] = _("There is no such key.")
    field_order = ["key", "password"]

    def rows(self) -> Any:
        """The keys to choose from."""
        raise NotImplementedError

    def prepare(self) -> None:
        """The keys with their holders and whole fingerprints; Refusal where there is none."""
        self.fields["password"].help_text = _("Asked again because a key signs in somebody's name.")
        rows = self.rows().filter(organisation=self.by.organisation).select_related("person")
        self.found = {str(key.pk): key for key in rows.order_by("-created_at")}
        if not self.found:
            raise Refusal("no_key", self.NONE)
        field: Any = self.fields["key"]
        field.choices = [(pk, self.words(key)) for pk, key in self.found.items()]
        if len(self.found) == 1:
            self.initial.setdefault("key", next(iter(self.found)))

    def words(self, key: Key) -> str:
        """How a key stands among the choices."""
        return holder_words(key)

    def values(self) -> dict[str, Any]:
        """The key itself."""
        return super().values() | {"key": self.found[self.cleaned_data["key"]]}


class ConfirmKeyForm(KeyChoiceForm):
    """Which key of a colleague, compared with what they read to you."""

    NONE = _("No key of a colleague waits to be confirmed.")

    def rows(self) -> Any:
        """Those that wait, of others."""
        waiting = Key.objects.pending().filter(expires_at__gt=clock.now())
        return waiting.exclude(person=self.by.person).select_related("replaces")

    def words(self, key: Key) -> str:
        """With the key that ends by it, where one does."""
        old = key.replaces
        if old is None or old.revoked_at is not None:
            return holder_words(key)
        return gettext("%(key)s. The key that it replaces ends: %(replaced)s") % {
            "key": holder_words(key),
            "replaced": key_words(old),
        }


class RevokeKeyForm(KeyChoiceForm):
    """Which key, and why."""

    NONE = _("There is no key that you could revoke.")
    reason = forms.CharField(
        label=_("Reason"),
        required=False,
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_("Enters the record of every agreement in which the key was certified."),
    )
    field_order = ["key", "reason", "password"]

    def rows(self) -> Any:
        """One's own; a lead and an administrator may end every key of the firm."""
        keys = Key.objects.filter(revoked_at__isnull=True)
        return keys if self.by.role in KEEPERS else keys.filter(person=self.by.person)


def holder_words(key: Key) -> str:
    """A key with its holder and its whole fingerprint."""
    return gettext("%(name)s: %(sort)s, made %(day)s, fingerprint %(print)s") % {
        "name": key.name,
        "sort": key.sort_words,
        "day": f"{key.created_at:%Y-%m-%d}",
        "print": key.fingerprint,
    }
