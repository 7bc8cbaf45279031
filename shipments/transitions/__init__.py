"""Everything that changes the state of a first article or a lot."""

from shipments.transitions.articles import (
    approve_article,
    approve_with_limits,
    prepare_article,
    return_article,
    submit_article,
)
from shipments.transitions.judging import judge_submission, try_again
from shipments.transitions.listing import draw_up_list, set_list_aside, sign_list
from shipments.transitions.lots import (
    accept_lot,
    close_lot,
    open_lot,
    receive_lot,
    reject_lot,
    release_lot,
    submit_lot,
    withdraw_lot,
)
from shipments.transitions.submissions import sign_submission

__all__ = [
    "accept_lot",
    "approve_article",
    "approve_with_limits",
    "close_lot",
    "draw_up_list",
    "judge_submission",
    "open_lot",
    "prepare_article",
    "receive_lot",
    "reject_lot",
    "release_lot",
    "return_article",
    "set_list_aside",
    "sign_list",
    "sign_submission",
    "submit_article",
    "submit_lot",
    "try_again",
    "withdraw_lot",
]
