"""First articles: prepared, submitted, decided, corrected; the approved one is the master."""

from __future__ import annotations

import datetime as dt

import pytest
from django.db import IntegrityError
from django.urls import reverse

from jobs import queue
from ledger.models import Entry
from ledger.verify import verify
from ledger.verify.approvals import said_with
from parties import statement_words
from parties.keys import installation
from parties.models import Reference, Signature
from parties.models.keys import ASSURANCES
from parties.refusal import Refusal
from parties.signing import write_record
from shipments import transitions
from shipments.models import FirstArticle
from shipments.transitions import articles
from shipments.transitions.articles import APPROVES, APPROVES_WITH_LIMITS
from tests.cast import PASSWORD, Cast
from tests.kept import kept
from tests.world import World, curve


@pytest.fixture
def early(cast, quick_papers) -> World:
    """Terms signed and registers filled; no first article yet."""
    return kept("early", lambda: begun(cast), cast)


def begun(cast: Cast) -> World:
    """Played that far."""
    world = World(cast)
    world.fill_registers()
    world.sign_terms()
    world.enter_standard()
    return world


def refused(call, *args, **kwargs) -> Refusal:
    before = Entry.objects.count()
    with pytest.raises(Refusal) as caught:
        call(*args, **kwargs)
    assert str(caught.value)
    assert Entry.objects.count() == before
    return caught.value


def fresh(article: FirstArticle) -> FirstArticle:
    return FirstArticle.objects.get(pk=article.pk)


def at(name: str, obj) -> str:
    return reverse(f"shipments:{name}", kwargs={"dossier": obj.dossier_id, "pk": obj.pk})


def test_without_signed_terms_nothing_is_prepared(cast):
    world = World(cast)
    refusal = refused(
        transitions.prepare_article,
        cast.agreement,
        by=world.staff,
        number="FA-1",
        part="prt-x",
        quantity=1,
    )
    assert refusal.id == "no_terms"


def test_the_other_side_sees_a_first_article_once_it_is_submitted(early, sign_in):
    article = early.article()
    assert not Entry.objects.filter(subject=article.subject).exists()
    for who, status in (("supplier_staff", 200), ("customer_lead", 404), ("auditor", 404)):
        client = sign_in(getattr(early.cast, who))
        assert client.get(at("article", article)).status_code == status, who
    transitions.submit_article(article, by=early.staff, note="Please look at the edge.")
    for who in ("customer_lead", "customer_colleague", "auditor"):
        page = sign_in(getattr(early.cast, who)).get(at("article", article))
        assert page.status_code == 200, who
    assert fresh(article).status == "submitted"


def test_the_approved_article_is_the_signed_master_with_its_reading(early):
    article = early.approved_article()
    master = Reference.objects.filter(name__contains="FA-1").get()
    submission = article.submissions.get()
    assert (master.kind, master.seal, master.part) == ("master", "S-1", "H-1")
    assert master.reading and master.expires_on
    signature = Signature.objects.get(what="article")
    assert (signature.subject, signature.digest) == (article.subject, submission.digest)
    kinds = Entry.objects.filter(subject=article.subject).order_by("number")
    assert [entry.kind for entry in kinds] == [
        "article.submitted", "article.approved", "signature.made",
    ]  # fmt: skip


def test_its_page_says_which_pieces_are_sealed_and_how_long_they_hold(early, sign_in):
    article = early.approved_article()
    master = Reference.objects.get(name__contains="FA-1")
    for who in (early.cast.customer_lead, early.cast.supplier_lead):
        page = sign_in(who).get(article.get_absolute_url()).content.decode()
        assert "seal numbers S-1" in page and f"{master.expires_on:%Y-%m-%d}" in page
        assert master.get_absolute_url() in page


def test_without_an_instrument_it_is_a_master_all_the_same(seen):
    master = Reference.objects.get(name__contains="FA-1")
    assert (master.kind, master.reading) == ("master", "")


def test_it_is_returned_corrected_and_submitted_again(early):
    article = early.submitted_article()
    transitions.return_article(article, by=early.customer, note="Too dark at the rim.")
    assert fresh(article).status == "to_be_corrected"
    early.measure(early.staff, article.subject, [("4", curve(0.001))])
    second = transitions.submit_article(article, by=early.staff)
    assert second.nth == 2
    queue.drain()
    assert transitions.approve_article(fresh(article), by=early.customer).status == "approved"


def test_limits_are_named(early):
    article = early.submitted_article()
    limited = transitions.approve_with_limits
    refusal = refused(limited, article, by=early.customer)
    assert (refusal.id, refusal.field) == ("no_limit", "quantity")
    until = early.today + dt.timedelta(days=30)
    note = 'For the "start", [rim] only.\nThen again.'
    told = {"note": note, "seal": "S-1", "expires_on": early.today + dt.timedelta(days=90)}
    made = limited(article, by=early.customer, quantity=500, until=until, **told)
    assert (made.status, made.limit_quantity, made.limit_until) == (
        "approved_with_limits", 500, until,
    )  # fmt: skip
    entry = Entry.objects.get(kind="article.approved-with-limits")
    assert entry.payload["until"] == until.isoformat()
    # The signature itself is over all of it.
    intent = Signature.objects.get(what="article").intent
    assert intent == (
        f"{APPROVES_WITH_LIMITS} [at most 500 pieces, until {until}, "
        f'seal numbers "S-1", the master expires on {told["expires_on"]}, '
        'remark "For the \\"start\\", [rim] only.\\nThen again."]'
    )
    words = {line.label: line.value for line in statement_words.intent_lines(intent)}
    assert words["Remark"] == note
    assert (words["Seal numbers of the sealed pair"], words["Pieces at most"]) == ("S-1", "500")


def test_the_day_on_which_the_master_expires_is_signed_where_none_was_named(early):
    early.approved_article()
    master = Reference.objects.get(name__contains="FA-1")
    assert Entry.objects.get(kind="article.approved").payload["expires_on"] == str(
        master.expires_on
    )
    assert Signature.objects.get(what="article").intent == (
        f'{APPROVES} [seal numbers "S-1", the master expires on {master.expires_on}]'
    )


@pytest.mark.parametrize("changed", [{"seal": "S-2"}, {"note": "Other."}, {"expires_on": None}])
def test_an_approval_entered_otherwise_than_it_is_signed_is_refused(
    early, changed, monkeypatch, tmp_path
):
    """A service that enters another seal, remark or day than the lead signed is found out."""
    article = early.submitted_article()
    told = articles.Decision.payload.fget
    monkeypatch.setattr(articles.Decision, "payload", property(lambda one: told(one) | changed))
    honest = property(lambda one: said_with(APPROVES, told(one)))
    monkeypatch.setattr(articles.Decision, "intent", honest)
    transitions.approve_article(article, by=early.customer, seal="S-1", note="Fine.")
    with (tmp_path / "record.zip").open("wb") as out:
        write_record(early.cast.agreement.chain, out)
    report = verify(tmp_path / "record.zip", installation().fingerprint)
    assert [one.id for one in report.findings] == ["statement.intent"]


def decisions(world):
    return [
        ("submit_article", world.staff, {}),
        ("approve_article", world.customer, {}),
        ("approve_with_limits", world.customer, {"quantity": 1}),
        ("return_article", world.customer, {"note": "x"}),
    ]


@pytest.mark.parametrize("name", ["submit", "approve_article", "approve_with", "return"])
def test_an_act_of_the_other_side_is_refused(early, name):
    article = early.submitted_article()
    for act, by, values in decisions(early):
        if act.startswith(name):
            wrong = early.customer if by.side == "supplier" else early.supplier
            do = getattr(transitions, act)
            assert refused(do, article, by=wrong, **values).id == "wrong_side"
            auditor = early.by(early.cast.auditor)
            assert refused(do, article, by=auditor, **values).id == "wrong_side"
    assert fresh(article).status == "submitted"


@pytest.mark.parametrize("who", ["customer_colleague", "customer_observer"])
def test_only_the_lead_approves(early, who):
    article = early.submitted_article()
    by = early.by(getattr(early.cast, who))
    refusal = refused(transitions.approve_article, article, by=by)
    assert refusal.id == "signing.role"
    assert fresh(article).status == "submitted"
    assert not Reference.objects.filter(name__contains="FA-1").exists()


@pytest.mark.parametrize("state", ["preparing", "approved", "approved_with_limits",
                                   "to_be_corrected"])  # fmt: skip
def test_what_is_not_submitted_is_not_decided(early, state):
    article = early.submitted_article()
    FirstArticle.objects.filter(pk=article.pk).update(status=state)
    for act, by, values in decisions(early)[1:]:
        refusal = refused(getattr(transitions, act), fresh(article), by=by, **values)
        assert refusal.id == "wrong_state", act


def test_nothing_is_decided_before_anything_was_handed_in(early):
    article = early.article()
    for act, by, values in decisions(early)[1:]:
        assert refused(getattr(transitions, act), article, by=by, **values)
    assert fresh(article).status == "preparing"


def test_it_is_submitted_once_and_with_evidence(early):
    empty = transitions.prepare_article(
        early.cast.agreement, by=early.staff, number="FA-9", part=early.part(), quantity=3
    )
    assert refused(transitions.submit_article, empty, by=early.staff).id == "no_evidence"
    article = early.submitted_article()
    assert refused(transitions.submit_article, article, by=early.staff).id == "wrong_state"
    taken = refused(early.article)
    assert (taken.id, taken.field) == ("number_taken", "number")


def test_a_lead_approves_what_was_seen_not_what_came_since(early, sign_in):
    """The page was opened on the first submission; a second one came before the button."""
    article = early.submitted_article()
    client = sign_in(early.cast.customer_lead)
    page = client.get(at("articles-approve", article))
    seen = page.context["form"].initial["digest"]
    assert seen and seen == article.submissions.get().digest
    transitions.return_article(article, by=early.customer, note="x")
    early.measure(early.staff, article.subject, [("4", curve(0.2))])
    transitions.submit_article(article, by=early.staff)
    queue.drain()
    answer = client.post(at("articles-approve", article), {"digest": seen, "password": PASSWORD})
    assert answer.status_code == 422 and fresh(article).status == "submitted"
    refusal = refused(transitions.approve_article, fresh(article), by=early.customer, digest=seen)
    assert refusal.id == "stale"
    now = client.get(at("articles-approve", article)).context["form"].initial["digest"]
    sent = {"digest": now, "password": PASSWORD}
    assert client.post(at("articles-approve", article), sent).status_code == 302
    assert fresh(article).status == "approved"


def test_approving_asks_for_the_password(early, sign_in):
    article = early.submitted_article()
    client = sign_in(early.cast.customer_lead)
    for password in ("", "wrong"):
        answer = client.post(at("articles-approve", article), {"password": password})
        assert answer.status_code == 422
    assert fresh(article).status == "submitted"
    assert (
        sign_in(early.cast.customer_colleague).get(at("articles-approve", article)).status_code
        == 403
    )


@pytest.mark.parametrize(
    ("act", "intent"), [("approve", APPROVES), ("approve-with-limits", APPROVES_WITH_LIMITS)]
)
def test_what_an_approval_signs_stands_on_its_page(world, sign_in, act, intent):
    """What is signed, its digest, what the signature means, who could have used the key."""
    article = world.submitted_article("FA-9")
    submission = article.submissions.get()
    page = sign_in(world.cast.customer_lead).get(at(f"articles-{act}", article)).content.decode()
    for said in (str(submission), submission.digest, intent, str(ASSURANCES["service-held"])):
        assert said in page


def test_only_a_taken_number_is_called_taken(world):
    """Another rule of the table that does not hold is our fault and is not put on the number."""
    values = {"by": world.staff, "part": world.part()}
    with pytest.raises(IntegrityError):
        transitions.prepare_article(world.cast.agreement, number="FA-8", quantity=-1, **values)
    with pytest.raises(IntegrityError):
        world.open_lot("L-8", quantity=-1)
