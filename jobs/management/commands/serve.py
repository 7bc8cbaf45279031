"""`manage.py serve`: web server and worker by one command."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser

from jobs import processes

# Files of libraries that no page of ours asks for: pages over JSON calls, other forms of htmx.
UNUSED = ["rest_framework", "ext", "*-4.*js", "htmx-2.js"]


class Command(BaseCommand):
    """Keeps a web server and a worker running; both end with it, even when it is killed."""

    help = "Serve the application on 127.0.0.1 and run its background jobs."

    def add_arguments(self, parser: CommandParser) -> None:
        """The port and how many requests are served at once."""
        parser.add_argument("--port", type=int, default=8000, help="port on 127.0.0.1 (8000)")
        parser.add_argument("--threads", type=int, default=8, help="requests at once (8)")

    def handle(self, *args: Any, **options: Any) -> None:
        """Check the port, gather static files, start both, and start again what dies."""
        port = options["port"]
        if not processes.is_free(port):
            who = processes.holder(port) or "another program"
            raise CommandError(f"Port {port} is in use by {who}: choose another with --port.")
        call_command("collectstatic", interactive=False, verbosity=0, ignore_patterns=UNUSED)
        signal.signal(signal.SIGTERM, _stop)
        commands = {"server": _server(port, options["threads"]), "worker": _worker()}
        running = {name: _start(command) for name, command in commands.items()}
        self.stdout.write(f"Serving http://localhost:{port} (stop with Ctrl-C)")
        try:
            while True:
                time.sleep(0.5)
                if running["server"].poll() is not None:
                    raise CommandError("The web server stopped.")
                if running["worker"].poll() is not None:
                    self.stderr.write("The worker stopped and is started again.")
                    running["worker"] = _start(commands["worker"])
        except KeyboardInterrupt:
            pass
        finally:
            for child in running.values():
                child.terminate()
            for child in running.values():
                _end(child)


def _stop(*_: Any) -> None:
    raise KeyboardInterrupt


def _server(port: int, threads: int) -> list[str]:
    """Two processes of threads: hashing and signing do not hold up other requests."""
    module = ":".join(settings.WSGI_APPLICATION.rsplit(".", 1))
    command = [sys.executable, "-m", "gunicorn", module, "--bind", f"127.0.0.1:{port}"]
    command += ["--workers", "2", "--threads", str(threads), "--log-level", "warning"]
    return [*command, "--no-control-socket"]


def _worker() -> list[str]:
    return [sys.executable, str(settings.BASE_DIR / "manage.py"), "work", "--with-parent"]


def _start(command: list[str]) -> subprocess.Popen[bytes]:
    # preexec_fn is safe here: this process has one thread. The command is made above.
    return subprocess.Popen(  # noqa: S603
        command, cwd=settings.BASE_DIR, preexec_fn=processes.die_with_parent
    )


def _end(child: subprocess.Popen[bytes]) -> None:
    """Give a child ten seconds to finish what it does."""
    try:
        child.wait(timeout=10)
    except subprocess.TimeoutExpired:
        child.kill()
        child.wait()
