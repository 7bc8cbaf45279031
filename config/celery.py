"""The Celery application: two tasks, and a worker that sweeps and dies with its parent."""

from __future__ import annotations

import os
from typing import Any

import django
from celery import Celery, bootsteps
from celery.signals import worker_process_init
from django.apps import apps

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
if not apps.ready:  # started by `celery -A config.celery`; in a web process all is loaded
    django.setup()

from django.conf import settings

from jobs import periodic, processes, queue

app = Celery("countershade")
app.set_default()  # also for threads that did not import this module
app.config_from_object("config.broker")


@app.task(name="jobs.run")
def run(pk: int) -> None:
    """Run one job; nothing where another worker has it."""
    queue.run(pk)


@app.task(name="jobs.sweep")
def sweep(started: bool = False) -> None:
    """Ask for what comes again by itself; nudge what waits or was lost."""
    periodic.ask(started=started)
    queue.sweep()


def nudge(pk: int) -> None:
    """Send the message for a job. Raises what the broker's library raises."""
    run.apply_async(args=[pk], expires=300)


class Sweeper(bootsteps.StartStopStep):
    """Asks for a sweep now and every JOBS_SWEEP_SECONDS; no second scheduler process needed."""

    requires = {"celery.worker.components:Timer"}

    def start(self, worker: Any) -> None:
        """Begin with the worker; the message is handled by a pool process."""
        every = settings.JOBS_SWEEP_SECONDS
        sweep.apply_async(kwargs={"started": True}, expires=every)
        self.ticking = worker.timer.call_repeatedly(every, lambda: sweep.apply_async(expires=every))

    def stop(self, worker: Any) -> None:
        """End with the worker."""
        self.ticking.cancel()


app.steps["worker"].add(Sweeper)


@worker_process_init.connect
def _die_with_worker(**_: Any) -> None:
    """A pool process must not outlive a killed worker: it would hold its job for nobody."""
    processes.die_with_parent()
