"""What pages say of signatures over evidence: made, asked for by clause 8 and due, or neither."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from parties.models import Side, Signature, Sitter
from shipments.lists import (
    OCCASIONS,
    asking,
    asks_signature,
    signature_of,
    signatures_of,
    with_names,
)
from shipments.models import Submission, SubmissionList

WHO_SIGNS: dict[str, str | Promise] = {
    Side.SUPPLIER: _("due: the supplier's quality lead"),
    Side.CUSTOMER: _("due: the customer's quality lead"),
}


@dataclass(frozen=True)
class Signing:
    """The signature over a submission, if any, and whether one is due."""

    signature: Signature | None
    due: bool
    side: str

    @property
    def state(self) -> str:
        """An id for the mark beside the words; "" where nothing is signed and nothing is asked."""
        return "signed" if self.signature else "missing" if self.due else ""

    @property
    def words(self) -> str:
        """Who signed, or who must."""
        if self.signature is not None:
            return gettext("signed by %(name)s") % {"name": self.signature.name}
        return str(WHO_SIGNS[self.side]) if self.due else gettext("not asked for")

    @property
    def assurance(self) -> str:
        """Whether anybody but the signatory could have used the key."""
        return self.signature.assurance_words() if self.signature is not None else ""


def signing_of(submission: Submission) -> Signing:
    """The signature over one submission, and whether it is due."""
    return due_on(submission, signature_of(submission))


def due_on(submission: Submission, made: Signature | None = None) -> Signing:
    """The same where the signature, if any, is known already."""
    asked = asks_signature(submission.revision, submission.what.part, submission.purpose)
    return Signing(made, asked, submission.side)


def signings(found: Sequence[Submission]) -> list[Signing]:
    """Of submissions of one thing, in their order; asked for is the signature on the last of each
    purpose."""
    if not found:
        return []
    what = found[0].what
    asked, made = asking(what.revision, what.part), signatures_of(found)
    last = {one.purpose: one.pk for one in sorted(found, key=lambda one: one.nth)}
    return [
        Signing(
            made.get(one.pk),
            OCCASIONS[Submission.Purpose(one.purpose)] in asked and last[one.purpose] == one.pk,
            one.side,
        )
        for one in found
    ]


def listed(found: SubmissionList, sitter: Sitter) -> list[Submission]:
    """What stands on a list, in its order."""
    rows = Submission.objects.visible_to(sitter).filter(lists=found)
    return list(with_names(rows).order_by("created_at", "pk"))
