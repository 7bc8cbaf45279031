"""Everything a persona can read: each page, JSON answer and download that answers to GET."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from django.db import connection
from django.http import HttpResponse
from django.test.utils import CaptureQueriesContext

from disputes.models import Dispute, Offer
from parties.models import DossierRow
from shipments.models import FirstArticle, Lot, Submission
from tests.access.builders import Case
from tests.access.checks import case_of, sees, url_of
from tests.access.stage import Stage, undone
from tests.access.table import RULES, Rule

# What differs every time: tokens of forms, and when and how a checkpoint was signed.
TOKEN = re.compile(
    rb'name="(csrfmiddlewaretoken|once)" value="[^"]*"|(?m:^(time \d{4}-\S+|signed \S+\.\.\S+)$)'
)
# Other objects than the builders', for pages whose lists depend on the state.
MORE = {
    "shipments:lot": ("lot_open", "lot_received", "lot_released"),
    "shipments:article": ("article_preparing", "article_approved"),
    "shipments:list": ("list_drawn_up",),
    "disputes:dispute": ("dispute_raised",),
    "evidence:sitting": ("sitting_customer",),
    "parties:reference": ("duplicate", "pack_register"),
    "parties:observer": ("observer_plain",),
}
# Builders that play something leave nothing behind: the form of the act is read at these instead.
STANDING = {
    "Draft": "draft",
    "Revision": "revision",
    "MeasuredSet": "set",
    Lot.__name__: "lot_judged",
    FirstArticle.__name__: "article_submitted",
    Submission.__name__: "submission",
    Dispute.__name__: "dispute",
    Offer.__name__: "offer",
}


def cases(stage: Stage) -> list[tuple[Rule, Case]]:
    """Every address that answers to GET, with every object at which it is read."""
    if "cases" in stage.things:
        return list(stage.things["cases"])
    found = stage.things["cases"] = []
    for rule in RULES:
        if not rule.allows("GET") or rule.name in {"password_reset_confirm", "login"}:
            continue
        with undone():
            case = case_of(stage, rule)
        if case.obj is not None and not still_there(case.obj):
            case.obj = stage.get(STANDING[type(case.obj).__name__])
        found.append((rule, case))
        if rule.name == "parties:reference" and rule.place == "agreement":
            continue
        for thing in MORE.get(rule.name, ()):
            found.append((rule, Case(stage.get(thing), case.who, kwargs=case.kwargs)))
    return list(found)


def still_there(obj: DossierRow) -> bool:
    """Whether the row was not undone."""
    return type(obj)._default_manager.filter(pk=obj.pk).exists()


def body(answer: HttpResponse) -> bytes:
    """What was said, without the tokens that differ every time."""
    data = b"".join(answer.streaming_content) if answer.streaming else answer.content
    return TOKEN.sub(b"", data)


def read(
    stage: Stage, whom: Iterable[str], found: list[tuple[Rule, Case]], places: Iterable[str]
) -> dict[tuple[str, str], bytes]:
    """(who, address) → what they read there, for all that may come in."""
    texts = {}
    for who in whom:
        client = stage.client(who)
        for rule, case in found:
            if rule.place not in places or who not in rule.may or not sees(rule, who, case.obj):
                continue
            url = url_of(stage, rule, case)
            with undone():  # the reading log would grow, and differ the next time
                answer = client.get(url, case.asked)
                texts[who, url] = str(answer.status_code).encode() + b" " + body(answer)
    return texts


def queries(stage: Stage, who: str, url: str, asked: dict[str, Any]) -> int:
    """How many queries a page takes."""
    client = stage.client(who)
    # Undone: what was logged once within the hour is not logged again.
    with undone(), CaptureQueriesContext(connection) as captured:
        # 409: an act that cannot be done now says so.
        assert client.get(url, asked).status_code in {200, 409}, url
    return len(captured)
