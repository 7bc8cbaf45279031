"""Where passkeys count: the relying party and the origin, both from the public address."""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass
from urllib.parse import urlsplit

from django.conf import settings
from django.utils.translation import gettext_lazy as _

from parties.refusal import Refusal

USUAL_PORTS = {"https": 443, "http": 80}


@dataclass(frozen=True)
class RelyingParty:
    """`id`: the host name; `origin`: scheme, host and port as a browser writes them."""

    id: str
    origin: str


def relying_party() -> RelyingParty:
    """For this installation's public address (COUNTERSHADE_PUBLIC_URL).

    Raises Refusal where browsers allow no passkey: an address of numbers, or one without https
    (Web Authentication level 2, 5.1.3: the effective domain must be a valid domain, and the
    context secure; http://localhost is).
    """
    parts = urlsplit(settings.PUBLIC_URL)
    host = (parts.hostname or "").lower()
    if _is_number(host):
        raise Refusal(
            "passkey.address",
            _(
                "Passkeys belong to a name, and this installation is reached by a number "
                "(%(host)s): browsers make none for it. Use a key in the browser, or ask whoever "
                "runs this installation to give it a name."
            ),
            field="sort",
            host=host,
        )
    if parts.scheme != "https" and host != "localhost" and not host.endswith(".localhost"):
        raise Refusal(
            "passkey.insecure",
            _(
                "Browsers make passkeys only where the connection is encrypted, and the public "
                "address of this installation begins with http. Whoever runs it can change that."
            ),
            field="sort",
        )
    port = parts.port
    shown = "" if port in (None, USUAL_PORTS[parts.scheme]) else f":{port}"
    return RelyingParty(host, f"{parts.scheme}://{host}{shown}")


def _is_number(host: str) -> bool:
    try:
        ipaddress.ip_address(host)
    except ValueError:
        return False
    return True
