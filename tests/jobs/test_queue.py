"""Job rows: one claim each, leases, attempts, failures without private words."""

from __future__ import annotations

import logging
import threading
from datetime import timedelta

import pytest
from django.db import connection, transaction
from django.utils import timezone

from jobs import queue, transitions
from jobs.models import Job, State
from jobs.queue import Failure, UnknownTask, drain, enqueue, latest, sweep, task, try_again

SECRET = "score 14 exceeds 12"
ran: list[tuple[int, int]] = []


@task("test.count")
def count(job, progress):
    for step in range(job.params["to"]):
        progress(step + 1, job.params["to"])
    ran.append((job.pk, job.attempts))
    return {"to": job.params["to"]}


@task("test.breaks")
def breaks(job, progress):
    raise RuntimeError(SECRET)


@task("test.refuses")
def refuses(job, progress):
    raise Failure("The file could not be read.")


@task("test.offline", attempts=3, retry_on=(OSError,), wait=10)
def offline(job, progress):
    raise OSError(SECRET)


@task("test.overtaken")
def overtaken(job, progress):
    """Loses its lease half-way to a claim by somebody else."""
    Job.objects.filter(pk=job.pk).update(lease_until=timezone.now() - timedelta(seconds=1))
    assert transitions.claim(job.pk, 3).attempts == 2
    progress(1, 2)
    ran.append((job.pk, job.attempts))


@task("test.overtaken_at_the_end")
def overtaken_at_the_end(job, progress):
    Job.objects.filter(pk=job.pk).update(lease_until=timezone.now() - timedelta(seconds=1))
    transitions.claim(job.pk, 3)
    return {"from": "the slow one"}


@task("test.no_json")
def no_json(job, progress):
    return {"bytes": b"x"}


@pytest.fixture(autouse=True)
def _nothing_ran():
    ran.clear()


@pytest.fixture
def nudges(monkeypatch):
    seen: list[int] = []
    monkeypatch.setattr(queue, "nudge", seen.append)
    return seen


def expire(job: Job) -> None:
    Job.objects.filter(pk=job.pk).update(lease_until=timezone.now() - timedelta(seconds=1))


@pytest.mark.django_db
def test_a_job_runs_once_and_keeps_its_result():
    job = enqueue("test.count", subject="lot:1", to=3)
    assert drain() == 1
    assert drain() == 0
    job.refresh_from_db()
    assert (job.state, job.done, job.total, job.result) == ("done", 3, 3, {"to": 3})
    assert job.finished_at is not None and job.lease_until is None
    assert ran == [(job.pk, 1)]


@pytest.mark.django_db
def test_the_same_key_gives_the_same_row():
    first = enqueue("test.count", key="pdf:1", to=1)
    assert enqueue("test.count", key="pdf:1", to=1).pk == first.pk
    assert enqueue("test.count", key="pdf:2", to=1).pk != first.pk
    assert drain() == 2


@pytest.mark.django_db
def test_latest_is_the_newest_of_name_and_subject():
    enqueue("test.count", subject="lot:1", to=1)
    newest = enqueue("test.count", subject="lot:1", to=2)
    enqueue("test.count", subject="lot:2", to=1)
    enqueue("test.breaks", subject="lot:1")
    assert latest("test.count", "lot:1").pk == newest.pk
    assert latest("test.count", "lot:3") is None


@pytest.mark.django_db
def test_an_unknown_name_and_unfit_params_are_refused_at_the_caller():
    with pytest.raises(UnknownTask):
        enqueue("test.unheard_of")
    with pytest.raises(TypeError):
        enqueue("test.count", to=object())
    with pytest.raises(ValueError, match="JSON"):
        enqueue("test.count", to=float("nan"))
    assert not Job.objects.exists()


def test_one_name_has_one_handler():
    with pytest.raises(ValueError, match="registered twice"):
        task("test.count")(breaks)


@pytest.mark.django_db(transaction=True)
def test_a_nudge_goes_out_on_commit_and_never_for_a_rolled_back_job(nudges):
    with pytest.raises(RuntimeError), transaction.atomic():
        enqueue("test.count", to=1)
        raise RuntimeError
    assert nudges == [] and not Job.objects.exists()
    with transaction.atomic():
        job = enqueue("test.count", key="k", to=1)
        assert nudges == []
    enqueue("test.count", key="k", to=1)
    assert nudges == [job.pk]


@pytest.mark.django_db(transaction=True)
def test_a_broker_that_is_down_does_not_disturb_the_caller(settings, caplog):
    settings.CELERY_APP = "tests.jobs.no_such_module"
    job = enqueue("test.count", to=1)
    assert Job.objects.get().pk == job.pk
    assert "waits for the sweeper" in caplog.text


@pytest.mark.django_db
def test_a_running_job_is_not_claimed_again_before_its_lease_ends():
    job = enqueue("test.count", to=1)
    claimed = transitions.claim(job.pk, 3)
    assert claimed.attempts == 1
    assert transitions.claim(job.pk, 3) is None
    assert drain() == 0
    expire(job)
    assert drain() == 1
    job.refresh_from_db()
    assert (job.state, job.attempts) == ("done", 2)


@pytest.mark.django_db
def test_progress_moves_the_lease(settings):
    settings.JOBS_LEASE_SECONDS = 100
    job = transitions.claim(enqueue("test.count", to=1).pk, 3)
    expire(job)
    transitions.beat(job, 1, 2)
    job.refresh_from_db()
    left = job.lease_until - timezone.now()
    assert timedelta(seconds=90) < left <= timedelta(seconds=100)
    assert (job.done, job.total) == (1, 2)


@pytest.mark.django_db
def test_who_lost_the_lease_writes_nothing_more(caplog):
    job = enqueue("test.overtaken")
    assert queue.run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.attempts, job.done, job.result) == ("running", 2, 0, None)
    assert ran == [] and "lease lost" in caplog.text


@pytest.mark.django_db
def test_a_late_result_is_dropped():
    job = enqueue("test.overtaken_at_the_end")
    assert queue.run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.result) == ("running", None)


@pytest.mark.django_db
def test_an_unexpected_error_is_logged_and_shows_only_an_id(caplog):
    job = enqueue("test.breaks")
    with caplog.at_level(logging.ERROR):
        assert drain() == 1
    job.refresh_from_db()
    assert job.state == State.FAILED and job.error == transitions.BROKEN
    stored = f"{job.error}{job.error_id}{job.error_text}{job.result}{job.params}"
    assert SECRET not in stored and "Traceback" not in stored
    assert len(job.error_id) == 8 and job.error_id in caplog.text and SECRET in caplog.text


@pytest.mark.django_db
def test_an_expected_failure_keeps_its_own_words():
    job = enqueue("test.refuses")
    drain()
    job.refresh_from_db()
    assert (job.state, job.error_text) == ("failed", "The file could not be read.")


@pytest.mark.django_db
def test_a_result_that_is_not_json_fails_the_job():
    job = enqueue("test.no_json")
    drain()
    job.refresh_from_db()
    assert (job.state, job.error) == ("failed", transitions.BROKEN)


@pytest.mark.django_db
def test_a_task_that_vanished_fails_its_jobs():
    job = Job.objects.create(name="test.gone")
    assert drain() == 1
    job.refresh_from_db()
    assert job.state == "failed"


@pytest.mark.django_db
def test_a_passing_fault_is_tried_again_later_and_not_for_ever():
    job = enqueue("test.offline")
    for attempt, wait in ((1, 10), (2, 40)):
        assert drain() == 1
        job.refresh_from_db()
        assert (job.state, job.attempts) == ("queued", attempt)
        assert timedelta(seconds=wait - 5) < job.due_at - timezone.now() <= timedelta(seconds=wait)
        assert drain() == 0
        Job.objects.filter(pk=job.pk).update(due_at=timezone.now())
    assert drain() == 1
    job.refresh_from_db()
    assert (job.state, job.attempts) == ("failed", 3)


@pytest.mark.django_db
def test_a_job_whose_worker_dies_every_time_is_given_up(nudges):
    job = enqueue("test.count", to=1)
    for _ in range(3):
        assert transitions.claim(job.pk, 3)
        expire(job)
    assert sweep() == 0 and nudges == []
    job.refresh_from_db()
    assert (job.state, job.error) == ("failed", transitions.LOST)
    assert drain() == 0 and ran == []


@pytest.mark.django_db
def test_a_claim_gives_up_as_well_when_no_sweeper_ran():
    job = enqueue("test.count", to=1)
    Job.objects.filter(pk=job.pk).update(
        state="running", attempts=3, lease_until=timezone.now() - timedelta(seconds=1)
    )
    assert drain() == 0
    job.refresh_from_db()
    assert job.state == "failed"


@pytest.mark.django_db
def test_the_sweeper_nudges_lost_and_forgotten_jobs_only(nudges):
    ago = timezone.now() - timedelta(minutes=1)
    fresh = enqueue("test.count", to=1)
    forgotten = enqueue("test.count", to=1)
    Job.objects.filter(pk=forgotten.pk).update(due_at=ago)
    lost = enqueue("test.count", to=1)
    transitions.claim(lost.pk, 3)
    expire(lost)
    working = enqueue("test.count", to=1)
    transitions.claim(working.pk, 3)
    later = enqueue("test.count", to=1)
    Job.objects.filter(pk=later.pk).update(due_at=timezone.now() + timedelta(hours=1))
    assert sweep() == 2
    assert set(nudges) == {forgotten.pk, lost.pk} and fresh.pk not in nudges


@pytest.mark.django_db
def test_only_a_failed_job_is_tried_again_by_hand():
    job = enqueue("test.refuses")
    assert not try_again(job)
    drain()
    assert try_again(job)
    job.refresh_from_db()
    assert (job.state, job.attempts, job.error, job.error_id) == ("queued", 0, "", "")
    assert drain() == 1


@pytest.mark.django_db(transaction=True)
@pytest.mark.only_on("postgresql", "threads of one in-memory SQLite share their transaction")
def test_of_many_claimers_one_gets_the_job():
    job = enqueue("test.count", to=1)
    got: list[Job | None] = []
    start = threading.Barrier(8)

    def rush() -> None:
        try:
            start.wait()
            got.append(transitions.claim(job.pk, 3))
        finally:
            connection.close()

    threads = [threading.Thread(target=rush) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [found.attempts for found in got if found] == [1] and len(got) == 8
