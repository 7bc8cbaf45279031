"""What is put back is what was played: rows, files, mails, and whom it speaks of."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from django.conf import settings
from django.core import mail
from django.db import connection
from django.test.utils import CaptureQueriesContext

from ledger import clock
from ledger.models import Entry
from parties.models import Organisation
from tests import kept as keeping
from tests.access.stage import undone
from tests.cast import Cast, make_cast
from tests.kept import kept
from tests.world import World, make_world

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def empty_shelf(monkeypatch) -> None:
    """Nothing is kept from other tests, nor for them."""
    monkeypatch.setattr(keeping, "_shelf", {})


def everything() -> tuple[Any, ...]:
    """All that a test could ask: rows, files, and what each mail says to whom."""
    mails = [(sent.to, sent.subject, sent.body) for sent in mail.outbox]
    return keeping._rows(), keeping._files(), mails


def begin() -> World:
    """As the fixtures `cast` and `world` do it."""
    cast = kept("cast", make_cast)
    return kept("world", lambda: make_world(cast), cast)


def twice() -> tuple[World, tuple[Any, ...], World, tuple[Any, ...]]:
    """Played, then put back after everything of it is gone."""
    with undone():
        played = begin()
        after_playing = everything()
    mail.outbox.clear()
    for file in list(settings.BLOB_DIR.rglob("*")):
        if file.is_file():
            file.unlink()
    return played, after_playing, begin(), everything()


def test_what_is_put_back_is_row_for_row_what_was_played(quick_papers):
    _, before, _, after = twice()
    rows, files, mails = before
    assert len(rows[Entry._meta.db_table]) > 40 and len(files) > 10 and len(mails) > 10
    assert after == before


def test_what_describes_it_is_a_copy_that_speaks_of_the_cast_at_hand(quick_papers):
    played, _, back, _ = twice()
    assert back is not played and back.cast is not played.cast
    assert back.master == played.master and back.master is not played.master
    assert back.booths == played.booths
    assert back.supplier.sitter.person == back.cast.supplier_lead


def test_the_world_goes_on_from_there(quick_papers):
    """Chain, registers and jobs bear what comes next: a lot is judged on rows put back."""
    *_, back, _ = twice()
    assert back.judged_lot().status == "judged"
    assert back.released_lot("L-2").status == "released"


def test_putting_back_takes_about_one_statement_per_table(quick_papers):
    with undone():
        begin()
    what = next(kind for key, kind in keeping._shelf.items() if key[0] == "world")
    assert len(what.new) < 40 and sum(len(rows) for _, rows in what.changed) < 20
    with CaptureQueriesContext(connection) as seen:
        begin()
    assert len(seen) < 80


def test_it_is_played_again_on_other_rows_settings_or_times(settings):
    played = []

    def play() -> Cast:
        played.append(1)
        return make_cast()

    def asked() -> int:
        with undone():
            kept("cast", play)
        return len(played)

    assert [asked(), asked()] == [1, 1]
    Organisation.objects.create(name="One more (invented)")
    assert [asked(), asked()] == [2, 2]
    settings.PUBLIC_URL = "https://elsewhere.example"
    assert [asked(), asked()] == [3, 3]
    with clock.fixed(dt.datetime(2026, 3, 3, 12, tzinfo=dt.UTC)):
        assert [asked(), asked()] == [4, 5]


def test_what_removes_rows_is_always_played():
    firm = Organisation.objects.create(name="Gone soon (invented)")
    played = []

    def play() -> int:
        played.append(1)
        return firm.delete()[0] if len(played) == 1 else 0

    assert kept("removal", play) == 1
    assert keeping._shelf == {}


@pytest.mark.django_db(transaction=True)
def test_with_real_transactions_it_is_always_played():
    kept("cast", make_cast)
    assert keeping._shelf == {}
