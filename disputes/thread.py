"""The thread of a dispute as a page shows it, and what is new in it for a page that is open."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from disputes import acts
from disputes.models import Dispute, Offer, Post
from disputes.moves import dispute_move
from parties.models import Sitter

MOST_DIGITS = 6


def seen(dispute: Dispute, posts: Sequence[Post], offers: Sequence[Offer]) -> str:
    """What whoever has all this before them has seen: how many statements, how many of them
    struck, how the dispute and its offers stand."""
    struck = sum(post.struck_at is not None for post in posts)
    stands = ".".join([dispute.status, *(offer.status for offer in offers)])
    return f"{len(posts)}-{struck}-{stands}"


def thread_of(dispute: Dispute, sitter: Sitter) -> dict[str, Any]:
    """Statements, offers, whose move it is, what one can do."""
    offers = list(Offer.objects.visible_to(sitter).filter(dispute=dispute).order_by("number"))
    posts = list(Post.objects.visible_to(sitter).filter(dispute=dispute).order_by("created_at"))
    return {
        "obj": dispute,
        "move": dispute_move(dispute, offers),
        "posts": posts,
        "offers": offers,
        "seen": seen(dispute, posts, offers),
        "acts": acts.DISPUTE_ACTS,
        "post_acts": acts.POST_ACTS,
    }


def news(thread: dict[str, Any], before: str) -> dict[str, Any] | None:
    """What a page that has seen `before` does not show yet; None where it shows all. Statements
    only come at the end, because they are made one after the other under the dossier's lock."""
    if before == thread["seen"]:
        return None
    count, struck, stands = [*before.split("-", 2), "", ""][:3]
    known = int(count) if count.isdecimal() and len(count) <= MOST_DIGITS else 0
    _count, struck_now, stands_now = thread["seen"].split("-", 2)
    shown = thread["posts"][:known]
    return {
        "added": thread["posts"][known:],
        "first": known == 0,
        "struck": [post for post in shown if post.struck_at] if struck != struck_now else [],
        "moved": stands != stands_now,
    }
