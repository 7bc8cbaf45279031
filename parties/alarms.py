"""What the self-check found, in words for those whom it concerns, and to nobody else.

A sitter learns of faults in the chains of their dossiers and, in general words, of those of the
whole installation. No sentence names a person, a file or a side: entries of a shared chain by their
number, files by the entry that names them. The operator alone is told everything.
"""

from __future__ import annotations

import re
import uuid
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from django.conf import settings
from django.db import DatabaseError, transaction
from django.db.models import Q
from django.urls import reverse
from django.utils import translation
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from jobs import mail
from ledger.chain import ChainError
from ledger.models import Alarm, SelfCheck
from ledger.selfcheck import SENTENCES
from parties.access import KEEPERS, READING
from parties.checkpoints import head_of
from parties.mailed_notes import KEEP_ALARM, ending
from parties.models import Dossier, Person, Role, Sitter
from parties.reading import SUFFIX, checkpoint_given

SHOWN = 200
_DOSSIER = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")

# By the fault's id: what was found, without names. %(entry)s: number of an entry in the chain.
WORDS = {
    "number": gettext_lazy("Entry %(entry)s does not follow the one before it: one is missing."),
    "previous": gettext_lazy("Entry %(entry)s does not name the one before: the chain breaks."),
    "hash": gettext_lazy("Entry %(entry)s was altered: its hash does not fit."),
    "header": gettext_lazy("Entry %(entry)s was altered: it cannot be read."),
    "column": gettext_lazy("Entry %(entry)s was altered: what is listed is not what was hashed."),
    "payload": gettext_lazy("Entry %(entry)s was altered: its content is not the committed one."),
    "moved": gettext_lazy("At the place of entry %(entry)s stood another at an earlier check."),
    "taken-away": gettext_lazy("Entry %(entry)s, seen at an earlier check, is no longer there."),
    "head": gettext_lazy("The chain's head does not name its last entry."),
    "head-lost": gettext_lazy("The chain has entries, but its head is gone."),
    "blob-missing": gettext_lazy("A file that entry %(entry)s names is missing."),
    "blob-altered": gettext_lazy("A file that entry %(entry)s names was altered."),
    "more": gettext_lazy("There are more faults than are listed here."),
}
UNNAMED = {
    "blob-missing": gettext_lazy("A stored file that no entry names is missing."),
    "blob-altered": gettext_lazy("A stored file that no entry names was altered."),
}
# Faults of the installation: in general words, whatever it was.
GENERAL = {
    "storage": gettext_lazy("The stored files could not be read, so they were not checked."),
}
GUARDS = gettext_lazy(
    "A guard of the database that keeps entries from being changed is missing or altered."
)
OTHER = gettext_lazy("The installation's ledger has a fault outside every agreement and register.")


@dataclass(frozen=True)
class Shown:
    """Alarms that read alike to one reader, raised by one check and ended by one: `times` of them.

    `dossier` is None for the installation. `raised_by`, `ended_by`: keys of the checks.
    """

    words: str
    dossier: Dossier | None
    raised_by: int
    raised_at: datetime
    ended_by: int | None
    ended_at: datetime | None
    times: int = 1

    def stood_after(self, check: int) -> bool:
        """Whether it stood when the check of this key had ended."""
        return self.raised_by <= check and (self.ended_by is None or self.ended_by > check)


def dossier_of(chain: str) -> uuid.UUID | None:
    """The dossier to which a chain belongs: its own, or its reading log."""
    found = _DOSSIER.match(chain)
    return uuid.UUID(found[0]) if found else None


def words_of(alarm: Alarm) -> str:
    """What was found, as a reader of the dossier concerned may know it."""
    if dossier_of(alarm.chain) is None:
        if alarm.fault.startswith("trigger-"):
            return str(GUARDS)
        return str(GENERAL.get(alarm.fault, OTHER))
    words = WORDS[alarm.fault]
    if alarm.fault in UNNAMED and not alarm.facts.get("entry"):
        words = UNNAMED[alarm.fault]
    said = words % alarm.facts if "%(" in str(words) else str(words)
    return _("In the reading log: %(words)s") % {"words": said} if _of_log(alarm) else said


def visible_to(person: Person, *, standing: bool = False) -> list[Shown]:
    """The alarms that this person may see, the latest first; `standing`: only those not ended."""
    alarms = Alarm.objects.filter(ended_at=None) if standing else Alarm.objects.all()
    return _shown(alarms, _seats(person, READING))


def for_banner(person: Person) -> list[Shown]:
    """The standing alarms that a lead or an administrator is told of on every page."""
    standing = Alarm.objects.filter(ended_at=None)
    if not standing.exists():
        return []
    return _shown(standing, _seats(person, KEEPERS))


def recipients(alarm: Alarm) -> list[Person]:
    """Whom an alarm is mailed to: the leads of the dossier, or for the installation all leads."""
    sitters = Sitter.objects.today().filter(role=Role.QUALITY_LEAD)
    dossier = dossier_of(alarm.chain)
    if dossier is not None:
        sitters = sitters.filter(dossier=dossier)
    return list(Person.objects.filter(pk__in=sitters.values("person")).exclude(email=""))


def tell(check: SelfCheck, alarms: Iterable[Alarm]) -> None:
    """Mail what this check found first: to each person one mail a dossier, which ends with its
    checkpoint, and one about the installation. Runs in the caller's transaction."""
    people: dict[uuid.UUID, tuple[Person, list[Alarm]]] = {}
    alarms = list(alarms)
    for alarm in alarms:
        for person in recipients(alarm):
            people.setdefault(person.pk, (person, []))[1].append(alarm)
    for person, concerned in people.values():
        with translation.override(person.language):
            seats = _seats(person, KEEPERS)
            shown = _shown(Alarm.objects.filter(pk__in=[one.pk for one in concerned]), seats)
            for place in dict.fromkeys(one.dossier for one in shown):
                _tell_of(
                    check, person, seats, place, [one for one in shown if one.dossier == place]
                )
    if settings.OPERATOR_EMAIL and alarms:
        lines = [f"- {sentence(alarm)}" for alarm in alarms]
        with translation.override(settings.LANGUAGE_CODE):
            _post(check, settings.OPERATOR_EMAIL, lines, "operator")


def sentence(alarm: Alarm) -> str:
    """The whole finding, for the operator."""
    return SENTENCES[alarm.fault].format(chain=alarm.chain, **alarm.facts)


def _tell_of(
    check: SelfCheck,
    person: Person,
    seats: dict[uuid.UUID, Sitter],
    dossier: Dossier | None,
    shown: list[Shown],
) -> None:
    if dossier is None:
        _post(check, person.email, [f"- {one.words}" for one in shown], str(person.pk))
        return
    last, note = ending(dossier, KEEP_ALARM)
    lines = [f"- {dossier}: {one.words}" for one in shown]
    _post(check, person.email, lines, f"{person.pk}:{dossier.pk}", last)
    if note and dossier.purpose == Dossier.Purpose.AGREEMENT:
        _log_note(seats[dossier.pk], note, f"alarm-{check.pk}")


def _log_note(sitter: Sitter, note: str, act: str) -> None:
    """That they were sent this checkpoint; where the fault is in the reading log itself, the mail
    goes out all the same."""
    try:
        with transaction.atomic():
            checkpoint_given(sitter, head_of(note), "mail", act=act)
    except (DatabaseError, ChainError):
        return


def _post(check: SelfCheck, to: str, lines: list[str], whose: str, last: str = "") -> None:
    url = settings.PUBLIC_URL + reverse("parties:checks")
    said = [
        _("The self-check of this installation found what should never be:"),
        "\n".join(lines),
        _(
            "The check changed nothing: what was found stands as it was. Take the record of the "
            "agreement now, and compare the checkpoints in your own mails with it. What can be "
            "proved is in those, whatever happens here."
        ),
        _("All checks and alarms: %(url)s") % {"url": url},
    ]
    mail.post(
        to=to,
        subject=_("Alarm: the self-check found a fault"),
        body="\n\n".join(said) + "\n" + last,
        key=f"alarm:{check.pk}:{whose}",
    )


def _of_log(alarm: Alarm) -> bool:
    return alarm.chain.endswith(SUFFIX)


def _seats(person: Person, roles: Iterable[str]) -> dict[uuid.UUID, Sitter]:
    sitters = Sitter.objects.today().filter(person=person, role__in=list(roles))
    return {one.dossier_id: one for one in sitters.select_related("dossier", "seat")}


def _shown(alarms: object, seats: dict[uuid.UUID, Sitter]) -> list[Shown]:
    """Those of the installation and of the dossiers sat in; nobody without a seat sees any."""
    if not seats:
        return []
    chains = [name for pk in seats for name in (str(pk), f"{pk}{SUFFIX}")]
    own = Q(chain__in=chains) | ~Q(chain__regex=r"^[0-9a-f]{8}-[0-9a-f]{4}-")
    found = alarms.filter(own).order_by("-raised_at", "pk")[:SHOWN]  # type: ignore[attr-defined]
    made: dict[Any, Shown] = {}
    for alarm in found:
        dossier = dossier_of(alarm.chain)
        sitter = seats.get(dossier) if dossier else None
        if dossier is not None and sitter is None:
            continue
        one = Shown(
            words_of(alarm),
            sitter.dossier if sitter else None,
            alarm.raised_by_id,
            alarm.raised_at,
            alarm.ended_by_id,
            alarm.ended_at,
        )
        before = made.get(one)
        made[one] = replace(one, times=before.times + 1) if before else one
    return list(made.values())
