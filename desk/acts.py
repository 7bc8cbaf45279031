"""What can be done on the desk."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext_lazy as _

from desk.comparing import compare
from desk.forms import CompareForm
from desk.models import RecordCopy
from desk.records import ask_for_record, try_again
from disputes.models import Dispute
from parties.access import ALL_SIDES, READING
from parties.acts import Act
from parties.capacity import Capacity
from shipments.models import Lot

READERS: dict[str, Any] = {"sides": ALL_SIDES, "roles": READING}


def _part(thing: Lot | Dispute, *, by: Capacity) -> RecordCopy:
    return ask_for_record(thing.dossier, by=by, about=thing.subject)


PART = _(
    "One file with the entries and files of this alone, and the headers of all others: it proves "
    "that they stand in the chain and in which order, and withholds what the others say. Making it "
    "adds nothing to the chain."
)
COPY_ACTS = [
    Act(
        "try-again",
        _("Try again"),
        try_again,
        model=RecordCopy,
        noun="record",
        explain=_("Writing this copy stopped at an error. It is done once more."),
        done=_("It waits for its turn."),
        **READERS,
    )
]
DOSSIER_ACTS = [
    Act(
        "make-record",
        _("Make the signed record"),
        ask_for_record,
        button=_("Make it now"),
        explain=_(
            "One file with every entry and every piece of evidence, to be checked offline. Making "
            "it adds nothing to the chain."
        ),
        **READERS,
    ),
    Act(
        "compare-checkpoint",
        _("Compare a checkpoint"),
        compare,
        form=CompareForm,
        button=_("Compare it"),
        explain=_(
            "Mails and copies of the record end with a checkpoint: the chain as it was, signed "
            "then. Held against the chain of today it shows whether anything up to it was changed "
            "since. Nothing is added to the agreement's chain; the reading log says that it was "
            "compared."
        ),
        **READERS,
    ),
]
PART_ACTS = [
    Act(
        "part-record",
        _("Make the record of this lot"),
        _part,
        model=Lot,
        noun="lots",
        button=_("Make it now"),
        explain=PART,
        **READERS,
    ),
    Act(
        "part-record",
        _("Make the record of this dispute"),
        _part,
        model=Dispute,
        noun="disputes",
        button=_("Make it now"),
        explain=PART,
        **READERS,
    ),
]
ACTS = [*DOSSIER_ACTS, *COPY_ACTS, *PART_ACTS]
