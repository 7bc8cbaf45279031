"""Idempotency keys: the first answer again, nothing done twice."""

from __future__ import annotations

import threading
import time
from datetime import timedelta

import pytest
from django.db import connection
from django.utils import timezone

from jobs.models import IdempotencyKey
from jobs.once import KeyReused, once
from jobs.queue import sweep


class Counter:
    """Counts how often the work was done."""

    calls = 0

    def __call__(self):
        self.calls += 1
        return {"status": 200, "nth": self.calls}


@pytest.mark.django_db
def test_a_repetition_gets_the_first_answer():
    work = Counter()
    answers = [once("k1", "person:1", "d" * 64, work) for _ in range(3)]
    assert answers == [{"status": 200, "nth": 1}] * 3 and work.calls == 1


@pytest.mark.django_db
def test_keys_belong_to_their_owner():
    work = Counter()
    assert once("k1", "person:1", "d", work) != once("k1", "person:2", "d", work)
    assert work.calls == 2


@pytest.mark.django_db
def test_the_same_key_with_another_body_is_refused():
    work = Counter()
    once("k1", "person:1", "d", work)
    with pytest.raises(KeyReused):
        once("k1", "person:1", "e", work)
    assert work.calls == 1


@pytest.mark.django_db
def test_an_error_leaves_the_key_free():
    def fails():
        raise RuntimeError

    with pytest.raises(RuntimeError):
        once("k1", "person:1", "d", fails)
    assert once("k1", "person:1", "d", Counter()) == {"status": 200, "nth": 1}


@pytest.mark.django_db
@pytest.mark.parametrize("key", ["", "k" * 201, "a\0b", "a\nb", "\ud800"])
def test_unfit_keys_are_refused(key):
    with pytest.raises(ValueError, match="printable"):
        once(key, "person:1", "d", Counter())


@pytest.mark.django_db
def test_old_keys_are_swept_away():
    once("old", "person:1", "d", Counter())
    IdempotencyKey.objects.update(created_at=timezone.now() - timedelta(days=8))
    once("new", "person:1", "d", Counter())
    sweep()
    assert list(IdempotencyKey.objects.values_list("key", flat=True)) == ["new"]


@pytest.mark.django_db(transaction=True)
@pytest.mark.only_on("postgresql", "threads of one in-memory SQLite share their transaction")
def test_two_requests_at_the_same_time_do_the_work_once():
    work, answers, start = Counter(), [], threading.Barrier(2)

    def slow():
        time.sleep(0.2)
        return work()

    def request() -> None:
        try:
            start.wait()
            answers.append(once("k1", "person:1", "d", slow))
        finally:
            connection.close()

    threads = [threading.Thread(target=request) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert answers == [{"status": 200, "nth": 1}] * 2 and work.calls == 1
