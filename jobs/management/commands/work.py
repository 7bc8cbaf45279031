"""`manage.py work`: start a worker."""

from __future__ import annotations

import os
import sys
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandParser

from jobs import processes


class Command(BaseCommand):
    """Becomes a Celery worker that runs jobs and sweeps up lost ones."""

    help = "Run background jobs until stopped."

    def add_arguments(self, parser: CommandParser) -> None:
        """How many jobs at once, and whether to end with the process that started it."""
        parser.add_argument("--concurrency", type=int, default=2, help="jobs run at once (2)")
        parser.add_argument(
            "--with-parent", action="store_true", help="end when the starting process ends"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Replace this process by the worker (so that signals and its exit code are its own)."""
        if options["with_parent"]:
            processes.die_with_parent()  # survives exec
        os.chdir(settings.BASE_DIR)
        command = [sys.executable, "-m", "celery", "-A", settings.CELERY_APP, "worker"]
        command += ["--concurrency", str(options["concurrency"]), "--loglevel", "WARNING"]
        command += ["--without-gossip", "--without-mingle", "--without-heartbeat"]
        os.execv(sys.executable, command)  # noqa: S606  (made above, no shell wanted)
