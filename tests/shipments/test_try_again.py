"""What failed in the background can be tried again by whoever waits for it."""

from __future__ import annotations

import pytest
from django.conf import settings
from django.urls import reverse

from desk.models import RecordCopy
from desk.records import EXPORT, ask_for_record
from jobs import queue
from jobs.models import Job, State
from ledger.models import Entry
from parties.refusal import Refusal
from shipments import transitions
from shipments.models import Lot, Verdict, VerdictPaper
from shipments.transitions.judging import PAPER
from shipments.transitions.submissions import JUDGE


def broken(*_args, **_more):
    raise RuntimeError("out of order")


def address(name: str, obj) -> str:
    return reverse(name, kwargs={"dossier": obj.dossier_id, "pk": obj.pk})


@pytest.fixture
def stuck(world, monkeypatch) -> Lot:
    """A lot whose judging failed; the judge is mended afterwards."""
    with monkeypatch.context() as patched:
        patched.setattr("shipments.transitions.judging.judge", broken)
        lot = world.judged_lot()
    assert lot.status == "submitted"
    assert queue.latest(JUDGE, world.last_submission(lot).subject).state == State.FAILED
    return lot


@pytest.mark.parametrize("who", ["supplier_staff", "customer_colleague"])
def test_a_failed_judging_is_tried_again_from_its_page(world, stuck, sign_in, who):
    submission = world.last_submission(stuck)
    client = sign_in(getattr(world.cast, who))
    again = address("shipments:submissions-try-again", submission)
    page = client.get(submission.get_absolute_url()).content.decode()
    assert again in page and "can be tried again" in page
    assert (
        again not in sign_in(world.cast.auditor).get(submission.get_absolute_url()).content.decode()
    )
    before = Entry.objects.count()
    assert client.post(again).status_code == 302
    assert Entry.objects.count() == before
    assert again not in client.get(submission.get_absolute_url()).content.decode()
    queue.drain()
    stuck.refresh_from_db()
    assert stuck.status == "judged"
    assert Verdict.objects.get(submission=submission).outcome == "conforming"


def test_it_stands_on_the_desk_of_the_side_that_handed_it_in(world, stuck, sign_in):
    def asked(who):
        words = "Judging the evidence of L-1 stopped"
        return words in sign_in(who).get("/").content.decode()

    assert stuck.number == "L-1"
    assert asked(world.cast.supplier_staff) and asked(world.cast.supplier_lead)
    assert not asked(world.cast.customer_lead) and not asked(world.cast.auditor)
    transitions.try_again(world.last_submission(stuck), by=world.staff)
    queue.drain()
    assert not asked(world.cast.supplier_staff)


def test_it_may_fail_again(world, stuck, monkeypatch):
    submission = world.last_submission(stuck)
    monkeypatch.setattr("shipments.transitions.judging.judge", broken)
    for _time in range(2):
        transitions.try_again(submission, by=world.customer)
        queue.drain()
        assert queue.latest(JUDGE, submission.subject).state == State.FAILED


def test_nothing_is_tried_where_nothing_failed(world):
    submission = world.last_submission(world.judged_lot())
    with pytest.raises(Refusal) as caught:
        transitions.try_again(submission, by=world.staff)
    assert caught.value.id == "nothing_failed"
    assert not Job.objects.exclude(state=State.DONE).exists()


def test_a_paper_that_failed_is_set_again_and_no_other(world, monkeypatch, sign_in):
    with monkeypatch.context() as patched:
        patched.setattr("jobs.pdf.render", broken)
        lot = world.judged_lot()
    submission = world.last_submission(lot)
    languages = {language for language, _name in settings.LANGUAGES}
    assert Job.objects.filter(name=PAPER, state=State.FAILED).count() == len(languages)
    client = sign_in(world.cast.customer_lead)
    assert client.post(address("shipments:submissions-try-again", submission)).status_code == 302
    assert not Job.objects.filter(state=State.FAILED).exists()
    queue.drain()
    papers = VerdictPaper.objects.filter(verdict=submission.verdict)
    assert set(papers.values_list("language", flat=True)) == languages
    assert Verdict.objects.filter(submission=submission).count() == 1


def test_a_lot_is_withdrawn_while_no_verdict_stands(world, stuck, sign_in):
    client = sign_in(world.cast.supplier_staff)
    withdraw = address("shipments:lots-withdraw", stuck)
    assert withdraw in client.get(stuck.get_absolute_url()).content.decode()
    assert client.post(withdraw, {"reason": "Scrapped"}).status_code == 302
    submission = world.last_submission(stuck)
    transitions.try_again(submission, by=world.staff)
    queue.drain()
    stuck.refresh_from_db()
    assert stuck.status == "withdrawn"  # a verdict that comes later does not bring it back
    assert Verdict.objects.filter(submission=submission).exists()


def test_a_copy_of_the_record_that_failed_is_written_again(world, monkeypatch, sign_in):
    with monkeypatch.context() as patched:
        patched.setattr("ledger.export.write_record", broken)
        copy = ask_for_record(world.cast.agreement, by=world.by(world.cast.auditor))
        queue.drain()
    again = address("desk:record-try-again", copy)
    client = sign_in(world.cast.auditor)
    assert again in client.get(copy.get_absolute_url()).content.decode()
    assert sign_in(world.cast.customer_lead).post(again).status_code == 404
    assert client.post(again).status_code == 302
    queue.drain()
    assert queue.latest(EXPORT, copy.subject).state == State.DONE
    assert RecordCopy.objects.get(pk=copy.pk).size
    assert again not in client.get(copy.get_absolute_url()).content.decode()
    assert client.post(f"/api{again}").json()["id"] == "nothing_failed"
