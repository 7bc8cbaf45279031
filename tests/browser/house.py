"""A server and a worker of one's own, on a file database in a folder of one's own.

Nothing here touches the ORM: Playwright's process must not (its event loop makes it refuse).
"""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path
from types import TracebackType

ROOT = Path(__file__).resolve().parents[2]
# Chromium refuses its sandbox to root only; the rest keeps it to itself.
ARGUMENTS = ["--disable-dev-shm-usage", "--disable-background-networking", "--no-first-run"]
if os.geteuid() == 0:
    ARGUMENTS.append("--no-sandbox")


def free_port() -> int:
    """A port nobody holds at this moment."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
    return port


class House:
    """Migrated on entry; `run` plays something into it, `start` serves it, the end ends all."""

    def __init__(self, var: Path):
        self.var, self.port = var, free_port()
        self.url = f"http://localhost:{self.port}"
        self.processes: list[subprocess.Popen[bytes]] = []
        unset = {"DATABASE_URL", "REDIS_URL", "COUNTERSHADE_HOSTS", "COUNTERSHADE_DEMO"}
        self.environment = {key: value for key, value in os.environ.items() if key not in unset}
        self.environment |= {
            "COUNTERSHADE_VAR_DIR": str(var),
            "COUNTERSHADE_PUBLIC_URL": self.url,
            "DJANGO_SETTINGS_MODULE": "config.settings",
        }

    def __enter__(self) -> House:
        self.run("jobs.fonts")
        self._manage("migrate", "--verbosity", "0")
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        for process in self.processes:
            process.terminate()
        for process in self.processes:
            try:
                process.wait(timeout=15)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()

    def run(self, module: str, *arguments: str) -> str:
        """Run a module in this house's surroundings, Django being set up; its output."""
        program = (
            "import django, runpy; django.setup(); "
            f"runpy.run_module({module!r}, run_name='__main__', alter_sys=True)"
        )
        return self._finish([sys.executable, "-c", program, *arguments])

    def _manage(self, *arguments: str) -> str:
        return self._finish([sys.executable, str(ROOT / "manage.py"), *arguments])

    def _finish(self, command: list[str]) -> str:
        done = subprocess.run(
            command, cwd=ROOT, env=self.environment, capture_output=True, text=True, check=False
        )
        if done.returncode:
            raise RuntimeError(f"{command} ended with {done.returncode}:\n{done.stderr}")
        return done.stdout

    def start(self, *, worker: bool = True) -> None:
        """Serve; returns when the sign-in page answers."""
        manage = [sys.executable, str(ROOT / "manage.py")]
        if not worker:  # `serve` does it itself
            self._manage("collectstatic", "--no-input", "--verbosity", "0", "-i", "rest_framework")
        if worker:
            commands = [[*manage, "serve", "--port", str(self.port)]]
        else:
            server = ["gunicorn", "config.wsgi:application", "--bind", f"127.0.0.1:{self.port}"]
            options = ["--threads", "4", "--log-level", "warning", "--no-control-socket"]
            commands = [[sys.executable, "-m", *server, *options]]
        for command in commands:
            with (self.var / f"log-{len(self.processes)}.txt").open("wb") as log:
                self.processes.append(
                    subprocess.Popen(
                        command, cwd=ROOT, env=self.environment, stdout=log, stderr=log
                    )
                )
        self._until_it_answers()

    def log(self) -> str:
        """What server and worker wrote."""
        return "".join(
            file.read_text(errors="replace") for file in sorted(self.var.glob("log-*.txt"))
        )

    def _until_it_answers(self, seconds: float = 30) -> None:
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            try:
                with urllib.request.urlopen(f"{self.url}/login/", timeout=5) as answer:  # noqa: S310
                    if answer.status == 200:
                        return
            except (urllib.error.URLError, OSError):
                time.sleep(0.2)
            if any(process.poll() is not None for process in self.processes):
                break
        raise RuntimeError(f"the server does not answer:\n{self.log()}")
