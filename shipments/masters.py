"""References that a lot is judged against: the signed master and the target."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import numpy as np
from django.utils.translation import gettext_lazy as _

from agreements.standing import today_in
from ledger import blobs
from method import packed
from method.submission import Measured, parse_submission
from method.terms import Part, resolve
from method.terms.models.references import MATCH_WORDS
from parties.capacity import Capacity
from parties.models import Dossier, Reference, RegisterQuerySet, Sitter
from parties.refusal import Refusal
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
) -> list[Reference]:
    """The approved first article becomes the master of its part, with the readings handed in.

    A reference has one stored reading: the piece is entered once for each geometry at which it was
    read. Without readings (nobody measures) it is a master all the same: the eye compares with it.
    """
    measured = parse_submission(bytes(submission.bytes)).measured
    readings = packed_by_geometry(article.dossier.chain, measured)
    several = len(readings) > 1
    return [
        _enter(
            article,
            by,
            name=f" ({geometry})" if several else "",
            reading=reading,
            seal=seal,
            expires_on=expires_on,
        )
        for geometry, reading in sorted(readings.items()) or [("", "")]
    ]


def masters_of(sitter: Sitter, article: FirstArticle) -> list[Reference]:
    """What a first article became when it was approved, as it stands today: none before that."""
    rows = Reference.objects.visible_to(sitter).current().filter(kind=Reference.Kind.MASTER)
    return list(rows.filter(approval=article.number).order_by("name"))


def packed_by_geometry(chain: str, measured: Sequence[Measured]) -> dict[str, str]:
    """Digest of all readings at each geometry ("" where none was said), packed as one set.

    Raises Refusal where readings cannot stand in one set: nothing handed in is left out.
    """
    gathered: dict[str, list[str]] = {}
    for one in measured:
        gathered.setdefault(one.condition.geometry or "", []).append(one.packed)
    if len(gathered) > 1 and "" in gathered:
        raise Refusal(
            "geometry_unsaid",
            _(
                "Some readings say no geometry and others do: which of them lots are compared"
                " with is not known. Return the first article to have the geometry said."
            ),
        )
    return {geometry: _one_set(chain, digests) for geometry, digests in gathered.items()}


def _one_set(chain: str, digests: list[str]) -> str:
    """The digest of the readings of several packed sets, in the order given, as one set."""
    if len(digests) == 1:
        return digests[0]
    sets = [packed.unpack(blobs.get(chain, digest)) for digest in digests]
    if len({one.wavelengths for one in sets}) > 1:
        raise Refusal(
            "grids_unlike",
            _(
                "The readings were taken at different wavelengths and cannot be stored as one."
                " Return the first article to have them taken alike."
            ),
        )
    same = dict(set.intersection(*(set(one.condition.items()) for one in sets)))
    merged = packed.PackedSet(
        sets[0].wavelengths,
        tuple(label for one in sets for label in one.labels),
        np.vstack([one.values for one in sets]),
        same,
    )
    return blobs.put(chain, packed.pack(merged), "application/octet-stream")


def _enter(
    article: FirstArticle,
    by: Capacity,
    *,
    name: str,
    reading: str,
    seal: str,
    expires_on: dt.date | None,
) -> Reference:
    part = part_of(article.revision, article.part)
    clauses = resolve(article.revision.document, article.part)
    scope = clauses.scope
    return enter(
        Reference,
        by=by,
        name=f"{part.number} {part.colour} / {article.number}{name}",
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
        reading=reading,
    )


def stored_readings(
    dossier: Dossier, part: Part, *, day: dt.date, until: dt.datetime
) -> list[tuple[Reference, packed.PackedSet]]:
    """The master's stored reading at each geometry: rows of the master's own approval, the last
    one recorded where there are several at one geometry."""
    master = master_of(dossier, part, day, until)
    if master is None or not master.reading:
        return []
    rows = _known(dossier, part, day, until).filter(retired=False, approval=master.approval)
    found: dict[str, tuple[Reference, packed.PackedSet]] = {}
    for row in rows.exclude(reading="").order_by("-recorded_at", "-pk"):
        reading = packed.unpack(blobs.get(dossier.chain, row.reading))
        found.setdefault(reading.condition.get("geometry", ""), (row, reading))
    return [found[geometry] for geometry in sorted(found)]


def master_of(dossier: Dossier, part: Part, day: dt.date, until: dt.datetime) -> Reference | None:
    """The master of a part on a day, as recorded until a moment.

    Once a first article was approved only an approved master counts, the last one; before that
    it is the standard that the customer entered last.
    """
    known = _known(dossier, part, day, until).filter(retired=False)
    return known.order_by("-recorded_at", "-pk").first()


def _known(
    dossier: Dossier, part: Part, day: dt.date, until: dt.datetime
) -> RegisterQuerySet[Reference]:
    """Masters of a part that can count at all: the approved ones, once there is one."""
    rows = Reference.objects.filter(dossier=dossier, part=part.number, colour=part.colour)
    masters = rows.as_of(day, until).filter(kind=Reference.Kind.MASTER)
    approved = masters.exclude(approval="")
    return approved if approved.exists() else masters
