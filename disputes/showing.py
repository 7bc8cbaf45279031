"""A settlement as page and signing form show it."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext

from disputes.models import Offer
from disputes.settlement import FATES, read_settlement
from method.terms.models.disputes import COSTS_WORDS


def settlement_context(offer: Offer) -> dict[str, Any]:
    """The document, its pieces and costs in words, and who signed."""
    document = read_settlement(bytes(offer.bytes))
    return {
        "obj": offer,
        "document": document,
        "pieces": [(FATES[fate], count) for fate, count in document["pieces"].items()],
        "costs": gettext(COSTS_WORDS[document["costs"]]),
        "signatures": offer.signatures(),
    }
