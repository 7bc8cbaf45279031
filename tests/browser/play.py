"""Play the world into the database of the settings and tell, as JSON, where its pages are.

Run by `House.run`, which sets Django up first. Sessions and pages by person; the PDFs are written
to a folder.
"""

from __future__ import annotations

import json
import sys

from django.conf import settings
from django.test import Client
from pypdf import PdfReader

from agreements.models import TermsPaper
from ledger import blobs
from parties.models import Person
from shipments.models import VerdictPaper
from tests.browser.pages import names_of_pages, pages
from tests.browser.played import Played, play
from tests.cast import make_cast

BACKEND = "django.contrib.auth.backends.ModelBackend"


def session(person: Person) -> str:
    """The session of somebody signed in."""
    client = Client()
    client.force_login(person, backend=BACKEND)
    value: str = client.cookies[settings.SESSION_COOKIE_NAME].value
    return value


def papers(played: Played) -> tuple[list[tuple[str, str]], int]:
    """PDFs as files (name of the pictures, path under VAR_DIR), and how many pages they have."""
    written, sheets = [], 0
    folder = settings.VAR_DIR / "papers"
    folder.mkdir(exist_ok=True)
    for number, paper in enumerate(played.papers(), 1):
        file = folder / f"{number}.pdf"
        file.write_bytes(blobs.get(paper.dossier.chain, paper.digest))
        kind = "visual" if paper.dossier == played.visual.cast.agreement else "spectral"
        name = f"paper-{number:02d}-{kind}-{about(paper)}-{paper.language}"
        written.append((name, str(file.relative_to(settings.VAR_DIR))))
        sheets += len(PdfReader(file).pages)
    return written, sheets


def about(paper: VerdictPaper | TermsPaper) -> str:
    """What the PDF is of."""
    if isinstance(paper, TermsPaper):
        return f"terms-{paper.revision.number}"
    return f"{paper.verdict.submission.purpose}-{paper.verdict.outcome}"


def main() -> int:
    """Play and print."""
    played = play(make_cast())
    found = pages(played)
    by_person: dict[str, list[tuple[str, str]]] = {}
    for page in found:
        by_person.setdefault(page.who, []).append((page.name, page.path))
    written, sheets = papers(played)
    story = {
        "names": names_of_pages(),
        "pages": by_person,
        "sessions": {who: session(played.cast.people[who]) for who in by_person if who},
        "papers": written,
        "sheets": sheets,
    }
    json.dump(story, sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(main())
