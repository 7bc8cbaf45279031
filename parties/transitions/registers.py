"""Registers grow: a thing is entered, then superseded by newer rows. No row is edited."""

from __future__ import annotations

import datetime as dt
import uuid
from typing import Any, TypeVar

from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.db import IntegrityError, models, transaction
from django.utils.translation import gettext_lazy as _

from ledger import blobs, chain, clock
from ledger.kinds import Kind
from method.days import months_after
from parties.access import LEADS, STAFF
from parties.capacity import Capacity
from parties.models import Chip, Dossier, Observer, Reference, RegisterRow
from parties.refusal import Refusal
from parties.transitions.seats import open_dossier_chain
from parties.transitions.shared import check_shared

RowT = TypeVar("RowT", bound=RegisterRow)
REFERENCE_LIFE_MONTHS = 12  # common practice, no published source


def enter(model: type[RowT], *, by: Capacity, **facts: Any) -> RowT:
    """The first row of a new thing in the dossier of `by` (a register; references and chips also
    in an agreement, where they are shared). `facts` are the model's columns, `name` and
    `valid_from` (default: today) among them."""
    _may_write(model, by)
    with transaction.atomic():
        return _write(model, by, key=uuid.uuid4(), version=1, supersedes=None, facts=facts)


def supersede(row: RowT, *, by: Capacity, **facts: Any) -> RowT:
    """A new row for the same thing: what is not in `facts` is taken over from `row`.

    Refused when `row` is not the last one any more: somebody else wrote in the meantime.
    """
    _may_write(type(row), by)
    if row.dossier_id != by.dossier.pk:
        raise Refusal("register.foreign", _("This row belongs to another dossier."))
    kept = {name: getattr(row, name) for name in _columns(type(row))}
    facts = {"valid_from": clock.now().date(), **facts}
    try:
        with transaction.atomic():
            return _write(
                type(row),
                by,
                key=row.key,
                version=row.version + 1,
                supersedes=row,
                facts={**kept, **facts},
            )
    except IntegrityError:
        raise Refusal(
            "register.superseded",
            _("A newer row was entered in the meantime. Look at it, then enter yours again."),
        ) from None


def add_chips(pack: Reference, *, by: Capacity, labels: list[str]) -> Reference:
    """Enter the chips of a pack by the labels printed on them."""
    if pack.kind != Reference.Kind.CHIP_PACK:
        raise Refusal("chip.no_pack", _("Chips belong to a pack of tear-off chips."))
    known = set(
        Chip.objects.filter(dossier=pack.dossier, reference_key=pack.key).values_list(
            "name", flat=True
        )
    )
    twice = sorted(known.intersection(labels))
    if twice or len(set(labels)) < len(labels):
        raise Refusal(
            "chip.twice",
            _("A label stands in this pack already: %(label)s."),
            field="labels",
            label=twice[0] if twice else _("repeated in your list"),
        )
    with transaction.atomic():
        for label in labels:
            enter(Chip, by=by, name=label, reference_key=pack.key)
        payload = {"name": pack.name, "labels": labels}
        _record_chips(f"reference:{pack.key.hex}", by, Kind.CHIP_ENTERED, payload)
    return pack


def use_chip(chip: Chip, *, by: Capacity, used_on: dt.date, used_for: str = "") -> Chip:
    """A chip is torn off and used: once, and for good."""
    if chip.used_on is not None:
        raise Refusal("chip.used", _("This chip was used already. Take an unused one."))
    with transaction.atomic():
        used = supersede(chip, by=by, used_on=used_on, used_for=used_for, valid_from=used_on)
        payload = {"name": chip.name, "on": used_on.isoformat(), "note": used_for}
        _record_chips(f"chip:{chip.key.hex}", by, Kind.CHIP_USED, payload)
    return used


def _write(
    model: type[RowT],
    by: Capacity,
    *,
    key: uuid.UUID,
    version: int,
    supersedes: RowT | None,
    facts: dict[str, Any],
) -> RowT:
    facts = {"valid_from": clock.now().date(), **facts}
    if "scan" in facts and isinstance(facts["scan"], UploadedFile):
        facts["scan"], facts["scan_name"] = _keep(by.dossier, facts["scan"])
    row = model(
        dossier=by.dossier,
        side_only="own" if by.dossier.purpose == Dossier.Purpose.REGISTER else "",
        key=key,
        version=version,
        supersedes=supersedes,
        recorded_by=by.actor().person,
        **facts,
    )
    # Facts from a script get the same checks as a form's, and their own types.
    try:
        row.clean_fields(exclude=["dossier", "supersedes", "person"])
    except ValidationError as problem:
        raise Refusal("register.facts", "%(what)s", what=_in_words(row, problem)) from None
    if isinstance(row, Reference):
        _expiry(row)
        _stored(row)
        check_shared(row, by=by, supersedes=supersedes)  # type: ignore[arg-type]
    row.save(force_insert=True)
    if isinstance(row, Reference) and by.dossier.purpose == Dossier.Purpose.AGREEMENT:
        _record_reference(row, by)
    return row


def _in_words(row: RegisterRow, problem: ValidationError) -> str:
    """Each wrong fact by its label, with what is wrong."""
    return " ".join(
        f"{row._meta.get_field(name).verbose_name}: {' '.join(said)}"
        for name, said in problem.message_dict.items()
    )


def _columns(model: type[RegisterRow]) -> list[str]:
    """What a new row takes over: everything that says something about the thing."""
    own = {"person", "master_key", "reference_key", "scan", "other_lights", "name", "retired"}
    return [
        field.name
        for field in model._meta.concrete_fields
        if field.name in own or field.name in model.facts
    ]


def _may_write(model: type[RegisterRow], by: Capacity) -> None:
    """Observers by the firm's lead only; the rest by staff; agreements hold references alone."""
    here = by.dossier.purpose == Dossier.Purpose.REGISTER
    allowed = here or issubclass(model, (Reference, Chip))
    if not allowed or by.role not in (LEADS if model is Observer else STAFF):
        raise Refusal("register.may_not", _("You cannot enter this here: ask your quality lead."))


def _expiry(row: Reference) -> None:
    """Without a date a reference expires twelve months after it was opened or issued."""
    start = row.opened_on or row.issued_on
    if row.expires_on is None and start is not None:
        row.expires_on = months_after(start, REFERENCE_LIFE_MONTHS)


def _stored(row: Reference) -> None:
    """A reading that a reference names is stored in the dossier's chain."""
    try:
        if row.reading:
            blobs.get(row.dossier.chain, row.reading)
    except blobs.BlobError:
        raise Refusal(
            "reference.reading", _("The stored reading is not among this dossier's files.")
        ) from None


def _keep(dossier: Dossier, upload: UploadedFile) -> tuple[str, str]:
    """Store a scan among the register's blobs; the register's chain is opened for it."""
    chain.open_chain(dossier.chain)
    data = b"".join(upload.chunks())
    name = "".join(c for c in upload.name or "" if c.isprintable())
    return blobs.put(dossier.chain, data, upload.content_type or ""), name[-120:]


def _record_reference(row: Reference, by: Capacity) -> None:
    """A reference in an agreement is shared: entering it is a shared act."""
    open_dossier_chain(row.dossier, by)
    chain.append(
        row.dossier.chain,
        by=by.actor(),
        kind=Kind.REFERENCE_ENTERED,
        subject=f"reference:{row.key.hex}:{row.version}",
        act=chain.new_act(),
        payload={"name": row.name, "kind": row.kind, "facts": _public(row)},
        blobs=[row.reading] if row.reading else [],
    )


def _record_chips(subject: str, by: Capacity, kind: Kind, payload: dict[str, Any]) -> None:
    """Chips in an agreement are shared as their pack is; those of a register are the firm's own."""
    if by.dossier.purpose != Dossier.Purpose.AGREEMENT or payload.get("labels") == []:
        return
    open_dossier_chain(by.dossier, by)
    act, actor = chain.new_act(), by.actor()
    chain.append(by.dossier.chain, by=actor, kind=kind, subject=subject, act=act, payload=payload)


def _public(row: Reference) -> dict[str, str]:
    """The known facts as text, as the chain keeps them."""
    found = {}
    for name in (*row.facts, "valid_from", "retired"):
        value = getattr(row, name)
        if value in (None, "", False, []) or name == "kind":
            continue
        field = row._meta.get_field(name)
        if isinstance(field, models.DecimalField):
            found[name] = format(value.normalize(), "f")
        elif isinstance(value, list):
            found[name] = ", ".join(value)
        else:
            found[name] = str(value)
    if row.master_key:
        found["master"] = row.master_key.hex
    return found
