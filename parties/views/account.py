"""One's own account, and accepting an invitation."""

from __future__ import annotations

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import translation
from django.utils.translation import gettext_lazy as _
from django.views.i18n import set_language as django_set_language

from parties.access import for_person, open_to_all, way_to
from parties.forms.people import AccountForm, KnownPersonForm, NewPersonForm
from parties.models import Invitation, Key, Person, Side, Sitter
from parties.refusal import Refusal
from parties.transitions import accept_invitation, find_invitation, firms_to_bind, set_own_facts
from parties.views.keys import state_of


@for_person(methods=("GET", "POST"))
def account(request: HttpRequest) -> HttpResponse:
    """Name, language, keys and seats of whoever is signed in."""
    person = request.user
    sent = request.POST if request.method == "POST" else None
    form = AccountForm(sent, initial={"name": person.name, "language": person.language})
    if sent is not None and form.is_valid():
        set_own_facts(person, **form.cleaned_data)
        messages.success(request, _("Saved."))
        answer = redirect("parties:account")
        answer.set_cookie(
            settings.LANGUAGE_COOKIE_NAME, form.cleaned_data["language"], samesite="Lax"
        )
        return answer
    seats = list(
        Sitter.objects.today()
        .filter(person=person)
        .select_related("seat__organisation", "dossier")
        .order_by("dossier__title")
    )
    keys = Key.objects.filter(person=person).order_by("-created_at")
    context = {
        "form": form,
        "keys": [(key, *state_of(key)) for key in keys],
        "seats": seats,
        "firms": _key_pages(seats),
    }
    return render(request, "parties/account.html", context, status=422 if form.errors else 200)


def _key_pages(seats: list[Sitter]) -> list[tuple[str, str]]:
    """The page of signing keys in each register where the person sits and may open it."""
    own = [one for one in seats if one.seat.side == Side.OWN]
    found = [(way_to(one, "parties:keys", dossier=one.dossier_id), one) for one in own]
    return [(address, one.seat.organisation.name) for address, one in found if address]


@open_to_all("whoever holds the token may see what it invites to", methods=("GET", "POST"))
def accept(request: HttpRequest, token: str) -> HttpResponse:
    """Accept an invitation as its address: signed in, or as a new person. GET changes nothing."""
    invitation = find_invitation(token)
    if invitation is None:
        return render(request, "parties/accept_gone.html", status=404)
    person = request.user if request.user.is_authenticated else None
    known = Person.objects.filter(email=invitation.email).exists()
    context = {"invitation": invitation, "known": known, "person": person}
    wrong = person is not None and person.email != invitation.email
    if wrong or (known and person is None):
        context["next"] = request.path
        return render(request, "parties/accept_other.html", context, status=200)
    form = _form(request, invitation, person)
    if request.method == "POST" and form.is_valid():
        try:
            sitter = accept_invitation(token, person=person, **form.values())
        except Refusal as refusal:
            form.add_error(None, str(refusal))
        else:
            if person is None:
                login(request, sitter.person, "django.contrib.auth.backends.ModelBackend")
            return redirect(sitter.dossier)
    context["form"] = form
    return render(request, "parties/accept.html", context, status=422 if form.errors else 200)


def _form(
    request: HttpRequest, invitation: Invitation, person: Person | None
) -> NewPersonForm | KnownPersonForm:
    sent = request.POST if request.method == "POST" else None
    if person is None:
        initial = {"language": translation.get_language()}
        return NewPersonForm(sent, invitation=invitation, initial=initial)
    return KnownPersonForm(sent, invitation=invitation, firms=firms_to_bind(person))


@open_to_all("everybody reads in their language", methods=("POST",))
def set_language(request: HttpRequest) -> HttpResponse:
    """Change the language of the pages, and remember it with the account."""
    answer = django_set_language(request)
    chosen = request.POST.get("language")
    if request.user.is_authenticated and chosen in dict(settings.LANGUAGES):
        set_own_facts(request.user, language=chosen)
    return answer
