"""Long lists by pages: each row once and in order, whatever is written meanwhile, at one price."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from django.urls import reverse

from ledger import clock
from parties.models import Sitter
from parties.paging import A_PAGE, page_of
from shipments.models import Lot

MANY = 2 * A_PAGE + 7


@pytest.fixture
def lots(world):
    """Lots of which some were opened in the same moment, and one of another agreement."""
    first = world.open_lot("L-0")
    facts = {
        name: getattr(first, name)
        for name in ("dossier", "order", "accepted_on", "part", "part_words", "revision")
    }
    moment = clock.now()
    rows = [
        Lot(**facts, number=f"L-{n}", quantity=1, created_at=moment + dt.timedelta(seconds=n // 3))
        for n in range(1, MANY)
    ]
    Lot.objects.bulk_create(rows)
    return Lot.objects.visible_to(
        Sitter.objects.sitting(world.cast.supplier_lead, world.cast.agreement.pk)
    )


def walk(rows, *, back: bool = False) -> list[list[str]]:
    pages, asked = [], {}
    while True:
        page = page_of(rows, asked)
        pages.append([row.number for row in page.rows])
        mark = page.later if back else page.earlier
        if mark is None:
            return pages
        asked = {"after" if back else "before": str(mark)}


def test_going_on_meets_each_row_once_in_order(lots):
    expected = [row.number for row in lots.order_by("-created_at", "-pk")]
    pages = walk(lots)
    assert [len(page) for page in pages] == [A_PAGE, A_PAGE, 7]
    assert [number for page in pages for number in page] == expected


def test_going_back_from_the_last_page_meets_them_too(lots):
    expected = [row.number for row in lots.order_by("-created_at", "-pk")]
    last = page_of(lots, {"before": str(page_of(lots, {}).earlier)})
    mark = page_of(lots, {"before": str(last.earlier)}).later
    back = page_of(lots, {"after": str(mark)})
    assert [row.number for row in back.rows] == expected[A_PAGE : 2 * A_PAGE]
    first = page_of(lots, {"after": str(back.later)})
    assert [row.number for row in first.rows] == expected[:A_PAGE]
    assert first.later is None and first.earlier == first.rows[-1].pk


def test_what_is_written_meanwhile_shifts_nothing(lots, world):
    mark = page_of(lots, {}).earlier
    before = [row.pk for row in page_of(lots, {"before": str(mark)}).rows]
    world.open_lot("L-new")
    assert [row.pk for row in page_of(lots, {"before": str(mark)}).rows] == before


@pytest.mark.parametrize("mark", ["", "x", "7", "00000000-0000-0000-0000-000000000000"])
def test_a_mark_that_the_list_does_not_have_is_no_mark(lots, mark):
    first = page_of(lots, {})
    assert page_of(lots, {"before": mark}) == first == page_of(lots, {"after": mark})


def test_each_page_costs_at_most_two_queries(lots, django_assert_max_num_queries):
    mark = str(page_of(lots, {}).earlier)
    for asked in ({}, {"before": mark}, {"after": mark}):
        with django_assert_max_num_queries(2):
            page_of(lots, asked)


def test_the_page_leads_on_and_keeps_the_other_list_where_it_is(lots, world, sign_in):
    client = sign_in(world.cast.supplier_lead)
    url = reverse("shipments:lots", kwargs={"dossier": world.cast.agreement.pk})
    page = client.get(url).content.decode()
    [onward] = re.findall(r'href="(\?before=[^"]+)">Earlier', page)
    assert 'aria-label="Pages: Lots"' in page and "Pages: First articles" not in page
    second = client.get(f"{url}{onward}&articles-before=x").content.decode()
    [further] = re.findall(r'href="(\?[^"]*before=[^"]+)">Earlier', second)
    assert "articles-before=x" in further and "The latest" in second
    numbers = set(re.findall(r">(L-\d+)</a>", page)) & set(re.findall(r">(L-\d+)</a>", second))
    assert not numbers
