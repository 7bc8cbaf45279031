"""What can be done to registers: enter a thing, write its newer row, add and use chips."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext_lazy as _

from parties.access import LEADS, STAFF, TWO_SIDES
from parties.acts import Act
from parties.capacity import Capacity
from parties.forms.base import ActForm
from parties.forms.registers import (
    BoothForm,
    ChipsForm,
    InstrumentForm,
    ObserverForm,
    ReferenceForm,
    UseChipForm,
)
from parties.models import (
    Booth,
    Chip,
    Dossier,
    Instrument,
    Observer,
    Reference,
    RegisterRow,
    Side,
)
from parties.transitions import add_chips, enter, supersede, use_chip

OWN = frozenset({Side.OWN})
SHARED = TWO_SIDES | OWN
NO_EDIT = _("Nothing is overwritten: a newer row is written, the earlier ones stay and are shown.")


def entering(model: type[RegisterRow], form: type[ActForm], title: Any, **options: Any) -> Act:
    """The act that enters a new thing of this sort."""

    def do(dossier: Dossier, *, by: Capacity, **facts: Any) -> RegisterRow:
        return enter(model, by=by, **facts)

    return Act(
        name=f"enter-{model.noun}", title=title, do=do, form=form, done=_("Entered."), **options
    )


def renewing(model: type[RegisterRow], form: type[ActForm], **options: Any) -> Act:
    """The act that writes a newer row for a thing."""
    return Act(
        name="renew",
        noun=model.noun,
        model=model,
        title=_("Write a newer row"),
        do=supersede,
        form=form,
        explain=NO_EDIT,
        done=_("The newer row was written."),
        **options,
    )


REGISTER = {"sides": OWN, "roles": STAFF, "purpose": Dossier.Purpose.REGISTER}
LEAD_ONLY = {"sides": OWN, "roles": LEADS, "purpose": Dossier.Purpose.REGISTER}
ANYWHERE = {"sides": SHARED, "roles": STAFF, "purpose": None}

ENTER: dict[type[RegisterRow], Act] = {
    Observer: entering(Observer, ObserverForm, _("Enter an observer"), **LEAD_ONLY),
    Booth: entering(Booth, BoothForm, _("Enter a booth"), **REGISTER),
    Instrument: entering(Instrument, InstrumentForm, _("Enter an instrument"), **REGISTER),
    Reference: entering(
        Reference,
        ReferenceForm,
        _("Enter a reference"),
        explain=_("In an agreement a reference is shared: both sides and the record see it."),
        **ANYWHERE,
    ),
}
RENEW: dict[type[RegisterRow], list[Act]] = {
    Observer: [renewing(Observer, ObserverForm, **LEAD_ONLY)],
    Booth: [renewing(Booth, BoothForm, **REGISTER)],
    Instrument: [renewing(Instrument, InstrumentForm, **REGISTER)],
    Reference: [
        renewing(Reference, ReferenceForm, **ANYWHERE),
        Act(
            name="add-chips",
            noun="reference",
            model=Reference,
            title=_("Add chips to the pack"),
            do=add_chips,
            form=ChipsForm,
            done=_("The chips were entered."),
            **ANYWHERE,
        ),
    ],
}
USE_CHIP = Act(
    name="use",
    noun="chip",
    model=Chip,
    title=_("Use this chip"),
    do=use_chip,
    form=UseChipForm,
    explain=_("A chip is used once. This cannot be taken back."),
    done=_("The chip counts as used."),
    **ANYWHERE,
)
ACTS = [*ENTER.values(), *(act for acts in RENEW.values() for act in acts), USE_CHIP]
