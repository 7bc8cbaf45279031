"""References that a lot is judged against: the signed master and the target."""

from __future__ import annotations

import datetime as dt

from agreements.standing import today_in
from method.submission import parse_submission
from method.terms import Part, resolve
from method.terms.models.references import MATCH_WORDS
from parties.capacity import Capacity
from parties.models import Dossier, Reference
from parties.transitions import enter
from shipments.models import FirstArticle, Submission
from shipments.parts import part_of


def enter_master(
    article: FirstArticle,
    submission: Submission,
    *,
    by: Capacity,
    seal: str,
    expires_on: dt.date | None,
) -> Reference:
    """The approved first article becomes the master of its part, with the reading handed in.

    Without readings (nobody measures) it is a master all the same: the eye compares with it.
    """
    part = part_of(article.revision, article.part)
    clauses = resolve(article.revision.document, article.part)
    scope = clauses.scope
    measured = parse_submission(bytes(submission.bytes)).measured
    return enter(
        Reference,
        by=by,
        name=f"{part.number} {part.colour} / {article.number}",
        kind=Reference.Kind.MASTER,
        # it is what clause 4 asks for, and in everything as the part is: it is one
        made_as=clauses.references.kind or "approved_part",
        like_part=sorted(MATCH_WORDS),
        part=part.number,
        colour=part.colour,
        substrate=scope.material,
        finish=scope.finish,
        thickness_mm=scope.thickness_mm,
        seal=seal,
        approval=article.number,
        issued_on=today_in(article.dossier),
        expires_on=expires_on,
        reading=measured[0].packed if measured else "",
    )


def master_of(dossier: Dossier, part: Part, day: dt.date, until: dt.datetime) -> Reference | None:
    """The master of a part on a day, as recorded until a moment.

    Once a first article was approved only an approved master counts, the last one; before that
    it is the standard that the customer entered last.
    """
    rows = Reference.objects.filter(dossier=dossier, part=part.number, colour=part.colour)
    masters = rows.as_of(day, until).filter(kind=Reference.Kind.MASTER)
    approved = masters.exclude(approval="")
    known = approved if approved.exists() else masters
    return known.filter(retired=False).order_by("-recorded_at", "-pk").first()
