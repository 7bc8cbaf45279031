"""Tokens that carry what the first step of an act settled to its second step.

Signed and of short life, bound to the person, the act and the object: the browser gets it to hold,
and can neither change it nor use it elsewhere.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.core import signing
from django.utils.translation import gettext_lazy as _

from parties.refusal import Refusal

SALT = "parties.prepared"
SECONDS = 15 * 60
FIELD = "prepared"


@dataclass(frozen=True)
class Prepared:
    """`values`: what was typed, by field; `facts`: what the server settled."""

    values: dict[str, list[str]]
    facts: dict[str, Any]
    expired: bool = False


def token(bound: list[str], values: dict[str, list[str]], facts: dict[str, Any]) -> str:
    """A token; `bound`: person, act and object."""
    content = {"bound": bound, "values": values, "facts": facts}
    return signing.dumps(content, salt=SALT, compress=True)


def opened(text: str, bound: list[str]) -> Prepared:
    """What a token carries; Refusal where it is none, or of another person, act or object. One
    that has expired still gives what was typed, so that nothing of it is lost."""
    expired = False
    try:
        content = signing.loads(text, salt=SALT, max_age=SECONDS)
    except signing.SignatureExpired:
        content, expired = signing.loads(text, salt=SALT), True
    except signing.BadSignature:
        raise Refusal(
            "prepared.broken", _("What was prepared did not come back whole. Begin again.")
        ) from None
    if content["bound"][0] != bound[0]:
        raise Refusal("prepared.person", _("This was prepared for another person. Begin again."))
    if content["bound"] != bound:
        raise Refusal("prepared.object", _("This was prepared for something else. Begin again."))
    return Prepared(content["values"], content["facts"], expired)
