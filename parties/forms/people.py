"""Forms about people: signing in, accepting an invitation, inviting, seating, one's account."""

from __future__ import annotations

import datetime as dt
import hashlib
from typing import Any

from django import forms
from django.conf import settings
from django.contrib.auth import authenticate
from django.contrib.auth.forms import (
    AuthenticationForm,
    PasswordChangeForm,
    PasswordResetForm,
    SetPasswordForm,
)
from django.contrib.auth.password_validation import (
    password_validators_help_text_html,
    validate_password,
)
from django.contrib.auth.tokens import default_token_generator
from django.urls import reverse
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode
from django.utils.translation import gettext, override
from django.utils.translation import gettext_lazy as _

from jobs import mail
from ledger import clock
from parties.forms.base import ActForm, CleanForm
from parties.forms.registers import day_input
from parties.models import Dossier, Membership, Organisation, Person, Role, Seat, Sitter
from parties.refusal import Refusal
from parties.transitions.invitations import TAKEN, free_sides
from parties.transitions.seat_ends import limitable

TEMPLATE = CleanForm.template_name_div


class SignInForm(AuthenticationForm):
    """Django's form; the address is brought to its one spelling, so that the throttle counts
    attempts on one account together however they are typed."""

    template_name_div = TEMPLATE

    def clean_username(self) -> str:
        """The address as it is stored."""
        return Person.objects.normal(self.cleaned_data["username"])


class OwnPasswordForm(PasswordChangeForm):
    """Changing one's password: the old one is throttled as a login is."""

    template_name_div = TEMPLATE

    def __init__(self, *args: Any, request: Any, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.request = request

    def clean_old_password(self) -> str:
        """Wrong ones count against the account."""
        old: str = self.cleaned_data["old_password"]
        if authenticate(self.request, username=self.user.email, password=old) != self.user:
            raise forms.ValidationError(
                self.error_messages["password_incorrect"], code="password_incorrect"
            )
        return old


class NewPasswordForm(SetPasswordForm):
    """Django's form in our field template."""

    template_name_div = TEMPLATE


class ResetForm(PasswordResetForm):
    """Known and unknown addresses get the same answer and each one mail, at most one an hour."""

    template_name_div = TEMPLATE

    def save(self, **kwargs: Any) -> None:
        """Write one mail into the outbox, whoever the address belongs to."""
        email = Person.objects.normal(self.cleaned_data["email"])
        person = next(iter(self.get_users(email)), None)
        with override(person.language if person else None):
            body = reset_words(person)
            subject = gettext("Your password at Countershade")
        hour = clock.now().strftime("%Y%m%d%H")
        key = hashlib.sha256(f"{email} {hour}".encode()).hexdigest()
        mail.post(to=email, subject=subject, body=body, key=f"reset:{key}", secret=True)


def reset_words(person: Person | None) -> str:
    """The mail's text; the link works once and for a limited time, and is no login."""
    if person is None:
        return gettext(
            "Somebody asked for a new password for this address at Countershade, "
            "but no account has this address. If it was not you, do nothing."
        )
    link = reverse(
        "password_reset_confirm",
        kwargs={
            "uidb64": urlsafe_base64_encode(force_bytes(person.pk)),
            "token": default_token_generator.make_token(person),
        },
    )
    return gettext(
        "Somebody asked for a new password for this address at Countershade.\n\n"
        "Choose one here:\n%(link)s\n\nIf it was not you, do nothing: nothing was changed."
    ) % {"link": settings.PUBLIC_URL + link}


class AccountForm(CleanForm):
    """One's own name and language."""

    name = forms.CharField(
        label=_("Your name"),
        max_length=120,
        help_text=_("Stands in your signatures. After a change the next one uses a new key."),
    )
    language = forms.ChoiceField(label=_("Language"), choices=settings.LANGUAGES)


class NewPersonForm(CleanForm):
    """Accepting an invitation as somebody who has no account yet."""

    name = forms.CharField(label=_("Your name"), max_length=120)
    password = forms.CharField(
        label=_("Choose a password"),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        strip=False,
    )
    again = forms.CharField(
        label=_("The same password again"),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        strip=False,
    )
    language = forms.ChoiceField(label=_("Language"), choices=settings.LANGUAGES)
    organisation_name = forms.CharField(label=_("Name of your firm"), max_length=160)

    def __init__(self, *args: Any, invitation: Any, **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.invitation = invitation
        self.fields["password"].help_text = password_validators_help_text_html()
        if invitation.side:
            self.fields["organisation_name"].initial = invitation.organisation_name
        else:
            del self.fields["organisation_name"]

    def clean(self) -> dict[str, Any]:
        """Both passwords alike, and good enough."""
        values = super().clean() or self.cleaned_data
        password = values.get("password")
        if password and password != values.get("again"):
            self.add_error("again", _("The two passwords differ."))
        elif password:
            person = Person(email=self.invitation.email, name=values.get("name", ""))
            try:
                validate_password(password, person)
            except forms.ValidationError as problem:
                self.add_error("password", problem)
        return values

    def values(self) -> dict[str, Any]:
        """What accepting takes."""
        return {name: value for name, value in self.cleaned_data.items() if name != "again"}


class KnownPersonForm(CleanForm):
    """Accepting as somebody signed in: for which firm, where the invitation seats one."""

    firm = forms.ChoiceField(label=_("For which firm"), required=False)
    organisation_name = forms.CharField(
        label=_("Name of the new firm"), max_length=160, required=False
    )

    def __init__(self, *args: Any, invitation: Any, firms: list[Organisation], **kwargs: Any):
        super().__init__(*args, **kwargs)
        self.firms = {str(firm.pk): firm for firm in firms}
        if not invitation.side:
            self.fields.clear()
            return
        self.fields["organisation_name"].initial = invitation.organisation_name
        self.fields["firm"].choices = [
            *((key, firm.name) for key, firm in self.firms.items()),
            ("", _("a new firm")),
        ]
        # One's own firm first: a second firm of the same people is the rare case.
        self.fields["firm"].initial = next(iter(self.firms), "")

    def values(self) -> dict[str, Any]:
        """What accepting takes."""
        values = dict(self.cleaned_data)
        if "firm" in values:
            values["organisation"] = self.firms.get(values.pop("firm"))
        return values


class ColleagueForm(ActForm):
    """Inviting a colleague into one's own firm."""

    email = forms.EmailField(label=_("E-mail address"))
    role = forms.ChoiceField(label=_("Role"), choices=Role.choices, initial=Role.QUALITY_STAFF)


class FirmForm(ActForm):
    """Inviting another firm into an agreement."""

    side = forms.ChoiceField(label=_("As"))
    organisation_name = forms.CharField(label=_("Firm"), max_length=160)
    email = forms.EmailField(label=_("E-mail address"))
    seat_until = forms.DateField(
        label=_("An auditor's seat ends after"), widget=day_input(), required=False
    )

    def prepare(self) -> None:
        free = free_sides(self.by)
        if not free:
            raise Refusal("seat.taken", TAKEN[True])
        self.fields["side"].choices = [(side.value, side.label) for side in free]

    def clean_seat_until(self) -> dt.date | None:
        """A day that has not gone by."""
        until: dt.date | None = self.cleaned_data["seat_until"]
        if until and until < clock.now().date():
            raise forms.ValidationError(_("This day has gone by."))
        return until


class MemberForm(ActForm):
    """One member of one's own firm."""

    member = forms.ModelChoiceField(label=_("Person"), queryset=Membership.objects.none())

    def prepare(self) -> None:
        field = self.fields["member"]
        field.queryset = (
            Membership.objects.filter(organisation=self.by.organisation, active=True)
            .exclude(person=self.by.person)
            .select_related("person")
            .order_by("person__name")
        )
        field.label_from_instance = _member_words


class RoleForm(MemberForm):
    """A member and a role."""

    role = forms.ChoiceField(label=_("Role"), choices=Role.choices)

    def prepare(self) -> None:
        super().prepare()
        if self.by.dossier.purpose == Dossier.Purpose.AGREEMENT:
            self.fields["role"].choices = [
                (role.value, role.label) for role in Role if role != Role.ADMINISTRATOR
            ]


class LeavingForm(MemberForm):
    """A member who leaves, and why."""

    reason = forms.CharField(label=_("Reason"), max_length=500, required=False)


class UnseatForm(ActForm):
    """A person of one's own seat who gets up."""

    sitter = forms.ModelChoiceField(label=_("Person"), queryset=Sitter.objects.none())
    reason = forms.CharField(
        label=_("Reason"),
        max_length=500,
        required=False,
        help_text=_("Enters the record and cannot be erased there."),
    )

    def prepare(self) -> None:
        self.fields["sitter"].queryset = (
            Sitter.objects.filter(seat=self.by.sitter.seat, active=True)
            .exclude(pk=self.by.sitter.pk)
            .select_related("person")
        )


class SeatEndForm(ActForm):
    """Until when a guest of one's own side sits here."""

    seat = forms.ModelChoiceField(label=_("Firm"), queryset=Seat.objects.none(), empty_label=None)
    until = forms.DateField(
        label=_("The seat ends after"),
        help_text=_("Left empty, the seat goes on without an end."),
        widget=day_input(),
        required=False,
    )
    reason = forms.CharField(
        label=_("Reason"),
        max_length=500,
        required=False,
        help_text=_("Enters the record and cannot be erased there."),
    )

    def prepare(self) -> None:
        seats = limitable(self.by)
        if not seats:
            raise Refusal("seat.no_guest", _("Your side has invited no auditor who sits here."))
        found = Seat.objects.filter(pk__in=[seat.pk for seat in seats])
        self.fields["seat"].queryset = found.select_related("organisation").order_by("code")
        self.fields["seat"].initial = seats[0].pk
        self.fields["until"].initial = seats[0].until


def _member_words(member: Membership) -> str:
    return f"{member.person.name} ({member.get_role_display()})"
