"""What is in force on a day: dates, supersession, suspension, end."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from agreements import transitions
from agreements.due import due, due_in
from agreements.standing import in_force, revision_for_order, term_of, today_in
from ledger import clock
from method.terms.edit import with_values
from parties.models import Seat
from parties.refusal import Refusal
from tests.agreements.conftest import Table, complete

MARCH = datetime(2026, 3, 2, 9, tzinfo=UTC)


def signed(table: Table, when: datetime = MARCH, **changes: str):
    """A revision with these values in clause 10, signed by both at `when`."""
    terms = with_values(complete(), "changes", changes) if changes else complete()
    return sign_all(table, table.draft(terms=terms), when)


def sign_all(table: Table, draft, when: datetime):
    with clock.fixed(when):
        revision = transitions.propose(draft, by=table.customer)
        transitions.agree(revision, by=table.supplier, digest=revision.digest)
        for by in (table.customer, table.supplier):
            transitions.sign(revision, by=by, digest=revision.digest)
    return revision


def amended(table: Table, base, when: datetime, **scope: str):
    with clock.fixed(when):
        draft = transitions.take_up(base, by=table.customer)
        terms = with_values(draft.document, "scope", {"material": "ABS 2", **scope})
        transitions.rewrite(draft, by=table.customer, terms=terms)
    return sign_all(table, draft, when)


def test_from_the_second_signature_on(table, cast):
    revision = signed(table)
    assert in_force(cast.agreement, date(2026, 3, 1)) is None
    assert in_force(cast.agreement, date(2026, 3, 2)) == revision
    assert in_force(cast.agreement, date(2030, 1, 1)) == revision


def test_the_day_of_signing_is_counted_in_the_agreements_zone(table, cast):
    revision = signed(table, datetime(2026, 3, 2, 23, 30, tzinfo=UTC))  # the 3rd in Berlin
    assert term_of(revision) == (date(2026, 3, 3), None)
    with clock.fixed(datetime(2026, 3, 5, 23, 30, tzinfo=UTC)):
        assert today_in(cast.agreement) == date(2026, 3, 6)


def test_within_the_dates_that_clause_10_names(table, cast):
    revision = signed(table, starts_on="2026-04-01", ends_on="2026-06-30")
    days = [date(2026, 3, 31), date(2026, 4, 1), date(2026, 6, 30), date(2026, 7, 1)]
    assert [in_force(cast.agreement, day) for day in days] == [None, revision, revision, None]


def test_an_amendment_supersedes_from_its_day_and_orders_keep_their_revision(table, cast):
    first = signed(table)
    second = amended(table, first, MARCH + timedelta(days=30), open_orders="keep_revision")
    assert in_force(cast.agreement, date(2026, 3, 31)) == first
    assert in_force(cast.agreement, date(2026, 4, 1)) == second
    order, opened = date(2026, 3, 10), date(2026, 4, 20)
    assert revision_for_order(cast.agreement, order) == first
    assert revision_for_order(cast.agreement, order, opened) == first


def test_open_orders_take_the_new_revision_where_it_says_so(table, cast):
    first = signed(table)
    second = amended(table, first, MARCH + timedelta(days=30), open_orders="take_new_revision")
    order = date(2026, 3, 10)
    assert revision_for_order(cast.agreement, order, date(2026, 3, 20)) == first
    assert revision_for_order(cast.agreement, order, date(2026, 4, 20)) == second


def test_an_unsigned_amendment_changes_nothing(table, cast):
    first = signed(table)
    draft = transitions.take_up(first, by=table.customer)
    revision = transitions.propose(draft, by=table.customer)
    transitions.agree(revision, by=table.supplier, digest=revision.digest)
    transitions.sign(revision, by=table.customer, digest=revision.digest)
    assert in_force(cast.agreement, clock.now().date()) == first


def test_suspended_resumed_ended(table, cast):
    revision = signed(table)
    dossier, reason = cast.agreement, "The mould is being repaired."
    with clock.fixed(MARCH):
        transitions.suspend(dossier, by=table.supplier, from_day=date(2026, 3, 10), reason=reason)
        transitions.resume(dossier, by=table.customer, from_day=date(2026, 3, 20), reason=reason)
        transitions.end(dossier, by=table.customer, from_day=date(2026, 12, 31), reason=reason)
    days = [date(2026, 3, 9), date(2026, 3, 10), date(2026, 3, 20), date(2026, 12, 31)]
    assert [in_force(dossier, day) for day in days] == [revision, None, revision, None]


@pytest.mark.parametrize(
    ("acts", "id"),
    [
        (["resume"], "agreement.stands"),
        (["suspend", "suspend"], "agreement.suspended"),
        (["end", "end"], "agreement.ended"),
        (["end", "resume"], "agreement.ended"),
        (["end", "suspend"], "agreement.ended"),
    ],
)
def test_standings_in_the_wrong_order_are_refused(table, cast, acts, id):
    signed(table)
    day = today_in(cast.agreement)
    *before, last = acts
    for act in before:
        getattr(transitions, act)(cast.agreement, by=table.customer, from_day=day, reason="r")
    with pytest.raises(Refusal) as caught:
        getattr(transitions, last)(cast.agreement, by=table.customer, from_day=day, reason="r")
    assert caught.value.id == id


def test_who_and_from_when_are_checked(table, cast):
    day = clock.now().date()

    def refusal(by, on) -> str:
        with pytest.raises(Refusal) as caught:
            transitions.suspend(cast.agreement, by=by, from_day=on, reason="r")
        return caught.value.id

    assert refusal(table.customer, day) == "agreement.unsigned"
    signed(table)
    day = today_in(cast.agreement)
    assert refusal(cast.capacity(cast.customer_colleague), day) == "seat.role"
    assert refusal(cast.capacity(cast.auditor), day) == "seat.role"
    assert refusal(table.customer, day - timedelta(days=1)) == "day.past"
    later = day + timedelta(days=9)
    transitions.suspend(cast.agreement, by=table.customer, from_day=later, reason="r")
    with pytest.raises(Refusal) as caught:
        transitions.resume(cast.agreement, by=table.customer, from_day=day, reason="r")
    assert caught.value.id == "day.before_last"


def test_what_is_due_follows_the_move(table, cast):
    day = clock.now().date()

    def ids(who) -> list[str]:
        return [one.id.split(":")[0] for one in due(cast.capacity(who), day)]

    draft = table.draft()
    assert (ids(cast.customer_lead), ids(cast.supplier_lead)) == (["draft"], [])
    assert ids(cast.auditor) == []
    revision = transitions.propose(draft, by=table.customer)
    assert (ids(cast.customer_lead), ids(cast.supplier_lead)) == ([], ["revision_answer"])
    assert ids(cast.supplier_staff) == []  # staff do not answer
    transitions.agree(revision, by=table.supplier, digest=revision.digest)
    assert ids(cast.customer_lead) == ids(cast.supplier_lead) == ["revision_sign"]
    transitions.sign(revision, by=table.customer, digest=revision.digest)
    assert (ids(cast.customer_lead), ids(cast.supplier_lead)) == ([], ["revision_sign"])
    transitions.sign(revision, by=table.supplier, digest=revision.digest)
    assert ids(cast.customer_lead) == ids(cast.supplier_lead) == []


def test_an_invitation_that_was_not_accepted_is_due(cast):
    register = cast.registers["third"]
    dossier = transitions.start_agreement(
        register,
        by=cast.capacity(cast.stranger, register),
        title="Trial",
        side="customer",
        terms="visual",
        firm="Nobody yet (invented)",
        email="nobody@example.net",
    )
    assert Seat.objects.filter(dossier=dossier).count() == 1
    found = due(cast.capacity(cast.stranger, dossier), clock.now().date())
    assert [one.id.split(":")[0] for one in found] == ["draft", "invitation"]
    assert "Trial" in found[1].words


def test_what_is_due_in_many_dossiers_takes_as_many_queries(cast, table, django_assert_num_queries):
    table.proposed()
    both = [cast.capacity(cast.supplier_lead), cast.capacity(cast.supplier_lead, cast.other)]
    with django_assert_num_queries(3):
        due_in(both[:1], clock.now().date())
    with django_assert_num_queries(3):
        assert len(due_in(both, clock.now().date())) == 1
