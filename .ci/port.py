"""Is a port of this computer free? Otherwise say who holds it.

    python3 .ci/port.py 8000

Standard library only: it runs before anything is installed. Exit status 1 when the port is held, 2
when the argument is not a port.
"""

from __future__ import annotations

import errno
import socket
import sys
from pathlib import Path

LISTENING = "0A"  # TCP_LISTEN in /proc/net/tcp


def free(port: int) -> bool:
    """Whether a server could listen on the port, on IPv4 and (where there is one) IPv6 loopback."""
    for family, host in ((socket.AF_INET, "127.0.0.1"), (socket.AF_INET6, "::1")):
        try:
            with socket.socket(family, socket.SOCK_STREAM) as probe:
                # As servers do: connections of the last run that are still closing don't count.
                probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
                probe.bind((host, port))
                probe.listen(1)
        except OSError as error:
            if error.errno in {errno.EADDRINUSE, errno.EACCES}:
                return False
    return True


def listening_inodes(port: int, proc: Path = Path("/proc")) -> set[str]:
    """Inodes of the sockets that listen on the port."""
    inodes = set()
    for table in ("tcp", "tcp6"):
        try:
            lines = (proc / "net" / table).read_text().splitlines()[1:]
        except OSError:
            continue
        for fields in map(str.split, lines):
            if fields[3] == LISTENING and int(fields[1].rpartition(":")[2], 16) == port:
                inodes.add(fields[9])
    return inodes


def holders(port: int, proc: Path = Path("/proc")) -> list[str]:
    """`process 123 (command line)` for each holder of the port that this user may see."""
    wanted = {f"socket:[{inode}]" for inode in listening_inodes(port, proc)}
    found = []
    for process in sorted(proc.glob("[0-9]*"), key=lambda path: int(path.name)):
        try:
            if any(str(link.readlink()) in wanted for link in (process / "fd").iterdir()):
                command = (process / "cmdline").read_bytes().replace(b"\0", b" ").decode().strip()
                found.append(f"process {process.name} ({command})")
        except OSError:
            continue
    return found


def main(arguments: list[str]) -> int:
    """Say nothing when the port is free."""
    text = arguments[0] if len(arguments) == 1 else ""
    if not (text.isascii() and text.isdigit() and 0 < int(text) < 65536):
        print(f"PORT must be a number from 1 to 65535, not {text!r}", file=sys.stderr)
        return 2
    port = int(text)
    if free(port):
        return 0
    if port < 1024 and not listening_inodes(port):
        print(f"Port {port} needs an administrator; take one above 1023.", file=sys.stderr)
        return 1
    who = " and ".join(holders(port)) or "a process that only its owner can see"
    print(f"Port {port} is held by {who}.", file=sys.stderr)
    print(f"Stop it, or take another port: PORT={port + 1}", file=sys.stderr)
    return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
