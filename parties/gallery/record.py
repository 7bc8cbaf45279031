"""Samples of what happens in an agreement: entries, a thread, jobs, keys, seals, pages of lists."""

from __future__ import annotations

from types import SimpleNamespace as Sample
from typing import Any
from uuid import UUID

from django.utils.translation import gettext

from parties.gallery import invented
from parties.gallery.invented import CODE, DIGEST, OTHER_CODE, OTHER_DIGEST, WHEN
from parties.models.keys import ASSURANCES
from parties.paging import Marks

ENTRIES = 40


def rows() -> list[Any]:
    """A long timeline; every eighth entry has long words."""
    said = [
        (gettext("The lot was opened"), gettext("Lot 12")),
        (gettext("Evidence was handed in"), gettext("Lot 12, submission 1")),
        (gettext("The verdict was made"), gettext("Lot 12, submission 1")),
        (gettext("The lot was released"), gettext("Lot 12")),
    ]
    made = []
    for number in range(1, ENTRIES + 1):
        words, about = said[number % len(said)]
        row = Sample(
            entry=Sample(number=number, time=WHEN, actor=CODE),
            words=words,
            about=about if number % 8 else invented.long(),
            side=gettext("supplier"),
            role="lead" if number % 4 != 2 else "",
        )
        made.append(row)
    return made


def posts() -> list[Any]:
    """A statement, one with a file and long words, a struck one."""
    return [_post(1), _post(2, words=invented.long(), files=[_file()]), _post(3, struck=True)]


def _post(number: int, *, struck: bool = False, words: str = "", files: Any = ()) -> Any:
    return Sample(
        pk=UUID(int=number),
        created_at=WHEN,
        author=CODE if number % 2 else OTHER_CODE,
        side="customer" if number % 2 else "supplier",
        text=words or gettext("Specimen P3 looks yellower than the sealed sample under D65."),
        files=files,
        get_kind_display=gettext("statement"),
        struck_at=WHEN if struck else None,
        struck_by=CODE,
        struck_reason=gettext("It named the wrong lot."),
    )


def _file() -> Any:
    return Sample(name=f"{invented.UNBROKEN}.csv")


def jobs() -> list[tuple[str, Any]]:
    """A job in each of its states."""
    return [
        (gettext("queued"), _job("queued", 0)),
        (gettext("at work"), _job("working", 4)),
        (gettext("done"), _job("done", 10)),
        (gettext("failed"), _job("failed", 4)),
    ]


def _job(state: str, done: int) -> Any:
    error = gettext("The paper could not be set within its time.")
    return Sample(
        state=state, error=error, finished=state in ("done", "failed"), total=10, done=done
    )


class Signed:
    """Something to sign: a digest and a name."""

    digest = DIGEST

    def __str__(self) -> str:
        return gettext("Revision 2 of the terms “Grey housings”")


def signing() -> dict[str, Any]:
    """What parties.signing.statement_facts gives."""
    return {
        "signed": Signed(),
        "signer": Sample(
            person=Sample(name=gettext("Invented Person")),
            sitter=Sample(code=CODE),
            organisation=Sample(name=invented.firm()),
        ),
        "signing_sitter": _sitter(),
        "intent": gettext("agrees to the terms"),
        "assurances": ASSURANCES,
    }


def _sitter() -> Any:
    return Sample(
        dossier=Sample(purpose="agreement", title=invented.long()),
        dossier_id=UUID(int=0),
        seat=Sample(
            organisation=Sample(name=invented.firm()), get_side_display=gettext("customer")
        ),
        get_role_display=gettext("quality lead"),
    )


def keys() -> list[Any]:
    """Keys in the record: the signer's own, and one of the other side with a long name."""
    held = gettext("held by the service")
    return [
        Sample(
            side_words=gettext("customer"),
            name=gettext("Invented Person"),
            person=CODE,
            assurance_words=gettext("passkey of a device"),
            fingerprint=DIGEST,
        ),
        Sample(
            side_words=gettext("supplier"),
            name=invented.long(),
            person=OTHER_CODE,
            assurance_words=held,
            fingerprint=OTHER_DIGEST,
        ),
    ]


def seal() -> Any:
    """A seal on a paper."""
    key = Sample(get_issuer_display=gettext("this installation"), fingerprint=DIGEST)
    return Sample(
        sealed_at=WHEN,
        side_words=gettext("customer"),
        holder=invented.firm(),
        key=key,
        get_stamp_display=gettext("no outside time"),
    )


def pages() -> list[tuple[str, Any]]:
    """The first page of a long list, one in the middle, the last, and all on one."""
    return [
        (gettext("first"), Marks(12, None)),
        (gettext("in the middle"), Marks(12, 40)),
        (gettext("last"), Marks(None, 40)),
        (gettext("all on one page"), Marks(None, None)),
    ]
