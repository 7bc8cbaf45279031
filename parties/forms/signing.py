"""The form of every act that signs: with a key that the signatory holds, or the service's."""

from __future__ import annotations

import hashlib
import json
from typing import Any, ClassVar

from django import forms
from django.db import transaction
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from webauthn.helpers import bytes_to_base64url

from parties.forms.steps import Step, TwoStepForm, Unshown
from parties.keys import own_keys, service_refusal
from parties.models import Key
from parties.models.keys import PASSKEY
from parties.refusal import Refusal
from parties.signing import own_key_asked, prepare, service_barred
from parties.signing_proofs import Proof
from parties.statement_words import in_words

SERVICE = "service"


def hidden(size: int) -> forms.CharField:
    """An answer of the browser."""
    return forms.CharField(required=False, widget=Unshown, max_length=size)


class SigningForm(TwoStepForm):
    """An act that signs. The service's key: the password is asked again, and it signs at once. A
    key of one's own: the statement is prepared, and the browser signs it."""

    ANSWERS = ("jws", "authenticator_data", "client_data", "passkey_signature")
    FIRST_ONLY: ClassVar[tuple[str, ...]] = ("key", "password")

    key = forms.ChoiceField(label=_("Key to sign with"), required=False, widget=forms.RadioSelect)
    jws = hidden(4_096)
    authenticator_data = hidden(4_096)
    client_data = hidden(8_192)
    passkey_signature = hidden(1_024)
    field_order = ["key", "password"]

    def __init__(self, *args: Any, **kwargs: Any):
        super().__init__(*args, **kwargs)
        if self.taken is not None:
            return
        found = own_keys(self.by.person, self.by.organisation)
        self.own = {key.fingerprint: key for key in found}
        by_terms, why = self.service_held(), service_refusal(self.by.person, self.by.organisation)
        barred = bool(self.own) and service_barred(self.by)
        self.allowed = by_terms and why is None and not barred
        if not self.own and not self.allowed:
            raise why if why and by_terms else own_key_asked(self.by)
        self._offer()

    def service_held(self) -> bool:
        """Whether the terms that bind the object let a key sign that the service holds."""
        asked = getattr(self.act, "service_held", None)
        return asked is None or bool(asked(self.obj))

    def _offer(self) -> None:
        """The keys to choose from; no choice where there is one key and the service holds it."""
        choices = [(key.fingerprint, key_words(key)) for key in self.own.values()]
        if self.allowed:
            service = gettext("the key held by this service (needs your password)")
            choices.append((SERVICE, service))
        else:
            del self.fields["password"]
        if not self.own:
            del self.fields["key"]
            return
        field: Any = self.fields["key"]
        field.choices = choices
        field.help_text = _(
            "With a key of your own, the next page shows the whole statement, and your browser "
            "signs it there."
        )
        self.initial.setdefault("key", choices[0][0])
        if self.allowed:
            self.fields["password"].help_text = _("Only for the key held by this service.")
            self.fields["password"].required = False

    def clean_key(self) -> str:
        """Nothing chosen means the service's key, where it may sign."""
        chosen: str = self.cleaned_data["key"]
        if not chosen and not self.allowed:
            raise forms.ValidationError(_("Choose the key to sign with."), code="required")
        return chosen

    def asks_password(self) -> bool:
        """Where the service's key is to sign."""
        if not super().asks_password() or self.cleaned_data.get("key") in self.own:
            return False
        if not self.cleaned_data["password"]:
            field = self.fields["password"]
            raise forms.ValidationError(field.error_messages["required"], code="required")
        return True

    @property
    def needs_browser(self) -> bool:  # type: ignore[override]
        """Whether a key of one's own was chosen and has not signed yet."""
        return self.taken is None and self.cleaned_data.get("key") in self.own

    def first_step(self) -> Step:
        """The statement in full, for the key to sign; certifies the key in the chain."""
        key = self.own[self.cleaned_data["key"]]
        if not self.act.fits(self.obj):
            raise Refusal("wrong_state", _("This cannot be signed now: its state has changed."))
        with transaction.atomic():
            wanted = self.act.signs(self.obj, by=self.by, **self.values())
            statement = prepare(self.by, wanted, key)
        facts = {"statement": statement.decode(), "key": key.fingerprint}
        answer = {"prepared": self.token(facts), **facts, **to_sign(key, statement)}
        context = {
            "key": key,
            "asked": answer,
            "statement": facts["statement"],
            "answers": self.ANSWERS,
            "wrapped_json": json.dumps(key.wrapped),
            "said": in_words(self.by.dossier.chain, statement, key),
        }
        return Step("parties/sign_prepared.html", context, answer)

    def values(self) -> dict[str, Any]:
        """What the transition takes; with the proof where the browser signed."""
        found = super().values()
        if self.taken is None:
            return found
        answers = {name: self.cleaned_data.get(name, "") for name in self.ANSWERS}
        facts = self.taken.facts
        return found | {"proof": Proof(facts["key"], facts["statement"].encode(), **answers)}


def to_sign(key: Key, statement: bytes) -> dict[str, Any]:
    """What the browser needs beside the statement: of a passkey the credential and where it counts,
    of a key in the browser its wrapped form."""
    common = {"assurance": key.assurance, "digest": hashlib.sha256(statement).hexdigest()}
    if key.assurance != PASSKEY:
        return common | {"wrapped": key.wrapped}
    challenge = bytes_to_base64url(hashlib.sha256(statement).digest())
    return common | {
        "challenge": challenge,
        "credential": key.credential,
        "relying_party": key.relying_party,
        "origin": key.origin,
    }


def key_words(key: Key) -> str:
    """A key in a list of choices."""
    return gettext("%(sort)s, made %(day)s, fingerprint %(print)s…") % {
        "sort": key.sort_words,
        "day": f"{key.created_at:%Y-%m-%d}",
        "print": key.fingerprint[:16],
    }
