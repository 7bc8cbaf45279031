"""Observers: the private facts from which qualification is computed, never stored.

Score, examination, correction and training are seen by the quality lead of the observer's own firm
and by the observer. Nothing else reads these columns but `parties.facts.person_facts`, whose result
`method.qualification` turns into public and private reasons.
"""

from __future__ import annotations

from typing import Any

from django.core.validators import MaxValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from parties.models.people import Person
from parties.models.registers.base import RegisterRow, day, line

# 85 caps: every cap at the greatest distance stays far below this; it only catches typing.
GREATEST_SCORE = 2000


def error_score(words: Any) -> models.PositiveIntegerField:
    """A total error score of the 85-cap hue arrangement test, as typed from the sheet."""
    return models.PositiveIntegerField(
        words, null=True, blank=True, validators=[MaxValueValidator(GREATEST_SCORE)]
    )


class Observer(RegisterRow):
    """A person who judges; with a login (`person`) or without.

    An observer of another firm is entered by the firm that borrows: with the lender's name and the
    days for which it lends them.
    """

    class Correction(models.TextChoices):
        NONE = "none", _("none prescribed")
        WORN = "worn", _("prescribed, worn while judging")
        NOT_WORN = "not_worn", _("prescribed, not worn while judging")

    person = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="observed_as"
    )
    score = error_score(_("total error score"))
    tested_on = day(_("hue arrangement test taken on"))
    earlier_score = error_score(_("total error score of the test before"))
    earlier_tested_on = day(_("test before taken on"))
    scan = line(_("digest of the scan"), 64)
    scan_name = line(_("scan of the test sheet"), 120)
    plates_passed_on = day(_("plate screening passed on"))
    eyes_examined_on = day(_("eye examination on"))
    correction = line(_("correction of sight"), 16, choices=Correction.choices)
    trained_on = day(_("training on"))
    # Few people qualify: another firm may lend one, where clause 2 admits it.
    borrowed_from = line(_("lent by the firm"), 160)
    grant_from = day(_("lent from"))
    grant_until = day(_("lent until"))

    noun = "observer"
    facts = (
        "score",
        "tested_on",
        "earlier_score",
        "earlier_tested_on",
        "scan_name",
        "plates_passed_on",
        "eyes_examined_on",
        "correction",
        "trained_on",
        "borrowed_from",
        "grant_from",
        "grant_until",
    )

    class Meta(RegisterRow.Meta):
        pass
