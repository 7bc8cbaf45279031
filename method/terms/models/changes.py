"""Clause 10, changes and signing: change notices, signatories, term, language, law."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from method.terms.models.base import MAX_ITEMS, PRACTICE, About, Clause, Count, Day, Item, Text
from method.words import gettext_noop

ChangeOf = Literal[
    "pigment", "resin", "tool", "line", "site", "sub_supplier", "lamp_type", "instrument", "other",
]  # fmt: skip
Duty = Literal["inform", "resubmit", "compare_again"]
Side = Literal["customer", "supplier"]
SigningRole = Literal["quality_lead", "deputy"]
Amendments = Literal["signed_by_both", "not_provided"]
Language = Literal["en", "zh-hans"]
SigningKeys = Literal["own_key", "service_held_too"]

CHANGE_WORDS = {
    "pigment": gettext_noop("pigment"),
    "resin": gettext_noop("resin"),
    "tool": gettext_noop("tool"),
    "line": gettext_noop("line"),
    "site": gettext_noop("site"),
    "sub_supplier": gettext_noop("sub-supplier"),
    "lamp_type": gettext_noop("lamp type"),
    "instrument": gettext_noop("instrument"),
    "other": gettext_noop("another change"),
}
DUTY_WORDS = {
    "inform": gettext_noop("inform the other side"),
    "resubmit": gettext_noop("resubmit a first article"),
    "compare_again": gettext_noop("compare again on the same specimens"),
}
SIDE_WORDS = {
    "customer": gettext_noop("the customer"),
    "supplier": gettext_noop("the supplier"),
}
ROLE_WORDS = {
    "quality_lead": gettext_noop("quality lead"),
    "deputy": gettext_noop("deputy"),
}
AMENDMENTS_WORDS = {
    "signed_by_both": gettext_noop("a new revision signed by both sides"),
    "not_provided": gettext_noop("no amendment; a new agreement is made"),
}
LANGUAGE_WORDS = {
    "en": gettext_noop("English"),
    "zh-hans": gettext_noop("Simplified Chinese"),
}
SIGNING_KEYS_WORDS = {
    "own_key": gettext_noop("only a key that the signatory alone holds"),
    "service_held_too": gettext_noop("also a key that this service holds for the signatory"),
}


class ChangeNotice(Item):
    """What a side owes before it changes something."""

    PREFIX: ClassVar[str] = "ntc"
    NAME: ClassVar[str] = gettext_noop("Change notice")
    SAYS: ClassVar[str] = gettext_noop(
        "Change of %(what)s: %(duty)s, at least %(days)s days before. %(note)s"
    )

    what: Annotated[ChangeOf | None, About(gettext_noop("Change of"), choices=CHANGE_WORDS)] = None
    duty: Annotated[Duty | None, About(gettext_noop("Duty"), choices=DUTY_WORDS)] = None
    days: Annotated[
        Count | None, About(gettext_noop("Days before"), unit=gettext_noop("days"), suggest="30")
    ] = None
    note: Annotated[Text, About(gettext_noop("Note"))] = ""


class Signatory(Item):
    """Who signs for a side; named by role or label, proved by the signature itself."""

    PREFIX: ClassVar[str] = "sgn"
    NAME: ClassVar[str] = gettext_noop("Signatory")
    SAYS: ClassVar[str] = gettext_noop("For %(side)s signs the %(role)s: %(label)s.")

    side: Annotated[Side | None, About(gettext_noop("Side"), choices=SIDE_WORDS)] = None
    role: Annotated[
        SigningRole | None,
        About(gettext_noop("Role"), suggest="quality_lead", choices=ROLE_WORDS),
    ] = None
    label: Annotated[
        Text, About(gettext_noop("Person or office"), gettext_noop("Names cannot be erased."))
    ] = ""


class Changes(Clause):
    """Changes and signing; texts on law are not legal advice."""

    TITLE: ClassVar[str] = gettext_noop("Changes and signing")

    notices: Annotated[
        tuple[ChangeNotice, ...],
        Field(max_length=MAX_ITEMS),
        About(gettext_noop("Change notices"), gettext_noop("What is said before it changes.")),
    ] = ()
    signatories: Annotated[
        tuple[Signatory, ...],
        Field(max_length=MAX_ITEMS),
        About(
            gettext_noop("Signatories and deputies"),
            gettext_noop("Who signs for each side, and who in their absence."),
        ),
    ] = ()
    starts_on: Annotated[
        Day | None,
        About(
            gettext_noop("In force from"),
            gettext_noop("Left open: from the second signature."),
            says=gettext_noop("These terms are in force from %(value)s."),
        ),
    ] = None
    ends_on: Annotated[
        Day | None,
        About(
            gettext_noop("In force until"),
            gettext_noop("Left open: until notice is given."),
            says=gettext_noop("These terms end on %(value)s."),
        ),
    ] = None
    notice_days: Annotated[
        Count | None,
        About(
            gettext_noop("Notice"),
            unit=gettext_noop("days"),
            suggest="90",
            source=PRACTICE,
            says=gettext_noop("Either side may end these terms with %(value)s days' notice."),
        ),
    ] = None
    amendments: Annotated[
        Amendments | None,
        About(
            gettext_noop("Amendments"),
            suggest="signed_by_both",
            source=PRACTICE,
            choices=AMENDMENTS_WORDS,
            says=gettext_noop("Amendments are made by %(value)s."),
        ),
    ] = None
    language: Annotated[
        Language | None,
        About(
            gettext_noop("Governing language"),
            gettext_noop("The language that decides where translations differ."),
            choices=LANGUAGE_WORDS,
            says=gettext_noop("The governing language is %(value)s."),
        ),
    ] = None
    law: Annotated[
        Text,
        About(
            gettext_noop("Governing law"),
            gettext_noop("Text agreed by the sides; not legal advice."),
            says=gettext_noop("Governing law: %(value)s"),
        ),
    ] = ""
    signing_keys: Annotated[
        SigningKeys | None,
        About(
            gettext_noop("Keys that sign"),
            gettext_noop(
                "With a passkey, or a key held in the signatory's browser, whoever runs this"
                " service cannot sign. With a key that the service holds they could. Left open:"
                " a key that the service holds does not count."
            ),
            suggest="own_key",
            source=gettext_noop("follows from who holds the key"),
            choices=SIGNING_KEYS_WORDS,
            says=gettext_noop("What signs for these terms: %(value)s."),
            since=2,
            was="service_held_too",
            glossary=("passkey",),
        ),
    ] = None
