"""Observers: the private facts from which qualification is computed, never stored.

Score, examination, correction and training are seen by the quality lead of the observer's own firm
and by the observer. Nothing else reads these columns but `parties.facts.person_facts`, whose result
`method.qualification` turns into public and private reasons.
"""

from __future__ import annotations

from django.core.validators import MaxValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from parties.models.people import Person
from parties.models.registers.base import RegisterRow, day, line

# 85 caps: every cap at the greatest distance stays far below this; it only catches typing.
GREATEST_SCORE = 2000


class Observer(RegisterRow):
    """A person who judges; with a login (`person`) or without."""

    person = models.ForeignKey(
        Person, null=True, blank=True, on_delete=models.PROTECT, related_name="observed_as"
    )
    score = models.PositiveIntegerField(
        _("total error score"),
        null=True,
        blank=True,
        validators=[MaxValueValidator(GREATEST_SCORE)],
    )
    tests = models.PositiveSmallIntegerField(
        _("score is of"),
        default=1,
        choices=[(1, _("one test")), (2, _("the average of two tests on different days"))],
    )
    tested_on = day(_("hue arrangement test taken on"))
    scan = line(_("scan of the test sheet"), 64)
    scan_name = line(_("name of the scan"), 120)
    plates_passed_on = day(_("plate screening passed on"))
    eyes_examined_on = day(_("eye examination on"))
    correction = line(_("correction prescribed"))
    trained_on = day(_("training on"))

    noun = "observer"
    facts = (
        "score",
        "tests",
        "tested_on",
        "scan_name",
        "plates_passed_on",
        "eyes_examined_on",
        "correction",
        "trained_on",
    )

    class Meta(RegisterRow.Meta):
        pass
