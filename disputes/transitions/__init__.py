"""Everything that moves a dispute."""

from disputes.transitions.settling import decline_offer, offer_remedy, sign_settlement
from disputes.transitions.thread import (
    answer,
    begin_examination,
    keep_note,
    post,
    reject,
    strike,
    withdraw,
)

__all__ = [
    "answer",
    "begin_examination",
    "decline_offer",
    "keep_note",
    "offer_remedy",
    "post",
    "reject",
    "sign_settlement",
    "strike",
    "withdraw",
]
