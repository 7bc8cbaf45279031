"""Is a port of this computer free? Otherwise say who holds it.

    python3 .ci/port.py 8000

Runs before anything is installed: `jobs.processes` needs the standard library only. Exit status 1
when the port is held, 2 when the argument is not a port.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.dont_write_bytecode = True

from jobs import processes  # noqa: E402


def main(arguments: list[str]) -> int:
    """Say nothing when the port is free."""
    text = arguments[0] if len(arguments) == 1 else ""
    if not (text.isascii() and text.isdigit() and 0 < int(text) < 65536):
        print(f"PORT must be a number from 1 to 65535, not {text!r}", file=sys.stderr)
        return 2
    port = int(text)
    if processes.is_free(port):
        return 0
    who = processes.holder(port)
    if port < 1024 and not who:
        print(f"Port {port} may need an administrator: take one above 1023.", file=sys.stderr)
        return 1
    print(f"Port {port} is held by {who or 'another user’s program'}.", file=sys.stderr)
    print(f"Stop it, or take another port: PORT={port + 1}", file=sys.stderr)
    return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
