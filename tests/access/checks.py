"""What is checked of one address. Plain functions: the tests and the mutation run call the same."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Any

from django import forms
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.urls import get_resolver, resolve, reverse

from parties.models import DossierRow
from tests.access import key_builders  # noqa: F401  (registers its builders)
from tests.access.builders import Case, builder_of
from tests.access.stage import ANONYMOUS, EVERYONE, SEATS, Stage, undone
from tests.access.table import IN_BOTH, METHODS, RULES, Rule, expected, logged
from tests.access.twins import private_twins, shared_twins, twin

LOGIN = "/login/?next="


def names_in_resolver() -> set[str]:
    """Every name of an address, with its namespace."""

    def walk(resolver: Any, space: str) -> Iterator[str]:
        for entry in resolver.url_patterns:
            if hasattr(entry, "url_patterns"):
                inner = f"{entry.namespace}:" if entry.namespace else ""
                yield from walk(entry, space + inner)
            else:
                assert entry.name, f"an address without a name: {entry.pattern}"
                yield space + entry.name

    return set(walk(get_resolver(), ""))


def case_of(stage: Stage, rule: Rule) -> Case:
    """The object builder's case; an address without one fails."""
    builder = builder_of(rule.name, rule.place)
    assert builder is not None, f"{rule.id}: no object builder in tests/access/builders.py"
    return builder(stage)


def url_of(stage: Stage, rule: Rule, case: Case, obj: Any = None, place: str = "") -> str:
    """The address of the case, of another object, or in another dossier."""
    kwargs = dict(case.kwargs)
    if rule.place in SEATS:
        kwargs["dossier"] = stage.dossier(place or rule.place).pk
    if case.obj is not None:
        kwargs["pk"] = (obj or case.obj).pk
    return reverse(rule.name, kwargs=kwargs)


@contextmanager
def writes(log: str = "") -> Iterator[list[str]]:
    """The statements that change rows; those that write to the reading chain `log` left out."""
    found: list[str] = []

    def watch(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        if sql.lstrip().split(None, 1)[0].upper() in {"INSERT", "UPDATE", "DELETE", "REPLACE"}:
            ledger = '"ledger_entry"' in sql or '"ledger_head"' in sql
            if not (log and ledger and log in params):
                found.append(sql)
        return execute(sql, params, many, context)

    with connection.execute_wrapper(watch):
        yield found


def ask(client: Client, method: str, url: str, rule: Rule, data: Any = None) -> HttpResponse:
    """One request; a JSON call gets JSON unless a file goes with it."""
    if method in {"GET", "HEAD"}:
        return getattr(client, method.lower())(url, data or {})
    if rule.call and not any(hasattr(value, "read") for value in (data or {}).values()):
        return client.generic(method, url, as_json(data or {}), content_type="application/json")
    if method == "POST":
        return client.post(url, data or {})
    return client.generic(method, url)


def as_json(data: dict[str, Any]) -> bytes:
    """Bytes of a JSON body."""
    return json.dumps(data).encode()


def met(response: HttpResponse) -> str:
    """In the words of `table.expected`."""
    if response.status_code == 302 and response["Location"].startswith(LOGIN):
        return "login"
    if response.status_code in {403, 404, 405}:
        return str(response.status_code)
    return (
        "in" if response.status_code < 300 or response.status_code in {302, 409, 422} else "crash"
    )


def sees(rule: Rule, who: str, obj: Any) -> bool:
    """Whether the object is shared, released, or of the side of `who`."""
    if not isinstance(obj, DossierRow) or not obj.side_only or obj.released_at:
        return True
    side, _role = SEATS[rule.place].get(who, ("", ""))
    return obj.side_only == side


def check_methods(stage: Stage, rule: Rule, case: Case) -> None:
    """A method that the table does not name gives 405 to everybody, with or without a token."""
    url = url_of(stage, rule, case)
    for who in EVERYONE:
        clients = [stage.client(who, strict=strict) for strict in (True, False)]
        for method in METHODS:
            if rule.allows(method):
                continue
            for client in clients if method == "POST" else clients[:1]:
                status = ask(client, method, url, rule).status_code
                assert status == 405, f"{method} {rule.id} as {who}: {status}, not 405"


def check_doors(stage: Stage, rule: Rule, case: Case) -> None:
    """Everybody at every allowed method meets what the table says; reading writes nothing."""
    url = url_of(stage, rule, case)
    for who in EVERYONE:
        want = expected(rule, who, sees=sees(rule, who, case.obj))
        if want == "login" and rule.call:
            want = "403"
        for method in filter(rule.allows, METHODS):
            logs = logged(rule, who) and method in {"GET", "HEAD"}
            log = f"{stage.agreement.chain}.reading" if logs else ""
            with undone(), writes(log) as written:
                answer = ask(stage.client(who), method, url, rule)
            got = met(answer)
            assert got == want, f"{method} {rule.id} as {who}: {got}, not {want}"
            written = [sql for sql in written if not of_session(rule, sql)]
            if want != "in" or method != "POST":
                assert not written, f"{method} {rule.id} as {who} wrote: {written[0]}"


def check_twin(stage: Stage, rule: Rule, case: Case, obj: DossierRow) -> None:
    """Whoever sits in the dossier and may not come in meets what the table says at a twin. (Who
    may come in is left out: a twin stands in no state in which it could be worked with.)"""
    method, url = rule.first_method, url_of(stage, rule, case, obj)
    for who in sorted(rule.seated):
        want = expected(rule, who, sees=sees(rule, who, obj))
        if want != "in":
            got = met(ask(stage.client(who), method, url, rule))
            assert got == want, f"{method} {rule.id} at a twin as {who}: {got}, not {want}"


def of_session(rule: Rule, sql: str) -> bool:
    """Django's page for a new password keeps its token in the session instead of the address."""
    return rule.name == "password_reset_confirm" and "django_session" in sql


def check_other_objects(stage: Stage, rule: Rule, case: Case) -> None:
    """Objects of another dossier or another side are not found; shared ones are refused to the
    wrong side or role; an address of one kind of dossier is not found in the other kind."""
    if rule.place not in SEATS:
        return
    if rule.name not in IN_BOTH:
        other = "register" if rule.place == "agreement" else "agreement"
        check_absent(stage, rule, url_of(stage, rule, case, place=other), SEATS[other])
    if not isinstance(case.obj, DossierRow):
        return
    sides = {side for side, _role in SEATS[rule.place].values()}
    for changes in [*private_twins(case.obj, sides), *shared_twins(case.obj)]:
        with undone():
            check_twin(stage, rule, case, twin(case.obj, **changes))
    with undone():
        foreign = twin(case.obj, dossier=stage.cast.other)
        check_absent(stage, rule, url_of(stage, rule, case, foreign), rule.may)


def check_absent(stage: Stage, rule: Rule, url: str, whom: Iterable[str]) -> None:
    """All of these get 404."""
    for who in sorted(whom):
        with undone():
            status = ask(stage.client(who), rule.first_method, url, rule).status_code
        assert status == 404, f"{rule.first_method} {rule.id} {url} as {who}: {status}, not 404"


def filled(form: forms.BaseForm) -> dict[str, Any]:
    """A form as a browser would send it back untouched."""
    found: dict[str, Any] = {}
    for bound in form:
        value = bound.value()
        if isinstance(bound.field, forms.FileField) or value in (None, "", False, []):
            continue
        found[bound.html_name] = (
            [str(one) for one in value] if isinstance(value, list) else str(value)
        )
    return found


def page_of(rule: Rule) -> Rule:
    """The page beside a JSON call."""
    name = rule.name.replace("-api:", ":").removesuffix("-api").removesuffix("-prepare")
    return next(other for other in RULES if other.name == name and other.place == rule.place)


def check_success(stage: Stage, rule: Rule, case: Case) -> None:
    """Somebody succeeds at every allowed method, on a real object: what is read is there, what is
    done is done; without a token it is not."""
    client, url = stage.client(case.who), url_of(stage, rule, case)
    assert case.who in rule.may, f"{rule.id}: {case.who} is nobody who may"
    if rule.allows("GET"):
        answer = client.get(url, case.asked)
        assert answer.status_code == 200 or (rule.place == "all" and answer.status_code == 302), (
            f"GET {rule.id} as {case.who}: {answer.status_code}"
        )
    if not rule.allows("POST"):
        return
    target, data = url, dict(case.data)
    page = page_of(rule) if rule.call else rule
    if page.allows("GET"):
        shown = client.get(url_of(stage, page, case), case.asked, follow=True)
        data = filled(shown.context["form"]) | data
        target = url if rule.call else shown.request["PATH_INFO"]
    if case.who != ANONYMOUS or not rule.call:
        strict = stage.client(case.who, strict=True)
        with undone(), writes() as written:
            status = ask(strict, "POST", target, rule, dict(data)).status_code
        assert (status, written) == (403, []), f"POST {rule.id} without a token: {status}"
        for value in data.values():
            if hasattr(value, "seek"):
                value.seek(0)
    with undone(), writes() as written:
        answer = ask(client, "POST", target, rule, data)
    said = answer.content.decode(errors="replace")
    assert answer.status_code == (200 if rule.call or case.told else 302), (
        f"POST {rule.id} as {case.who}: {answer.status_code} {errors_in(answer, said)}"
    )
    assert written or case.reads, f"POST {rule.id} as {case.who} changed nothing"


def errors_in(answer: Any, said: str) -> str:
    """Why a form was refused."""
    context = getattr(answer, "context", None)
    form = context.get("form") if context else None
    return str(dict(form.errors)) if form is not None else said[:600]


ROLES = {"lead": "quality_lead", "staff": "quality_staff"}  # the table's short words


def check_mark(stage: Stage, rule: Rule, case: Case) -> None:
    """The mark says what the table says, also where the view itself is stricter than its mark."""
    access = resolve(url_of(stage, rule, case)).func.access  # type: ignore[attr-defined]
    marked = {
        who
        for who, (side, role) in SEATS.get(rule.place, {}).items()
        if side in access.sides and ROLES.get(role, role) in access.roles
    }
    assert rule.place not in SEATS or marked == rule.may, f"{rule.id} is marked for {marked}"


def check_rule(stage: Stage, rule: Rule) -> None:
    """Everything about one address; what is played for it is undone."""
    with undone():
        case = case_of(stage, rule)
        check_doors(stage, rule, case)
        check_success(stage, rule, case)
        check_other_objects(stage, rule, case)
        check_methods(stage, rule, case)
        check_mark(stage, rule, case)
