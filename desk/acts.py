"""What can be done on the desk."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from desk.models import RecordCopy
from desk.records import ask_for_record, try_again
from parties.access import ALL_SIDES, READING
from parties.acts import Act

COPY_ACTS = [
    Act(
        "try-again",
        _("Try again"),
        try_again,
        model=RecordCopy,
        noun="record",
        sides=ALL_SIDES,
        roles=READING,
        explain=_("Writing this copy stopped at an error. It is done once more."),
        done=_("It waits for its turn."),
    )
]
DOSSIER_ACTS = [
    Act(
        "make-record",
        _("Make the signed record"),
        ask_for_record,
        sides=ALL_SIDES,
        roles=READING,
        button=_("Make it now"),
        explain=_(
            "One file with every entry and every piece of evidence, to be checked offline. Making "
            "it adds nothing to the chain."
        ),
    )
]
ACTS = [*DOSSIER_ACTS, *COPY_ACTS]
