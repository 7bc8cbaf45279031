"""What an entry of the glossary is, and the three sources that are no citation."""

from __future__ import annotations

from dataclasses import dataclass

from method.terms.models.base import PRACTICE as PRACTICE
from method.words import gettext_noop

OWN = gettext_noop("our own word")
# What is only remembered is never presented as a citation.
FROM_MEMORY = "from memory: "


@dataclass(frozen=True)
class Entry:
    """One word of the trade or of ours; all but the id are templates for gettext.

    id      stays: addresses of pages end with it, fields of the terms name it (`About.glossary`)
    term    as it stands within a sentence
    says    one or two plain sentences
    source  a standard by number, authors and year, PRACTICE, OWN, or "from memory: …"
    """

    id: str
    term: str
    says: str
    source: str
