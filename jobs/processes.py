"""Child processes that end with their parent, and ports that are free or named as taken."""

from __future__ import annotations

import ctypes
import os
import signal
import socket
import sys
from pathlib import Path

_PR_SET_PDEATHSIG = 1  # <sys/prctl.h>


def die_with_parent() -> None:
    """Let the kernel kill this process when its parent dies (Linux; elsewhere nothing happens)."""
    if not sys.platform.startswith("linux"):
        return
    parent = os.getppid()
    ctypes.CDLL(None, use_errno=True).prctl(_PR_SET_PDEATHSIG, signal.SIGKILL, 0, 0, 0)
    if os.getppid() != parent:  # it died before the kernel knew
        os.kill(os.getpid(), signal.SIGKILL)


def is_free(port: int, host: str = "127.0.0.1") -> bool:
    """Whether a server can listen on this port now."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError:
            return False
    return True


def holder(port: int) -> str:
    """Who listens on a TCP port, as "name (process 123)"; empty where that cannot be seen.

    Read from /proc (Linux): the listening socket's inode, then the process that has it open.
    """
    wanted = {f"socket:[{inode}]" for inode in _listening_inodes(port)}
    for process in Path("/proc").glob("[0-9]*") if wanted else []:
        try:
            if any(os.readlink(link) in wanted for link in (process / "fd").iterdir()):
                name = (process / "comm").read_text(encoding="utf-8", errors="replace").strip()
                return f"{name} (process {process.name})"
        except OSError:  # gone, or another user's
            continue
    return ""


def _listening_inodes(port: int) -> set[str]:
    inodes = set()
    for table in ("/proc/net/tcp", "/proc/net/tcp6"):
        try:
            lines = Path(table).read_text(encoding="ascii").splitlines()[1:]
        except OSError:
            continue
        for fields in map(str.split, lines):
            listening, local = fields[3] == "0A", int(fields[1].rpartition(":")[2], 16)
            if listening and local == port:
                inodes.add(fields[9])
    return inodes
