"""Tricks with approvals of first articles: what was entered is not what was signed."""

from __future__ import annotations

from typing import Any

from ledger.verify.approvals import said_with
from tests.ledger import plain as make
from tests.ledger.bad.keys import with_keys
from tests.ledger.bad.trick import Made, made, refused_by
from tests.ledger.plain import ADA


def approved(**signed: Any) -> Made:
    """An approval whose signature says `signed` of what stands in its entry."""
    plain, ada, _ = with_keys()
    entered = {"digest": plain.terms, "seal": "S-1", "expires_on": "2027-03-03"}
    act = {"act": "f" * 32}
    plain.add(ADA, "article.approved", make.REVISION, entered, make.TERMS, **act)
    plain.sign(ada, what="article", intent=said_with("I approve.", entered | signed), header=act)
    return made(plain)


@refused_by("statement.intent")
def an_approval_of_another_sealed_pair() -> Made:
    return approved(seal="S-2")


@refused_by("statement.intent")
def an_approval_with_a_remark_that_nobody_entered() -> Made:
    return approved(note="For the start.")


@refused_by("statement.intent")
def an_approval_that_signs_no_day() -> Made:
    return approved(expires_on="")


def entered_beside(*, before: bool, **changes: Any) -> Made:
    """An approval that fits its signature, and in the same act a second one with `changes`."""
    plain, ada, _ = with_keys()
    entered = {"digest": plain.terms, "seal": "S-1", "expires_on": "2027-03-03"}
    act = {"act": "f" * 32}
    other = "article.approved-with-limits"

    def second() -> None:
        plain.add(ADA, other, make.REVISION, entered | changes, make.TERMS, **act)

    if before:
        second()
    plain.add(ADA, "article.approved", make.REVISION, entered, make.TERMS, **act)
    plain.sign(ada, what="article", intent=said_with("I approve.", entered), header=act)
    if not before:
        second()
    return made(plain)


@refused_by("statement.intent")
def a_second_approval_before_the_one_that_was_signed() -> Made:
    return entered_beside(before=True, quantity=10_000)


@refused_by("statement.intent")
def a_second_approval_entered_after_its_signature() -> Made:
    return entered_beside(before=False, seal="S-2")


@refused_by("statement.intent")
def an_approval_with_another_one_between_it_and_its_signature() -> Made:
    plain, ada, _ = with_keys()
    entered = {"digest": plain.terms, "seal": "S-1", "expires_on": "2027-03-03"}
    act = {"act": "f" * 32}
    plain.add(ADA, "article.approved", make.REVISION, entered, make.TERMS, **act)
    other = {"act": "e" * 32}
    plain.add(ADA, "article.approved", "article/other", entered, make.TERMS, **other)
    plain.sign(ada, subject="article/other", what="article", header=other)
    signed = said_with("I approve.", entered | {"seal": "S-2"})
    plain.sign(ada, what="article", intent=signed, header=act)
    return made(plain)


@refused_by("statement.what")
def an_approval_under_a_signature_of_terms() -> Made:
    """By which the comparison with the entry would be walked around."""
    plain, ada, _ = with_keys()
    entered = {"digest": plain.terms, "seal": "S-1", "expires_on": "2027-03-03"}
    act = {"act": "f" * 32}
    plain.add(ADA, "article.approved", make.REVISION, entered, make.TERMS, **act)
    plain.sign(ada, what="revision", intent="I approve.", header=act)
    return made(plain)


@refused_by("statement.intent")
def a_signature_that_says_nothing() -> Made:
    plain, ada, _ = with_keys()
    plain.sign(ada, intent=" ")
    return made(plain)


def said_but_not_signed(kind: str, **header: Any) -> Made:
    """An entry of this kind in an act of its own, without a signature."""
    plain, _, _ = with_keys()
    plain.add(ADA, kind, make.REVISION, {"digest": plain.terms}, make.TERMS, **header)
    return made(plain)


@refused_by("signature.missing")
def an_approval_that_nobody_signed() -> Made:
    return said_but_not_signed("article.approved")


@refused_by("signature.missing")
def terms_said_to_be_signed_that_nobody_signed() -> Made:
    return said_but_not_signed("revision.signed")


@refused_by("signature.missing")
def a_settlement_that_nobody_signed() -> Made:
    return said_but_not_signed("settlement.agreed")


@refused_by("signature.missing")
def an_approval_signed_in_another_act() -> Made:
    plain, ada, _ = with_keys()
    plain.add(ADA, "article.approved", make.REVISION, {"digest": plain.terms}, make.TERMS)
    plain.sign(ada, what="article", intent="I approve.", header={"act": "e" * 32})
    return made(plain)
