"""Filtering the timeline by GET parameters, page by number; every kind has its group."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from desk.filters import A_PAGE, GROUPS, kinds_of, page_of
from ledger import chain
from ledger.kinds import Kind
from shipments.transitions.listing import draw_up_list, sign_list

OF_READING = {
    "reading.opened", "page.read", "record.taken", "checkpoint.given", "checkpoint.compared",
}  # fmt: skip


def test_every_kind_of_an_agreement_is_in_one_group():
    grouped = [kind for group in GROUPS for kind in kinds_of(group)]
    assert sorted(grouped) == sorted(kind.value for kind in Kind if kind.value not in OF_READING)


def shown(world, sign_in, who: str = "auditor", **asked) -> list:
    url = reverse("desk:timeline", kwargs={"dossier": world.cast.agreement.pk})
    answer = sign_in(getattr(world.cast, who)).get(url, asked)
    assert answer.status_code == 200
    return [row.entry for row in answer.context["rows"]]


def test_by_sort_side_person_and_day(world, sign_in):
    world.settled("L-1")
    every = list(chain.entries(world.cast.agreement.chain).order_by("-number"))
    assert shown(world, sign_in) == every[:A_PAGE]
    for group in GROUPS:
        found = shown(world, sign_in, group=group)
        assert found == [one for one in every if one.kind in kinds_of(group)], group
    for side in ("customer", "supplier", "system"):
        found = shown(world, sign_in, side=side)
        assert found and found == [one for one in every if one.side == side]
    code = world.by(world.cast.supplier_staff).sitter.code
    found = shown(world, sign_in, person=f" {code.lower()} ")
    assert found and found == [one for one in every if one.actor == code]
    assert shown(world, sign_in, person="P-NOBODY") == []
    day = every[0].time.date()
    within = [one for one in every if one.time.date() == day]
    assert shown(world, sign_in, from_day=str(day), to_day=str(day)) == within[:A_PAGE]
    assert shown(world, sign_in, from_day=str(day + dt.timedelta(days=1))) == []


def test_by_lot_with_all_that_hangs_on_it(world, sign_in):
    dispute = world.settled("L-1")
    world.judged_lot("L-2")
    found = {entry.subject for entry in shown(world, sign_in, about="L-1")}
    handed = {one.subject for one in dispute.lot.submissions.all()}
    offers = {one.subject for one in dispute.offers.all()}
    assert found == {dispute.lot.subject, dispute.subject, *handed, *offers}
    article = shown(world, sign_in, about="FA-1")
    assert {"article.submitted", "article.approved"} <= {entry.kind for entry in article}
    assert shown(world, sign_in, about="L-99") == []
    rows = [world.last_submission(world.judged_lot("L-3"))]
    drawn = draw_up_list(world.cast.agreement, by=world.staff, submissions=rows)
    drawn = sign_list(drawn, by=world.supplier)
    assert drawn.subject in {entry.subject for entry in shown(world, sign_in, about="L-3")}
    both = shown(world, sign_in, about="L-1", group="signing", side="customer")
    assert both and {(one.kind, one.side) for one in both} == {("signature.made", "customer")}


def test_what_cannot_be_asked_is_said_and_hides_nothing(world, sign_in):
    url = reverse("desk:timeline", kwargs={"dossier": world.cast.agreement.pk})
    client = sign_in(world.cast.auditor)
    for asked in ({"group": "nonsense"}, {"from_day": "2026-02-30"}, {"person": "x\0"}):
        answer = client.get(url, asked)
        assert answer.status_code == 200 and answer.context["form"].errors, asked
        assert answer.context["rows"]
        page = answer.content.decode()
        assert "Nothing is left out below" in page and "Nothing was changed" not in page
    for asked in ({"before": "x"}, {"before": "9" * 40}, {"after": "-1"}, {"before": "٣"}):
        assert client.get(url, asked).context["rows"], asked


def test_a_last_day_before_the_first_is_said_by_its_field(world, sign_in):
    url = reverse("desk:timeline", kwargs={"dossier": world.cast.agreement.pk})
    client = sign_in(world.cast.auditor)
    answer = client.get(url, {"from_day": "2026-03-02", "to_day": "2026-03-01"})
    assert answer.status_code == 200 and answer.context["rows"]
    errors = answer.context["form"].errors
    assert list(errors) == ["to_day"]
    assert "before the first one, 2026-03-02" in errors["to_day"][0]
    page = answer.content.decode()
    assert '<details class="card" open>' in page
    assert 'value="2026-03-02"' in page and 'value="2026-03-01"' in page  # what was typed stays
    for days in (
        {"from_day": "2026-03-01", "to_day": "2026-03-01"},
        {"from_day": "2026-03-02"},
        {"to_day": "2026-03-01"},
    ):
        assert not client.get(url, days).context["form"].errors, days
    # a first day that cannot be read is the only thing said
    unread = client.get(url, {"from_day": "2026-02-30", "to_day": "2026-03-01"})
    assert list(unread.context["form"].errors) == ["from_day"]


def test_pages_go_by_number_both_ways(world):
    for number in range(A_PAGE):
        world.open_lot(f"L-{number}")
    entries = chain.entries(world.cast.agreement.chain)
    numbers = list(entries.values_list("number", flat=True))[::-1]
    first = page_of(entries, {})
    second = page_of(entries, {"before": str(first.earlier)})
    assert [one.number for one in first.entries] == numbers[:A_PAGE]
    assert [one.number for one in second.entries] == numbers[A_PAGE : 2 * A_PAGE]
    assert first.later is None and second.later == second.entries[0].number
    back = page_of(entries, {"after": str(second.later)})
    assert [one.number for one in back.entries] == [one.number for one in first.entries]
    assert page_of(entries, {"before": "1"}).entries == []


@pytest.mark.parametrize("asked", [{}, {"about": "L-0", "group": "lots", "side": "supplier"}])
def test_a_filtered_page_asks_as_often_for_many_entries_as_for_few(world, sign_in, asked):
    url = reverse("desk:timeline", kwargs={"dossier": world.cast.agreement.pk})
    client = sign_in(world.cast.auditor)
    world.open_lot("L-0")
    counts = []
    for number in (1, 2):
        client.get(url, asked)
        with CaptureQueriesContext(connection) as captured:
            client.get(url, asked)
        counts.append(len(captured))
        for lot in range(10 * number, 10 * number + 8):
            world.open_lot(f"L-{lot}")
    assert counts[0] == counts[1]
