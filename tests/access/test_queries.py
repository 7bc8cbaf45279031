"""A page takes as many queries with twelve rows of everything as with two."""

from __future__ import annotations

import uuid

import pytest

from agreements import transitions as agreeing
from ledger import chain
from parties.models import Dossier, Membership, Organisation, Person, Seat, Sitter
from tests.access.checks import sees, url_of
from tests.access.reading import cases, queries
from tests.access.stage import Stage, undone
from tests.access.twins import all_rows, plant

pytestmark = pytest.mark.django_db

READERS = ("customer_lead", "supplier_lead", "auditor")
TEN = 10


def more_of_everything(stage: Stage) -> None:
    """Ten more of every row that may stand more than once, and of entries, people, dossiers."""
    for dossier in (stage.agreement, stage.register):
        rows = all_rows(dossier)
        for _time in range(TEN):
            plant(rows)
    for number in range(TEN):
        more_people(stage, number)
        agreeing.make_remark(
            stage.get("revision"), by=stage.world.customer, clause="scope", item="", text="More"
        )
    assert chain.head(stage.agreement.chain).number > TEN


def more_people(stage: Stage, number: int) -> None:
    """Another colleague on each seat, and another agreement of each firm."""
    for seat in Seat.objects.filter(dossier__in=[stage.agreement, stage.register]):
        key = uuid.uuid4().hex
        who = Person.objects.create(email=f"{key}@example.org", name=f"Colleague {number}")
        Membership.objects.create(organisation=seat.organisation, person=who, role="quality_staff")
        Sitter.objects.create(
            dossier=seat.dossier, seat=seat, person=who, role="quality_staff", code=f"X-{key[:9]}"
        )
    dossier = Dossier.objects.create(purpose="agreement", title=f"Matter {number}")
    for key, side, who in (
        ("cust", "customer", "customer_lead"),
        ("supp", "supplier", "supplier_lead"),
        ("audit", "auditor", "auditor"),
    ):
        firm: Organisation = stage.cast.firms[key]
        seat = Seat.objects.create(dossier=dossier, organisation=firm, side=side, code=key)
        person = stage.cast.people[who]
        role = Membership.objects.get(person=person, organisation=firm).role
        Sitter.objects.create(dossier=dossier, seat=seat, person=person, role=role, code=who[:16])


@pytest.mark.parametrize("who", READERS)
def test_the_number_of_queries_does_not_grow_with_the_rows(stage: Stage, who: str):
    """Every page and answer that the person may read."""
    pages = {
        url_of(stage, rule, case): case.asked
        for rule, case in cases(stage)
        if who in rule.may and sees(rule, who, case.obj)
    }
    few = {url: queries(stage, who, url, asked) for url, asked in pages.items()}
    assert len(few) > 25
    with undone():
        more_of_everything(stage)
        many = {url: queries(stage, who, url, asked) for url, asked in pages.items()}
    grown = {url: (count, many[url]) for url, count in few.items() if many[url] != count}
    assert grown == {}
