"""Workers as processes of their own on a file database: killed, they lose and repeat nothing."""

from __future__ import annotations

import os
import signal
import socket
import sqlite3
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
import redis
from django.conf import settings

from tests import needs

pytestmark = pytest.mark.slow
STEPS, PAUSE = 8, 0.25


class Installation:
    """A var folder, its database, and the processes started on it."""

    def __init__(self, var: Path, **environment: str) -> None:
        self.var = var
        self.started: list[subprocess.Popen[bytes]] = []
        kept = ("PATH", "HOME", "LANG", "LD_LIBRARY_PATH")
        self.environment = {name: os.environ[name] for name in kept if name in os.environ} | {
            "COUNTERSHADE_VAR_DIR": str(var),
            "COUNTERSHADE_JOBS_LEASE": "2",
            "COUNTERSHADE_JOBS_SWEEP": "1",
            "DJANGO_SETTINGS_MODULE": "tests.jobs.planted.settings",
            "PYTHONPATH": str(settings.BASE_DIR),
            **environment,
        }

    def command(self, *arguments: str) -> str:
        """Run manage.py to its end; what it printed."""
        done = subprocess.run(
            [sys.executable, "manage.py", *arguments],
            cwd=settings.BASE_DIR,
            env=self.environment,
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    def start(self, *arguments: str) -> subprocess.Popen[bytes]:
        """Start manage.py; its words go to a file that a failing test shows."""
        with (self.var / "output").open("ab") as output:
            process = subprocess.Popen(
                [sys.executable, "manage.py", *arguments],
                cwd=settings.BASE_DIR,
                env=self.environment,
                stdout=output,
                stderr=output,
            )
        self.started.append(process)
        return process

    def job(self) -> dict[str, Any]:
        """The newest row of the job table."""
        with closing(sqlite3.connect(self.var / "countershade.sqlite3", timeout=20)) as database:
            database.row_factory = sqlite3.Row
            row = database.execute("SELECT * FROM jobs_job WHERE name LIKE 'planted.%'").fetchone()
            return dict(row)

    def notes(self) -> list[list[int]]:
        """[process, attempt, step] as the planted task wrote them."""
        file = self.var / "notes"
        lines = file.read_text(encoding="ascii").splitlines() if file.exists() else []
        return [[int(word) for word in line.split()] for line in lines]

    def mails(self) -> list[str]:
        """All mails that were handed over."""
        return [file.read_text(encoding="utf-8") for file in (self.var / "mail").glob("*")]

    def enqueue(self) -> None:
        """Write the planted job from a process that is no worker, as a web request does."""
        self.command(
            "shell",
            "-c",
            "from jobs.queue import enqueue; "
            f"enqueue('planted.steps', file={str(self.var / 'notes')!r},"
            f" steps={STEPS}, pause={PAUSE})",
        )

    def until(self, reached: Callable[[], Any], seconds: float = 15) -> None:
        """Wait for something; fail with the processes' words."""
        end = time.monotonic() + seconds
        while not reached():
            if time.monotonic() > end:
                pytest.fail((self.var / "output").read_text(encoding="utf-8", errors="replace"))
            time.sleep(0.05)


@pytest.fixture
def install(tmp_path) -> Iterator[Callable[..., Installation]]:
    """Make installations; whatever they started is ended."""
    made: list[Installation] = []

    def new(**environment: str) -> Installation:
        made.append(Installation(tmp_path, **environment))
        made[-1].command("migrate", "--verbosity", "0")
        return made[-1]

    yield new
    for process in [process for place in made for process in place.started]:
        process.kill()
        process.wait()


def alive(pid: int) -> bool:
    """Whether a process runs (a dead one waiting to be collected does not)."""
    try:
        state = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()[0]
    except FileNotFoundError:
        return False
    return state not in "ZX"


def children(pid: int) -> list[int]:
    """The processes started by a process."""
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            if int(stat.read_text(encoding="ascii").rpartition(")")[2].split()[1]) == pid:
                found.append(int(stat.parent.name))
        except OSError:
            continue
    return found


@pytest.fixture(params=["filesystem", "redis"])
def broker(request) -> Iterator[dict[str, str]]:
    """The environment of a broker; Redis keys are removed afterwards."""
    if request.param == "filesystem":
        yield {}
        return
    url, prefix = needs.redis_url(), f"{needs.redis_prefix()}-worker-{os.getpid()}"
    yield {"REDIS_URL": url, "COUNTERSHADE_REDIS_PREFIX": prefix}
    with closing(redis.Redis.from_url(url)) as client:
        for key in client.scan_iter(f"{prefix}:*"):
            client.delete(key)


def test_a_killed_worker_loses_nothing_and_repeats_nothing_visible(broker, install):
    place = install(**broker)
    first = place.start("work")
    place.enqueue()
    place.until(lambda: len(place.notes()) >= 3)
    pool = children(first.pid)
    assert place.notes()[0][0] in pool
    first.kill()
    first.wait()
    place.until(lambda: not any(alive(pid) for pid in pool), 5)
    stopped = place.job()
    assert (stopped["state"], stopped["attempts"]) == ("running", 1)
    assert 0 < stopped["done"] < STEPS

    place.start("work")
    place.until(lambda: place.job()["state"] == "done")
    place.until(place.mails)
    time.sleep(2.5)  # two more sweeps: nothing may start again
    ended = place.job()
    assert (ended["state"], ended["attempts"], ended["done"]) == ("done", 2, STEPS)
    assert [step for _, attempt, step in place.notes() if attempt == 2] == [*range(1, STEPS + 1)]
    assert {attempt for _, attempt, _ in place.notes()} == {1, 2}
    assert len(place.mails()) == 1


def test_a_job_whose_nudge_was_lost_is_found_by_the_sweeper(install):
    place = install()
    place.enqueue()
    messages = list((place.var / "broker" / "messages").iterdir())
    assert len(messages) == 1
    messages[0].unlink()
    # A half-written message must not keep the worker from the others.
    (place.var / "broker" / "messages" / "1_x.celery.msg").write_bytes(b"")
    place.start("work")
    place.until(lambda: place.job()["state"] == "done", 25)
    assert place.job()["attempts"] == 1


def get(url: str) -> tuple[int, bytes] | None:
    try:
        with urllib.request.urlopen(url, timeout=5) as answer:  # noqa: S310  (127.0.0.1)
            return answer.status, answer.read()
    except urllib.error.HTTPError as error:
        return error.code, b""
    except OSError:
        return None


def test_serve_runs_server_and_worker_and_both_end_with_it(install):
    place = install()
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    serve = place.start("serve", "--port", str(port))
    url = f"http://127.0.0.1:{port}/"
    place.until(lambda: get(url) == (200, b"here"))
    static = next(file for file in (place.var / "static").rglob("*") if file.is_file())
    address = f"{url}static/{static.relative_to(place.var / 'static').as_posix()}"
    assert get(address) == (200, static.read_bytes())

    place.enqueue()
    place.until(lambda: len(place.notes()) >= 2)
    worker = next(pid for pid in children(serve.pid) if place.notes()[0][0] in children(pid))
    os.kill(worker, signal.SIGKILL)
    place.until(lambda: place.job()["state"] == "done", 20)
    assert place.job()["attempts"] == 2

    below = [pid for child in children(serve.pid) for pid in (child, *children(child))]
    assert len(below) >= 4
    serve.kill()
    serve.wait()
    place.until(lambda: not any(alive(pid) for pid in below), 8)
    assert get(url) is None


def test_serve_stops_in_order_when_asked(install):
    place = install()
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    serve = place.start("serve", "--port", str(port))
    place.until(lambda: get(f"http://127.0.0.1:{port}/"))
    below = children(serve.pid)
    assert len(below) == 2
    serve.terminate()
    assert serve.wait(timeout=20) == 0
    assert not any(alive(pid) for pid in below)


def test_serve_says_who_holds_the_port(install):
    place = install()
    with socket.socket() as holder:
        holder.bind(("127.0.0.1", 0))
        holder.listen()
        port = holder.getsockname()[1]
        assert place.start("serve", "--port", str(port)).wait(timeout=20) == 1
    words = (place.var / "output").read_text(encoding="utf-8")
    assert f"Port {port} is in use by" in words and f"(process {os.getpid()})" in words
