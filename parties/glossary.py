"""The glossary in the reader's language, with each term in the other languages beside it."""

from __future__ import annotations

from dataclasses import dataclass

from django.conf import settings
from django.utils.translation import get_language, gettext, override

from method.glossary import ENTRIES


@dataclass(frozen=True)
class Shown:
    """One entry in words; `others` are (language, term) in the languages that are not read."""

    id: str
    term: str
    says: str
    source: str
    others: list[tuple[str, str]]


def entry(id: str) -> Shown:
    """One entry; KeyError where there is none of this id."""
    found, here = ENTRIES[id], get_language()
    others = []
    for language, _name in settings.LANGUAGES:
        if language != here:
            with override(language):
                others.append((language, gettext(found.term)))
    return Shown(id, gettext(found.term), gettext(found.says), gettext(found.source), others)


def alphabetical() -> list[Shown]:
    """All entries in the order of the reader's language."""
    return sorted((entry(id) for id in ENTRIES), key=lambda shown: order(shown.term))


def order(term: str) -> bytes:
    """Sorts English by letters and Chinese by sound: GB 18030 keeps the codes of GB 2312, whose
    common characters stand in the order of their pinyin."""
    return term.casefold().encode("gb18030")
