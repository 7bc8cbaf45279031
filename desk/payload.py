"""The content of an entry in words: a label for every field of every kind, values as people say
them. What only a program needs (certificates, nonces, signatures' bytes) stays in the record."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.utils.functional import Promise
from django.utils.translation import gettext, ngettext, pgettext_lazy
from django.utils.translation import gettext_lazy as _

from agreements.models import Revision
from agreements.words import clause_title, items_of
from disputes.forms import PLACES
from ledger.canonical import parse
from ledger.erasure import Erased
from ledger.kinds import Kind
from ledger.models import Entry
from method.terms.models.disputes import REMEDY_WORDS
from method.terms.models.tolerances import COMPARED_WORDS
from parties.models import Dossier, Reference, Role, Side
from parties.models.keys import ASSURANCES
from parties.statement_words import WHAT, bare_words, decided_lines
from shipments.models import Submission, Verdict
from shipments.parts import part_words

Words = str | Promise
SHOWN = 400  # characters of a text; the whole of it is in the signed record
DIGEST = 16  # characters of a digest on a page

LABELS: dict[str, Words] = {
    "about": _("Limited to"),
    "accepted_on": _("Order accepted on"),
    "article": _("First article"),
    "assurance": _("Assurance"),
    "based_on": _("Answers revision"),
    "by": pgettext_lazy("way", "By"),
    "clause": _("Clause"),
    "compared_with": _("Compared with"),
    "confirmed_by": _("Confirmed by"),
    "containment": _("Held back"),
    "continues": _("Begins with the PDF"),
    "corrections": _("To be corrected"),
    "digest": _("Digest"),
    "entry": _("Entry"),
    "expires_on": _("The master expires on"),
    "facts": _("Facts"),
    "files": _("Files"),
    "fingerprint": _("Fingerprint of the key"),
    "form": _("Form of the record"),
    "from_day": pgettext_lazy("day", "From"),
    "grounds": _("Grounds"),
    "hash": _("Hash of the entry"),
    "issuer": _("Issued by"),
    "item": _("Item"),
    "kind": _("Kind"),
    "labels": _("Chips"),
    "lot": _("Lot"),
    "media_type": _("Sort of file"),
    "name": _("Name"),
    "note": _("Remark"),
    "nth": _("How many times"),
    "number": _("Number"),
    "of": _("Of the chain"),
    "on": _("On"),
    "order": _("Order"),
    "organisation": _("Firm"),
    "outcome": _("Outcome"),
    "page": _("Page"),
    "part": _("Part and colour"),
    "person": _("Person"),
    "purpose": _("Purpose"),
    "quantity": _("Pieces"),
    "reason": _("Reason"),
    "remedy": _("Remedy"),
    "replaces": _("Takes the place of the key"),
    "revision": _("Revision"),
    "role": _("Role"),
    "seal": _("Seal numbers of the sealed pair"),
    "seals": _("Seals"),
    "seats": _("Seats"),
    "shows": _("Shows the document"),
    "side": _("Side"),
    "specimens": _("Specimens"),
    "statement": _("What is signed"),
    "submission": _("Digest of the evidence"),
    "text": _("Statement"),
    "title": _("Title"),
    "to": _("Handed to"),
    "until": _("Until"),
    "verdict": _("Digest of the verdict"),
    "what": _("Sort of document"),
}
# For a program only: bytes of certificates and signatures, numbers used once.
MACHINE = frozenset({"certificate", "credential", "jws", "nonce", "passkey"})
CODES = frozenset(
    {
        "confirmed_by", "continues", "digest", "fingerprint", "hash", "media_type", "of",
        "organisation", "person", "replaces", "shows", "submission", "to", "verdict",
    }
)  # fmt: skip
PURPOSES = dict(Dossier.Purpose.choices) | dict(Submission.Purpose.choices)
TABLES: dict[str, Mapping[Any, Any]] = {
    "side": {**dict(Side.choices), "system": _("this service")},
    "role": dict(Role.choices),
    "purpose": PURPOSES,
    "outcome": dict(Verdict.Outcome.choices),
    "assurance": ASSURANCES,
    "kind": dict(Reference.Kind.choices),
    "remedy": REMEDY_WORDS,
    "compared_with": COMPARED_WORDS,
    "issuer": {"installation": _("this installation"), "own": _("the firm's own authority")},
    "form": {"whole": _("whole"), "part": _("part, other payloads withheld")},
}


@dataclass(frozen=True)
class Fact:
    """One field in words; `code`: the lines are codes or digests and nobody's language."""

    label: Words
    lines: list[str]
    code: bool = False


def facts_of(entry: Entry) -> list[Fact]:
    """The content of an entry as a page shows it."""
    try:
        payload: Mapping[str, Any] = entry.payload
    except Erased as erased:
        day = f"{erased.at:%Y-%m-%d}" if erased.at else "–"
        words = gettext("What was said here was erased on %(day)s. The entry stands.")
        return [Fact(_("Erased"), [words % {"day": day}])]
    if entry.kind == Kind.SIGNATURE_MADE:
        return _signature(payload)
    facts = [
        _fact(name, value, entry)
        for name, value in payload.items()
        if name not in MACHINE and value not in (None, "", [], {})
    ]
    if entry.kind == Kind.SEAT_LIMITED and payload["until"] is None:
        facts.append(Fact(LABELS["until"], [gettext("no end: the seat goes on")]))
    return facts


def _fact(name: str, value: Any, entry: Entry) -> Fact:
    special = SPECIAL.get(name)
    if special is not None:
        return Fact(LABELS[name], special(value, entry))
    if name in CODES:
        return Fact(LABELS[name], [short_code(str(value))], code=True)
    return Fact(LABELS[name], [_said(name, value)])


def _said(name: str, value: Any) -> str:
    """A value by the table of its field; a text as it was typed, cut where it is long."""
    table = TABLES.get(name, {})
    if value in table:
        return (
            gettext(str(table[value])) if name in {"remedy", "compared_with"} else str(table[value])
        )
    text = str(value)
    return text if len(text) <= SHOWN else f"{text[:SHOWN]} …"


def short_code(text: str) -> str:
    """A digest by its beginning; other codes whole."""
    return f"{text[:DIGEST]}…" if len(text) == 64 else text


def _seats(value: Any, _entry: Entry) -> list[str]:
    return [f"{seat['name']} ({seat['organisation']}), {_said('side', seat['side'])}"
            for seat in value]  # fmt: skip


def _grounds(value: Any, _entry: Entry) -> list[str]:
    """One line a ground: clause, compared with what, which specimens."""
    lines = []
    for ground in value:
        said = [clause_title(ground["clause"])]
        if ground.get("compared_with"):
            against = _said("compared_with", ground["compared_with"])
            said.append(gettext("compared with %(what)s") % {"what": against})
        if labels := ground.get("specimens"):
            words = ngettext("specimen %(labels)s", "specimens %(labels)s", len(labels))
            said.append(words % {"labels": ", ".join(labels)})
        lines.append("; ".join([*said, *filter(None, [ground.get("text")])]))
    return lines


def _facts(value: Mapping[str, Any], entry: Entry) -> list[str]:
    """Facts of a reference by the labels of its form, pieces held back by place."""
    if entry.kind == Kind.REFERENCE_ENTERED:
        return [line for name, one in value.items() if (line := _reference(name, one))]
    return [f"{PLACES[name]}: {count}" for name, count in value.items() if name in PLACES]


def _reference(name: str, value: Any) -> str:
    if name not in {*Reference.facts, "valid_from", "retired"}:
        return ""  # the key of its master: a program's
    field: Any = Reference._meta.get_field(name)
    words = dict(field.flatchoices)
    if name == "like_part":
        row = Reference(like_part=str(value).split(", "))
        return f"{field.verbose_name}: {row.get_like_part_display()}"
    if name == "retired":
        return str(field.verbose_name)
    return f"{field.verbose_name}: {short_code(str(words.get(value, value)))}"


def _part(value: str, entry: Entry) -> list[str]:
    """The part by number, name and colour, as the revision that binds it knows it."""
    terms = _terms(entry)
    for part in terms.parts if terms else ():
        if part.id == value:
            return [part_words(part)]
    return [value]


def _item(value: str, entry: Entry) -> list[str]:
    """The item of the terms that a remark is about, as a sentence."""
    terms = _terms(entry)
    parts = ["", *(part.id for part in terms.parts)] if terms else []
    for part in parts:
        for _clause, _list, id, words in items_of(terms, part):
            if id == value:
                return [words]
    return [value]


def _terms(entry: Entry) -> Any:
    """The terms that the entry's payload names by the revision's number; None where unknown."""
    number = entry.payload.get("revision")
    found = Revision.objects.filter(dossier=entry.chain, number=number).first()
    return found.document if found else None


def _document(value: str, _entry: Entry) -> list[str]:
    """Which sealed PDF: of the terms, in which language."""
    noun, _, language = value.partition("/")
    name = dict(settings.LANGUAGES).get(language)
    if noun != "revision" or name is None:
        return [value]
    return [gettext("the terms as PDF, %(language)s") % {"language": name}]


SPECIAL: dict[str, Callable[[Any, Entry], list[str]]] = {
    "seats": _seats,
    "grounds": _grounds,
    "facts": _facts,
    "containment": _facts,
    "part": _part,
    "item": _item,
    "clause": lambda value, _entry: [clause_title(value)],
    "what": _document,
    "corrections": lambda value, _entry: [_said("text", one) for one in value],
    "files": lambda value, _entry: [short_code(one) for one in value],
    "labels": lambda value, _entry: [", ".join(value)],
    "seals": lambda value, _entry: [short_code(one) for one in value],
}


def _signature(payload: Mapping[str, Any]) -> list[Fact]:
    """A signed statement in words: what, its digest, what the signature means, who, how sure."""
    said = parse(payload["statement"].encode())
    side, role = _said("side", said["side"]), _said("role", said["role"])
    return [
        Fact(LABELS["statement"], [str(WHAT.get(said["what"], said["what"]))]),
        Fact(LABELS["digest"], [short_code(said["digest"])], code=True),
        Fact(_("What it means"), [bare_words(said["intent"])]),
        *(Fact(line.label, [line.value]) for line in decided_lines(said["intent"])),
        Fact(_("Signed by"), [f"{said['name']} ({said['signer']})"]),
        Fact(_("For"), [f"{said['organisation_name']} ({said['organisation']}), {side}, {role}"]),
        Fact(LABELS["assurance"], [_said("assurance", said["assurance"])]),
        Fact(LABELS["fingerprint"], [short_code(payload["fingerprint"])], code=True),
    ]
