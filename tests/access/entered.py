"""What each act enters in a chain, written down by hand; or why it enters nothing.

Nothing here is read from the transitions: `test_entered.py` does every act and compares. An entry
is owed by what both sides rely on; what is one side's own, and what changes nothing between them,
is never in the agreement's chain. The notes that go with mails (checkpoint.given) are in the
reading log and not listed.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from ledger.kinds import Kind


@dataclass(frozen=True)
class Entered:
    """Kinds in order: at once, and by the jobs that the act starts; `others`: in other dossiers of
    the firm; `log`: in the reading log."""

    kinds: tuple[Kind, ...]
    then: tuple[Kind, ...] = ()
    others: tuple[Kind, ...] = ()
    log: tuple[Kind, ...] = ()


@dataclass(frozen=True)
class Private:
    """The act enters nothing, for this reason."""

    reason: str
    log: tuple[Kind, ...] = field(default=())


OWN_REGISTER = Private(
    "a firm's register is its own; its rows are frozen, and what evidence leans on is handed in "
    "with it, as a part of the submission"
)
DRAFT = Private("one side's draft: the other side learns of it when it is proposed")
OWN_EVIDENCE = Private(
    "one side's own until it is handed in: then its bytes are part of the submission"
)
INVITATION = Private("nobody sits anywhere by it: taking the seat is the entry")
NEW_KEY = Private(
    "a key is entered (key.certified) in each agreement before the first signature with it"
)
AGAIN = Private("work that failed is put up again: the work itself enters what came of it")
COPY = Private("a copy of what is there; taking it out of the house is in the reading log")
ACCOUNT = Private("of one's own account: no dossier is concerned")

K = Kind
SIGNED = (K.SIGNATURE_MADE,)
# Of a person who signs here for the first time the key is certified first: see FIRST in the test.
ENTERED: dict[str, Entered | Private] = {
    # Outside dossiers.
    "password_change@person": ACCOUNT,
    "parties:account@person": ACCOUNT,
    "parties:accept@all": Entered((K.SITTER_SEATED,), others=(K.SITTER_SEATED,)),
    # The firm's register.
    "parties:enter-observer@register": OWN_REGISTER,
    "parties:observer-renew@register": OWN_REGISTER,
    "parties:enter-booth@register": OWN_REGISTER,
    "parties:booth-renew@register": OWN_REGISTER,
    "parties:enter-instrument@register": OWN_REGISTER,
    "parties:instrument-renew@register": OWN_REGISTER,
    "parties:enter-reference@register": OWN_REGISTER,
    "parties:reference-renew@register": OWN_REGISTER,
    "parties:reference-add-chips@register": OWN_REGISTER,
    "parties:chip-use@register": OWN_REGISTER,
    "parties:own-seal@register": Private(
        "the firm's choice of a certificate: it is entered (seal.certified) in each agreement "
        "before the first document sealed with it"
    ),
    "parties:installation-seal@register": Private("the same choice, taken back"),
    "parties:enrol-key@register": NEW_KEY,
    "parties:confirm-key@register": NEW_KEY,
    "parties:revoke-key@register": Private(
        "the case revokes a key that no chain knows; each chain that knows it gets key.revoked "
        "(tests/parties/test_signing_own_keys.py)"
    ),
    "parties:booth-device@person": Private("it tells of a device, not of a dossier"),
    # People and seats.
    "parties:invite-colleague@register": INVITATION,
    "parties:invite-firm@agreement": INVITATION,
    "parties:invitation-withdraw@register": INVITATION,
    "parties:invitation-withdraw@agreement": INVITATION,
    "parties:change-role@register": Entered((K.SITTER_SEATED,)),
    "parties:let-go@register": Entered((K.SITTER_UNSEATED,), others=(K.SITTER_UNSEATED,)),
    "parties:erase-person@register": Private(
        "the case erases somebody of whom no chain knows; where one does, each such chain gets "
        "person.erased (tests/parties/test_personal.py)"
    ),
    "parties:name-person@agreement": Entered((K.PERSON_NAMED,)),
    "parties:seat-colleague@agreement": Entered((K.SITTER_SEATED,)),
    "parties:unseat-colleague@agreement": Entered((K.SITTER_UNSEATED,)),
    "parties:limit-seat@agreement": Entered((K.SEAT_LIMITED,)),
    # References that both sides rely on.
    "parties:enter-reference@agreement": Entered((K.REFERENCE_ENTERED,)),
    "parties:reference-renew@agreement": Entered((K.REFERENCE_ENTERED,)),
    "parties:reference-add-chips@agreement": Entered((K.CHIP_ENTERED,)),
    "parties:chip-use@agreement": Entered((K.CHIP_USED,)),
    "evidence:sets-store@agreement": Entered((K.REFERENCE_ENTERED,)),
    # The terms.
    "agreements:start-agreement@register": Private(
        "a draft in a room where the other side does not sit yet: dossier.opened comes first in "
        "its chain, with the first act that is shared"
    ),
    "agreements:draft-heading@agreement": DRAFT,
    "agreements:draft-clause@agreement": DRAFT,
    "agreements:draft-item@agreement": DRAFT,
    "agreements:draft-remove-item@agreement": DRAFT,
    "agreements:draft-part@agreement": DRAFT,
    "agreements:draft-remove-part@agreement": DRAFT,
    "agreements:draft-own-value@agreement": DRAFT,
    "agreements:draft-shared-value@agreement": DRAFT,
    "agreements:draft-rebase@agreement": DRAFT,
    "agreements:draft-discard@agreement": DRAFT,
    "agreements:revision-take-up@agreement": DRAFT,
    "agreements:draft-propose@agreement": Entered((K.REVISION_PROPOSED,)),
    "agreements:draft-counter@agreement": Entered((K.REVISION_COUNTERED,)),
    "agreements:revision-agree@agreement": Entered((K.REVISION_AGREED,)),
    "agreements:revision-sign@agreement": Entered(
        (*SIGNED, K.REVISION_SIGNED), then=(K.DOCUMENT_SEALED, K.DOCUMENT_SEALED)
    ),
    "agreements:revision-withdraw@agreement": Entered((K.REVISION_WITHDRAWN,)),
    "agreements:revision-remark@agreement": Entered((K.REMARK_MADE,)),
    "agreements:remark-strike@agreement": Entered((K.REMARK_STRUCK,)),
    "agreements:revision-make-papers@agreement": AGAIN,
    "agreements:suspend@agreement": Entered((K.AGREEMENT_SUSPENDED,)),
    "agreements:resume@agreement": Entered((K.AGREEMENT_RESUMED,)),
    "agreements:end@agreement": Entered((K.AGREEMENT_ENDED,)),
    # Evidence.
    "evidence:upload@agreement": OWN_EVIDENCE,
    "evidence:open-sitting@agreement": OWN_EVIDENCE,
    "evidence:sittings-judge@agreement": OWN_EVIDENCE,
    "evidence:sittings-set-aside@agreement": OWN_EVIDENCE,
    "evidence:files-confirm@agreement": OWN_EVIDENCE,
    "evidence:files-set-aside@agreement": OWN_EVIDENCE,
    "evidence:sets-set-aside@agreement": OWN_EVIDENCE,
    "evidence:add-document@agreement": OWN_EVIDENCE,
    "evidence:documents-set-aside@agreement": OWN_EVIDENCE,
    "evidence:retain-piece@agreement": OWN_EVIDENCE,
    "evidence:pieces-set-aside@agreement": OWN_EVIDENCE,
    # First articles and lots.
    "shipments:prepare-article@agreement": Private("the supplier's own until it is submitted"),
    "shipments:articles-submit@agreement": Entered(
        (K.SUBMISSION_MADE, K.ARTICLE_SUBMITTED), then=(K.VERDICT_GIVEN,)
    ),
    "shipments:articles-approve@agreement": Entered(
        (K.ARTICLE_APPROVED, *SIGNED, K.REFERENCE_ENTERED)
    ),
    "shipments:articles-approve-with-limits@agreement": Entered(
        (K.ARTICLE_APPROVED_WITH_LIMITS, *SIGNED, K.REFERENCE_ENTERED)
    ),
    "shipments:articles-return@agreement": Entered((K.ARTICLE_RETURNED,)),
    "shipments:open-lot@agreement": Entered((K.LOT_OPENED,)),
    "shipments:lots-submit@agreement": Entered((K.SUBMISSION_MADE,), then=(K.VERDICT_GIVEN,)),
    "shipments:lots-withdraw@agreement": Entered((K.LOT_WITHDRAWN,)),
    "shipments:lots-release@agreement": Entered((K.LOT_RELEASED,)),
    "shipments:lots-receive@agreement": Entered((K.LOT_RECEIVED,)),
    "shipments:lots-accept@agreement": Entered((K.LOT_ACCEPTED,)),
    "shipments:submissions-sign@agreement": Entered(SIGNED),
    "shipments:submissions-try-again@agreement": AGAIN,
    "shipments:draw-up-list@agreement": Private("a list that nobody signed yet says nothing"),
    "shipments:lists-set-aside@agreement": Private("a list that nobody signed, left so"),
    "shipments:lists-sign@agreement": Entered(SIGNED),
    # Disputes.
    "disputes:lots-reject@agreement": Entered(
        (K.LOT_REJECTED, K.SUBMISSION_MADE, K.DISPUTE_RAISED), then=(K.VERDICT_GIVEN,)
    ),
    "disputes:disputes-answer@agreement": Entered((K.DISPUTE_ANSWERED,)),
    "disputes:disputes-examine@agreement": Entered((K.EXAMINATION_BEGUN,)),
    "disputes:disputes-post@agreement": Entered((K.POST_MADE,)),
    "disputes:posts-strike@agreement": Entered((K.POST_STRUCK,)),
    "disputes:disputes-note@agreement": Private("a note of one's own side"),
    "disputes:disputes-offer@agreement": Entered((K.REMEDY_OFFERED,)),
    "disputes:offers-decline@agreement": Entered((K.REMEDY_DECLINED,)),
    "disputes:offers-sign@agreement": Entered((K.SETTLEMENT_AGREED, *SIGNED)),
    "disputes:disputes-withdraw@agreement": Entered(
        (K.REMEDY_DECLINED, K.DISPUTE_WITHDRAWN, K.LOT_ACCEPTED)
    ),
    # The desk.
    "desk:make-record@agreement": COPY,
    "desk:record-try-again@agreement": AGAIN,
    "desk:lots-part-record@agreement": COPY,
    "desk:disputes-part-record@agreement": COPY,
    "desk:compare-checkpoint@agreement": Private(
        "it changes nothing between the sides", log=(K.CHECKPOINT_COMPARED,)
    ),
}
# Jobs: what they enter, or why nothing.
TASKS: dict[str, Entered | Private] = {
    "shipments.judge": Entered((K.VERDICT_GIVEN,)),
    "shipments.paper": Private("the words of a verdict that is entered, set as a PDF"),
    "agreements.paper": Entered((K.DOCUMENT_SEALED, K.DOCUMENT_SEALED)),
    "desk.export": COPY,
    "desk.drop-copies": Private("copies of records that hold what was erased are removed"),
    "jobs.mail": Private("it sends what an act has written"),
    "parties.selfcheck": Private("it only looks: what it finds stands in rows and mails"),
}
# Kinds that no act of the table enters when the case is played, and where they come from.
ELSEWHERE: dict[Kind, str] = {
    K.DOSSIER_OPENED: "with the first shared act of a dossier",
    K.SEAT_TAKEN: "when a firm that does not sit there yet accepts an invitation",
    K.KEY_CERTIFIED: "before the first signature with a key in a chain",
    K.SEAL_CERTIFIED: "before the first document sealed with a certificate in a chain",
    K.KEY_REVOKED: "in each chain that knows the key",
    K.PERSON_ERASED: "in each chain that knows the person",
    K.LOT_CLOSED: "when the other side signs the settlement",
    K.DISPUTE_SETTLED: "when the other side signs the settlement",
    K.READING_OPENED: "with the first entry of a reading log",
    K.PAGE_READ: "when somebody of neither side reads a page",
    K.RECORD_TAKEN: "when a copy is downloaded",
    K.CHECKPOINT_GIVEN: "with each mail, page or copy that hands one out",
    K.FILE_ENTERED: "reserved: files are entered with what they belong to",
    K.LOT_HELD: "reserved: a lot is held by its receipt under terms that ask for it",
}
