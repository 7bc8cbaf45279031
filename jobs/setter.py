"""The typesetter that this process keeps ready: started at the first PDF, asked one at a time.

Loading the typesetter takes as long as setting a page; kept, it is loaded once. What it runs for
each document, and with which limits, is told in `jobs/typeset.py`.
"""

from __future__ import annotations

import atexit
import os
import select
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import NamedTuple

PROGRAM = Path(__file__).with_name("typeset.py")
LONGEST_HEAD = 64  # bytes of the line before an answer


class Answer(NamedTuple):
    """Exit status (negative: the signal that ended it), the PDF, what was complained of."""

    status: int
    made: bytes
    said: bytes


class Gone(Exception):
    """The typesetter ended without an answer."""


class Setter:
    """One kept typesetter with the fonts of `configuration` (a fontconfig file)."""

    def __init__(self, configuration: Path):
        self.configuration = configuration
        # A bare environment: our fonts, no secrets, no proxy. A session of its own, to end whole.
        self._process = subprocess.Popen(  # noqa: S603  (our own program, arguments fixed)
            [sys.executable, "-I", str(PROGRAM)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            bufsize=0,
            env={
                "FONTCONFIG_FILE": str(configuration),
                "PATH": os.defpath,
                "LC_ALL": "C.UTF-8",
            },
            start_new_session=True,
        )

    @property
    def runs(self) -> bool:
        """Whether it still does."""
        return self._process.poll() is None

    def ask(self, request: bytes, seconds: float) -> Answer:
        """Send one request, a line without its end. Raises Gone, TimeoutError after `seconds`."""
        end = time.monotonic() + seconds
        _write(self._process.stdin.fileno(), request + b"\n", end)  # type: ignore[union-attr]
        answers = self._process.stdout.fileno()  # type: ignore[union-attr]
        had = b""
        while b"\n" not in had:
            had += _read(answers, LONGEST_HEAD, end)
        head, _, had = had.partition(b"\n")
        status, made, said = map(int, head.split())
        pieces, length = [had], len(had)
        while length < made + said:
            pieces.append(_read(answers, made + said - length, end))
            length += len(pieces[-1])
        whole = b"".join(pieces)
        return Answer(status, whole[:made], whole[made:])

    def end(self) -> None:
        """End it with whatever it is at."""
        if self.runs:
            os.killpg(self._process.pid, signal.SIGKILL)
        self._process.wait()
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                pipe.close()


_kept: Setter | None = None
_lock = threading.Lock()


def ask(request: bytes, *, configuration: Path, seconds: float) -> Answer:
    """Have a document set by the kept typesetter, or by a new one where it ended or has other
    fonts. Raises Gone and TimeoutError, after which the next call starts anew."""
    global _kept
    with _lock:
        if _kept is not None and not (_kept.runs and _kept.configuration == configuration):
            _kept.end()
            _kept = None
        if _kept is None:
            _kept = Setter(configuration)
        try:
            return _kept.ask(request, seconds)
        except (Gone, TimeoutError):
            _kept.end()
            _kept = None
            raise


def _forget() -> None:
    """A forked process must not speak into its parent's pipes."""
    global _kept, _lock
    _kept, _lock = None, threading.Lock()


def _end() -> None:
    if _kept is not None:
        _kept.end()


os.register_at_fork(after_in_child=_forget)
atexit.register(_end)


def _write(pipe: int, data: bytes, end: float) -> None:
    rest = memoryview(data)
    os.set_blocking(pipe, False)
    while rest:
        if not select.select([], [pipe], [], max(0.0, end - time.monotonic()))[1]:
            raise TimeoutError
        try:
            rest = rest[os.write(pipe, rest) :]
        except BrokenPipeError as error:
            raise Gone from error


def _read(pipe: int, most: int, end: float) -> bytes:
    if not select.select([pipe], [], [], max(0.0, end - time.monotonic()))[0]:
        raise TimeoutError
    data = os.read(pipe, most)
    if not data:
        raise Gone
    return data
