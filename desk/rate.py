"""How often one address may ask what everybody may ask."""

from __future__ import annotations

from typing import Any

from axes.helpers import get_client_ip_address
from rest_framework.throttling import SimpleRateThrottle


class ByAddress(SimpleRateThrottle):
    """Counts as the JSON calls are counted, by the address that sign-in attempts are counted by."""

    scope = "held-checkpoint"
    rate = "20/min"

    def get_cache_key(self, request: Any, view: Any) -> str:
        """One count for each address."""
        ident = get_client_ip_address(request)
        return str(self.cache_format % {"scope": self.scope, "ident": ident})
