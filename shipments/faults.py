"""Evidence that cannot be brought into the form of a submission: which file or sitting, which
field, what is wrong and what to do, in words. The technical path goes to the log alone."""

from __future__ import annotations

import functools
import logging
from collections.abc import Callable
from typing import Any, TypeVar

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _
from pydantic import ValidationError

from parties.refusal import Refusal

log = logging.getLogger(__name__)
T = TypeVar("T")

# Fields as the forms call them, by the part of a submission in which they stand.
FIELDS: dict[str, str | Promise] = {
    "geometry": _("Geometry"),
    "aperture_mm": _("Aperture (mm)"),
    "uv": _("Ultraviolet in the light"),
    "backing": _("Backing"),
    "temperature_c": _("Temperature of the specimens (°C)"),
    "age_hours": _("Hours since the specimens were made"),
    "hours_since_white": _("Hours since the white calibration"),
    "orientation": _("Orientation"),
    "zone": _("Time zone of that place"),
    "name": _("File"),
    "measured_on": _("Measured on"),
    "readings": _("Readings"),
    "place": _("Place on the piece"),
    "day": _("Day at the booth"),
    "illuminants": _("Lights used"),
    "illuminant": _("Under"),
    "warm_up_minutes": _("Lamps warmed up for (minutes)"),
    "adaptation_minutes": _("Observers adapted to the light for (minutes)"),
    "directions": _("How it differs"),
    "outcome": _("Judgement"),
    "specimen": _("Specimen"),
    "label": _("Specimen"),
    "specimens": _("Specimens"),
    "seal": _("Seal number"),
    "note": _("Remark"),
    "number": _("Number"),
    "order": _("Order number"),
    "quantity": _("Pieces"),
}
PARTS: dict[str, str | Promise] = {
    "BoothFacts": _("Booth"),
    "Light": _("Booth"),
    "InstrumentFacts": _("Instrument"),
    "ReferenceFacts": _("Reference"),
    "TargetFacts": _("Readings of a reference"),
    "Judgement": _("Judgement"),
    "Attachment": _("Document"),
    "Retained": _("Retained piece"),
}
FAULTS: dict[str, str | Promise] = {
    "string_too_long": _("the text is too long. Enter it again in fewer words."),
    "string_too_short": _("nothing is entered. Fill it in, or set this aside and enter it anew."),
    "literal_error": _("this value is not known here. Choose another one."),
    "string_pattern_mismatch": _("this value is not known here. Choose another one."),
    "greater_than_equal": _("the number is too small. Correct it."),
    "less_than_equal": _("the number is too large. Correct it."),
    "missing": _("nothing is entered. Fill it in, or set this aside and enter it anew."),
}
# What may stand once only, by the word with which the document's own rule begins.
TWICE: dict[str, str | Promise] = {
    "reading": _("the same readings are there twice. Set one of the two aside."),
    "row": _("one row of the file is there twice. Set these readings aside and read it again."),
    "judgement": _(
        "one observer has said twice what they think of one specimen under one light. Set one of "
        "the sittings aside."
    ),
    "seal": _("one seal number stands on two pieces. Set one of them aside."),
    "target": _("the reference was read twice. Set one of the readings aside."),
    "light": _("one light of the booth is listed twice. Correct the booth in your register."),
}
OTHER = _("it does not fit. Set it aside, enter it anew, then hand in again.")


def fault(error: ValidationError, where: str = "") -> Refusal:
    """The refusal for the first thing that a submission does not take; `where` names the file,
    sitting or other row that it came from, where that is known."""
    first = error.errors(include_url=False, include_input=False)[0]
    path = [str(step) for step in first["loc"]]
    log.warning("unfit evidence: %s.%s: %s", error.title, ".".join(path), first["type"])
    named = [one for one in reversed(path) if one in FIELDS][:1]
    field = FIELDS[named[0]] if named else PARTS.get(error.title, "")
    words = [where, str(field), str(_wrong(first))]
    return Refusal(
        "unfit",
        _("This evidence cannot be handed in yet. %(what)s"),
        what=": ".join(word for word in words if word),
    )


def _wrong(first: Any) -> str | Promise:
    """What is wrong and what to do."""
    said = str(first.get("ctx", {}).get("error", ""))
    if said.endswith("twice"):
        return TWICE.get(said.split()[0], OTHER)
    if "decimal" in said:
        return _("this is no plain number with at most 12 figures. Correct it.")
    return FAULTS.get(first["type"], OTHER)


def named(make: Callable[..., T]) -> Callable[..., T]:
    """For functions that turn a row into its document, the row being the second argument: what
    does not fit is refused under the row's name."""

    @functools.wraps(make)
    def made(gathering: Any, row: Any, *more: Any) -> T:
        try:
            return make(gathering, row, *more)
        except ValidationError as error:
            raise fault(error, str(row)) from None

    return made
