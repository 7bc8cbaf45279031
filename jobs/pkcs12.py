"""Opens an uploaded PKCS#12 file (RFC 7292) in a process of its own, with limits.

A hostile file may ask for billions of rounds of key derivation: the child has seconds, not minutes.
`opened` starts this very file as `python -I pkcs12.py`, which imports nothing of ours; file and
password go in through its standard input, key and certificates come out through its standard
output. Neither touches the disk.
"""

from __future__ import annotations

import base64
import json
import os
import resource
import subprocess
import sys
from dataclasses import dataclass, field

MAX_BYTES = 64 * 1024
MEMORY = 512 * 2**20
SECONDS = 5
MOST_ABOVE = 5  # certificates above the holder's own

_CLOSED, _NO_KEY = 3, 4


class Pkcs12Error(Exception):
    """A file that gives no key. `id`: "size", "closed" (password or form), "empty", "limits"."""

    def __init__(self, id: str):
        super().__init__(id)
        self.id = id


@dataclass(frozen=True)
class Opened:
    """The private key (PKCS#8, DER), its certificate and those above it (DER)."""

    key: bytes = field(repr=False)
    certificate: bytes
    chain: tuple[bytes, ...]


def opened(data: bytes, password: str) -> Opened:
    """What the file holds; an empty password opens a file without one. Raises Pkcs12Error."""
    if not 0 < len(data) <= MAX_BYTES:
        raise Pkcs12Error("size")
    request = {"data": base64.b64encode(data).decode("ascii"), "password": password}
    try:
        child = subprocess.run(  # noqa: S603  (our own program, arguments fixed)
            [sys.executable, "-I", __file__],
            input=json.dumps(request).encode("ascii"),
            capture_output=True,
            timeout=2 * SECONDS,
            env={"PATH": os.defpath, "LC_ALL": "C.UTF-8"},
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise Pkcs12Error("limits") from None
    if child.returncode in (_CLOSED, _NO_KEY):
        raise Pkcs12Error("closed" if child.returncode == _CLOSED else "empty")
    if child.returncode:
        raise Pkcs12Error("limits")
    key, certificate, *above = (base64.b64decode(one) for one in json.loads(child.stdout))
    return Opened(key, certificate, tuple(above))


def _main() -> int:
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS + 1))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    from cryptography.hazmat.primitives import serialization
    from cryptography.hazmat.primitives.serialization import pkcs12

    request = json.load(sys.stdin)
    data, password = base64.b64decode(request["data"]), request["password"].encode()
    try:
        found = pkcs12.load_pkcs12(data, password or None)
    except (ValueError, TypeError):
        return _CLOSED
    if found.key is None or found.cert is None:
        return _NO_KEY
    der = serialization.Encoding.DER
    key = found.key.private_bytes(
        der, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    above = [one.certificate.public_bytes(der) for one in found.additional_certs[:MOST_ABOVE]]
    parts = [key, found.cert.certificate.public_bytes(der), *above]
    json.dump([base64.b64encode(one).decode("ascii") for one in parts], sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(_main())
