"""Builders about signing keys, and of the first step of every act that signs."""

from __future__ import annotations

from parties.models import Key
from parties.own_keys import new_challenge
from parties.prepared import token
from tests.access.builders import BUILDERS, CUSTOMER, SIGNED, SUPPLIER, Case, case, played
from tests.access.stage import Stage
from tests.own_keys import in_register, passkey
from tests.softauth import SoftAuthenticator, unb64u

case("parties:keys", "", SUPPLIER)
case("parties:booth-device", "", CUSTOMER)


def own_key(stage: Stage, who: str, *, confirmed: bool = True) -> Key:
    """A passkey of somebody, confirmed by their deputy."""
    held = passkey(in_register(stage.cast, stage.cast.people[who]))
    if confirmed and held.key.is_pending:
        deputy = stage.cast.people[f"{who.split('_')[0]}_deputy"]
        rows = Key.objects.filter(pk=held.key.pk)
        rows.update(confirmed_at=held.key.created_at, confirmed_by=deputy)
    return held.key


def with_own_key(stage: Stage, page: str) -> Case:
    """The case of a page that signs, with a key of one's own to sign with."""
    made = BUILDERS[page](stage)
    made.data["key"] = own_key(stage, made.who).fingerprint
    return made


@played("parties:enrol-key")
def _enrol(stage: Stage) -> Case:
    soft, challenge = SoftAuthenticator(), new_challenge()
    bound = [str(stage.cast.people[SUPPLIER].pk), "enrol-key", str(stage.register.pk)]
    data = {
        "prepared": token(bound, {"sort": ["passkey"]}, {"challenge": challenge}),
        "credential": soft.create(unb64u(challenge)),
    }
    return Case(who=SUPPLIER, data=data)


BUILDERS["parties:enrol-key-prepare"] = lambda stage: Case(
    who=SUPPLIER, data={"sort": "passkey", **SIGNED}, reads=True
)


@played("parties:confirm-key")
def _confirm_key(stage: Stage) -> Case:
    waiting = own_key(stage, SUPPLIER, confirmed=False)
    return Case(who="supplier_deputy", data={"key": str(waiting.pk), **SIGNED})


@played("parties:revoke-key")
def _revoke_key(stage: Stage) -> Case:
    return Case(who=SUPPLIER, data={"key": str(own_key(stage, SUPPLIER).pk), **SIGNED})


# The first step is asked for by somebody with a key of their own.
for signing in (
    "agreements:revision-sign",
    "shipments:articles-approve",
    "shipments:articles-approve-with-limits",
    "shipments:submissions-sign",
    "shipments:lists-sign",
    "disputes:offers-sign",
):
    BUILDERS[f"{signing}-prepare"] = lambda stage, page=signing: with_own_key(stage, page)
