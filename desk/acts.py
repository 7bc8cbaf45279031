"""What can be done on the desk."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from desk.records import ask_for_record
from parties.access import ALL_SIDES, READING
from parties.acts import Act

ACTS = [
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
