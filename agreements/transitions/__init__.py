"""Every change of a draft's, a revision's or the agreement's state; nothing else changes one."""

from agreements.transitions.drafting import discard, rebase, rewrite, take_up
from agreements.transitions.negotiation import agree, counter, propose, withdraw
from agreements.transitions.papers import make_papers
from agreements.transitions.remarks import make_remark, strike
from agreements.transitions.signing import sign
from agreements.transitions.standing import end, resume, suspend
from agreements.transitions.starting import start_agreement

__all__ = [
    "agree",
    "counter",
    "discard",
    "end",
    "make_papers",
    "make_remark",
    "propose",
    "rebase",
    "resume",
    "rewrite",
    "sign",
    "start_agreement",
    "strike",
    "suspend",
    "take_up",
    "withdraw",
]
