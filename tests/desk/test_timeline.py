"""The chain on pages: every kind has words; the auditor reads all of it and changes nothing."""

from __future__ import annotations

import datetime as dt

import pytest
from django.urls import reverse
from django.utils.html import escape

from desk.about import PEOPLE
from desk.acts import ACTS as DESK
from desk.filters import A_PAGE
from desk.timeline import WORDS
from disputes.acts import ACTS as DISPUTES
from disputes.transitions import answer, offer_remedy, post
from evidence.acts import ACTS as EVIDENCE
from ledger import chain, clock
from ledger.kinds import Kind
from ledger.models import Entry
from parties.acts import Act
from parties.models import Sitter
from parties.transitions import limit_seat, unseat
from shipments.acts import ACTS as SHIPMENTS
from shipments.models import FirstArticle
from tests.cast import PASSWORD

# What an auditor may do: take records out and compare checkpoints, which changes nothing here.
TAKING = {"make-record", "compare-checkpoint", "part-record"}
SPACES = {"desk": DESK, "disputes": DISPUTES, "evidence": EVIDENCE, "shipments": SHIPMENTS}


def page(name: str, dossier, **more) -> str:
    return reverse(f"desk:{name}", kwargs={"dossier": dossier.pk, **more})


def test_every_kind_of_entry_has_words():
    assert set(WORDS) == set(Kind)
    assert len({str(words) for words in WORDS.values()}) == len(WORDS)


def test_every_entry_is_shown_with_its_content(world, sign_in):
    world.settled()
    dossier = world.cast.agreement
    client = sign_in(world.cast.auditor)
    entries = list(chain.entries(dossier.chain).order_by("-number"))
    assert len(entries) > A_PAGE / 2
    shown = client.get(page("timeline", dossier)).context["rows"]
    assert [row.entry.number for row in shown] == [e.number for e in entries[:A_PAGE]]
    for entry in entries:
        answer = client.get(page("entry", dossier, number=entry.number))
        text = answer.content.decode()
        assert entry.hash in text and entry.previous in text
        assert escape(str(WORDS[entry.kind])) in text
        for fact in answer.context["facts"]:
            assert fact.lines and escape(str(fact.label)) in text
            assert all(escape(line.partition("\n")[0]) in text for line in fact.lines)
    assert client.get(page("entry", dossier, number=len(entries) + 1)).status_code == 404


def test_long_content_is_cut_and_values_are_escaped(world, sign_in):
    dispute = world.rejected_lot()
    post(dispute, by=world.supplier, text="<script>alert(1)</script>" + "long " * 300)
    entry = Entry.objects.get(kind="post.made")
    text = sign_in(world.cast.auditor).get(
        page("entry", world.cast.agreement, number=entry.number)
    ).content.decode()  # fmt: skip
    assert "<script>alert" not in text and "&lt;script&gt;" in text
    content, _heading, proof = text.partition("Prove it yourself")
    assert "long " * 100 not in content and " …" in content
    assert "long " * 300 in proof  # what is hashed stands there whole


def test_entries_about_people_keys_and_seats_say_whom_they_are_about(world, sign_in):
    dossier, cast = world.cast.agreement, world.cast
    day = clock.now().date() + dt.timedelta(days=30)
    for until in (day, None):
        limit_seat(dossier.seats.get(side="auditor"), by=world.customer, until=until)
    seated = Sitter.objects.get(dossier=dossier, person=cast.customer_colleague)
    unseat(seated, by=world.customer)
    client, before = sign_in(cast.auditor), None
    said: dict[str, list[str]] = {}
    while before != 0:
        shown = client.get(page("timeline", dossier), {"before": before} if before else {})
        for row in shown.context["rows"]:
            said.setdefault(row.entry.kind, []).append(row.about)
        before = shown.context["page"].earlier or 0
    key = Entry.objects.filter(chain=dossier.chain, kind="key.certified").last()
    assert f"{key.payload['person']}, key {key.payload['fingerprint'][:16]}…" in said[key.kind]
    code = dossier.seats.get(side="auditor").code
    assert said["seat.limited"] == [
        f"seat of {code} (auditor): no end", f"seat of {code} (auditor): until {day}",
    ]  # fmt: skip
    assert said["sitter.unseated"][0].startswith(seated.code)
    assert "revision 1" in said["signature.made"]
    for kind in set(said) & {*PEOPLE, "seat.taken", "signature.made"}:
        assert all(said[kind]), kind


@pytest.mark.parametrize("who", ["customer_lead", "supplier_staff", "auditor"])
def test_the_sides_and_the_auditor_read_the_timeline(world, sign_in, who):
    client = sign_in(getattr(world.cast, who))
    for name in ("timeline", "record"):
        assert client.get(page(name, world.cast.agreement)).status_code == 200


@pytest.mark.parametrize(("who", "status"), [("stranger", 404), ("supplier_observer", 403)])
def test_others_do_not(world, sign_in, who, status):
    client = sign_in(getattr(world.cast, who))
    for name in ("timeline", "record"):
        assert client.get(page(name, world.cast.agreement)).status_code == status
    assert client.get(page("entry", world.cast.agreement, number=1)).status_code == status


def test_a_register_has_no_timeline(world, sign_in):
    register = world.cast.registers["supp"]
    assert sign_in(world.cast.supplier_lead).get(page("timeline", register)).status_code == 404


def acts() -> list[tuple[str, Act]]:
    """Every act of the four apps with its URL name."""
    return [(space, act) for space, found in SPACES.items() for act in found]


def objects(world) -> dict[str, object]:
    """One object for each noun, all of them shared."""
    dispute = world.rejected_lot()
    answer(dispute, by=world.staff, text="We look.", contained={})
    offer = offer_remedy(
        dispute, by=world.supplier, remedy="replace", text="x", pieces={"returned": 100},
        costs="supplier",
    )  # fmt: skip
    return {
        "lots": dispute.lot,
        "articles": FirstArticle.objects.get(dossier=world.cast.agreement),
        "submissions": dispute.rejection,
        "disputes": dispute,
        "posts": dispute.posts.get(),
        "offers": offer,
    }


def test_the_auditor_can_do_nothing_but_ask_for_the_record(world, sign_in):
    found = objects(world)
    client = sign_in(world.cast.auditor)
    of_agreement = Entry.objects.filter(chain=world.cast.agreement.chain)  # not the reading log's
    before = of_agreement.count()
    tried = 0
    for space, act in acts():
        if act.model is not None and act.noun not in found:
            continue  # evidence: one side's own, 404 (tests/evidence)
        kwargs = {"dossier": world.cast.agreement.pk}
        kwargs |= {"pk": found[act.noun].pk} if act.model else {}
        url = reverse(f"{space}:{act.url_name}", kwargs=kwargs)
        wanted = 200 if act.name in TAKING else 403
        assert client.get(url).status_code == wanted, url
        if wanted == 403:
            assert client.post(url, {"password": PASSWORD}).status_code == 403, url
            assert client.post(f"/api{url}", {"password": PASSWORD}).status_code == 403, url
            tried += 1
    assert tried >= 20
    assert of_agreement.count() == before


def test_the_auditor_is_shown_no_act(world, sign_in):
    client = sign_in(world.cast.auditor)
    for noun, obj in objects(world).items():
        text = client.get(obj.get_absolute_url()).content.decode()
        for act_noun, act in ((act.noun, act) for _space, act in acts()):
            if act_noun == noun and act.name not in TAKING:
                assert f"/{noun}/{obj.pk}/{act.name}/" not in text, (noun, act.name)
