"""The PDFs of signed terms as a revision's page shows them: the files, their seals, the work."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.utils.translation import get_language

from agreements import acts
from agreements.models import Revision, TermsPaper
from agreements.transitions.papers import SIGNED, jobs_of, papers_wanting
from parties.models import DocumentSeal, Side, Sitter
from parties.seals import seals_of
from parties.states import job_state


@dataclass(frozen=True)
class Shown:
    """A PDF with its seals; `latest`: no later file of its language begins with it; `side`: for
    which side it is sealed, empty where it is for both."""

    paper: TermsPaper
    seals: list[DocumentSeal]
    latest: bool
    side: str = ""


def on_paper(sitter: Sitter, revision: Revision) -> dict[str, Any]:
    """The page's part: PDFs made so far, the reader's language first, and what is at work."""
    rows = list(TermsPaper.objects.visible_to(sitter).filter(revision=revision))
    rows.sort(key=lambda row: (row.language != get_language(), row.language, -row.place))
    seals = seals_of(sitter, [row.digest for row in rows])
    last = {row.language: row.place for row in reversed(rows)}
    # The first file is sealed for the side that signed first, the second one for both.
    first = str(dict(Side.choices).get(revision.first_signer, ""))
    context: dict[str, Any] = {
        "papers": [
            Shown(
                row,
                seals.get(row.digest, []),
                row.place == last[row.language],
                first if row.place == 1 else "",
            )
            for row in rows
        ]
    }
    if revision.status in SIGNED:
        context["paper_job"] = progress_of(revision)
        wanting = acts.MAKE_PAPERS.open_to(sitter) and papers_wanting(revision)
        context["paper_acts"] = [acts.MAKE_PAPERS] if wanting else []
    return context


def progress_of(revision: Revision) -> dict[str, Any]:
    """The newest jobs of all languages as one: what waits, else what failed, else done."""
    states = [job_state(job) for job in jobs_of(revision).values()]
    waiting = [state for state in states if not state["finished"]]
    failed = [state for state in states if state["state"] == "failed"]
    merged = dict((waiting or failed or states)[0])
    merged["done"] = sum(state["finished"] for state in states)
    merged["total"] = len(states)
    return merged
