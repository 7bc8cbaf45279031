"""Lists of evidence: drawn up, signed with one signature, and asked for before lots move on."""

from __future__ import annotations

import hashlib
import html
import json

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from joserfc import jws
from joserfc.errors import BadSignatureError
from joserfc.jwk import ECKey

from agreements import transitions as agreeing
from agreements.models import Draft
from agreements.transitions.signing import to_sign as revision_to_sign
from jobs import queue
from ledger import blobs
from ledger.models import Entry
from method.terms import Terms, terms_bytes
from method.terms.edit import with_item, with_values
from parties.capacity import Capacity
from parties.models import Key, Person, Signature
from shipments import due, transitions
from shipments.lists import unsigned
from shipments.models import FirstArticle, Lot, Submission, SubmissionList
from shipments.transitions import listing
from tests.cast import PASSWORD
from tests.kept import kept
from tests.own_keys import Held, in_register, passkey, prepared
from tests.shipments.test_lots import fresh, kinds, refused
from tests.world import World, make_world, terms


def asking_terms(*occasions: str) -> Terms:
    """The world's terms, by which a lead signs the supplier's evidence on these occasions."""
    made = terms("visual")
    for item in made.shared.evidence.items:
        if item.occasion in occasions:
            made = with_item(made, "evidence", "items", {"id": item.id, "signed_by_lead": True})
    return made


@pytest.fixture
def asked(cast, quick_papers) -> World:
    """A world in which clause 8 asks for the lead's signature on evidence for release."""
    made = asking_terms("release")
    return kept("asked", lambda: make_world(cast, "visual", made), cast)


def judged(world: World, number: str) -> Lot:
    """A lot that the supplier's lead handed in, judged conforming."""
    lot = world.open_lot(number)
    world.gather(world.staff, lot.subject)
    transitions.submit_lot(lot, by=world.supplier)
    queue.drain()
    assert world.last_submission(lot).verdict.outcome == "conforming"
    return fresh(lot)


def drawn_up(world: World, *lots: Lot, by: Capacity | None = None) -> SubmissionList:
    """A list of what was handed in last for these lots, drawn up by the staff."""
    rows = [world.last_submission(lot) for lot in lots]
    return transitions.draw_up_list(world.cast.agreement, by=by or world.staff, submissions=rows)


def at(name: str, world: World, obj: object = None) -> str:
    """An address of the agreement."""
    kwargs = {"dossier": world.cast.agreement.pk} | ({"pk": obj.pk} if obj else {})
    return reverse(f"shipments:{name}", kwargs=kwargs)


def due_of(world: World, who: Person) -> list[tuple[str, str]]:
    """What somebody has to do about lots and first articles: id and words."""
    found = due.due(world.by(who), world.today)
    return [(one.id, one.words) for one in found]


def test_one_signature_lets_several_lots_go(asked):
    lots = [judged(asked, "L-1"), judged(asked, "L-2")]
    for lot in lots:
        assert refused(transitions.release_lot, lot, by=asked.supplier).id == "lead_signature"
    found = drawn_up(asked, *lots)
    before = Signature.objects.count()
    found = transitions.sign_list(found, by=asked.supplier)
    assert Signature.objects.count() == before + 1
    for lot in lots:
        assert transitions.release_lot(lot, by=asked.supplier).status == "released"
    assert kinds(found.subject) == ["signature.made"]


def test_what_is_signed_is_the_canonical_list(asked):
    lots = [judged(asked, "L-1"), judged(asked, "L-2")]
    found = transitions.sign_list(drawn_up(asked, *lots), by=asked.supplier)
    rows = [asked.last_submission(lot) for lot in lots]
    expected = {
        "schema": 1,
        "document": "submissions",
        "dossier": asked.cast.agreement.chain,
        "terms": rows[0].revision.digest,
        "revision": 1,
        "submissions": [
            {
                "submission": one.digest,
                "purpose": "lot",
                "lot": one.lot.number,
                "nth": 1,
                "verdict": one.verdict.digest,
            }
            for one in rows
        ],
    }
    # RFC 8785 for ASCII names and integers: sorted names, no blanks
    data = json.dumps(expected, sort_keys=True, separators=(",", ":")).encode()
    assert blobs.get(asked.cast.agreement.chain, found.digest) == data
    assert found.digest == hashlib.sha256(data).hexdigest()
    assert Entry.objects.get(subject=found.subject).blobs == [found.digest]


def test_the_signature_holds_by_a_jose_library(asked):
    """RFC 7515, appendix F (detached content), ES256, checked by joserfc."""
    found = transitions.sign_list(drawn_up(asked, judged(asked, "L-1")), by=asked.supplier)
    made = Signature.objects.get(subject=found.subject)
    said = json.loads(bytes(made.statement))
    assert (said["what"], said["digest"], said["revision"]) == ("submissions", found.digest, 1)
    held = x509.load_der_x509_certificate(
        bytes(Key.objects.get(fingerprint=made.fingerprint).certificate)
    ).public_key()
    pem = held.public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)
    checked = jws.deserialize_compact(
        made.jws, ECKey.import_key(pem), payload=bytes(made.statement), algorithms=["ES256"]
    )
    assert checked.payload == bytes(made.statement)
    with pytest.raises(BadSignatureError):
        jws.deserialize_compact(
            made.jws, ECKey.import_key(pem), payload=bytes(made.statement) + b" "
        )


def test_a_list_is_its_sides_own_until_it_is_signed(asked, sign_in):
    found = drawn_up(asked, judged(asked, "L-1"))
    pages = {who: sign_in(getattr(asked.cast, who)) for who in ("customer_lead", "auditor")}
    for client in pages.values():
        assert client.get(at("list", asked, found)).status_code == 404
        assert found.digest[:12] not in client.get(at("lists", asked)).text
    transitions.sign_list(found, by=asked.supplier)
    for client in pages.values():
        page = client.get(at("list", asked, found)).text
        assert "signed by Sanna Quarrow" in page
        assert "key held by this service: whoever runs it could sign with it" in page
        assert found.digest[:12] in client.get(at("lists", asked)).text
        assert client.get(at("list-document", asked, found)).content == bytes(found.bytes)
        timeline = reverse("desk:timeline", kwargs={"dossier": asked.cast.agreement.pk})
        assert str(found) in client.get(timeline).text


def test_a_chain_knows_nothing_of_an_unsigned_list(asked):
    lot = judged(asked, "L-1")
    before = Entry.objects.count()
    found = drawn_up(asked, lot)
    transitions.set_list_aside(found, by=asked.staff)
    assert Entry.objects.count() == before
    assert refused(transitions.sign_list, found, by=asked.supplier).id == "wrong_state"
    assert refused(transitions.release_lot, lot, by=asked.supplier).id == "lead_signature"


def test_a_list_is_signed_once_by_a_lead_of_its_own_side(asked):
    found = drawn_up(asked, judged(asked, "L-1"))
    assert refused(transitions.sign_list, found, by=asked.customer).id == "wrong_side"
    assert refused(transitions.set_list_aside, found, by=asked.customer).id == "wrong_side"
    for who in ("supplier_staff", "supplier_deputy", "supplier_observer"):
        by = asked.by(getattr(asked.cast, who))
        assert refused(transitions.sign_list, found, by=by).id == "signing.role", who
        found.refresh_from_db()
        assert found.status == "drawn_up"
    transitions.sign_list(found, by=asked.supplier)
    assert refused(transitions.sign_list, found, by=asked.supplier).id == "wrong_state"
    assert refused(transitions.set_list_aside, found, by=asked.staff).id == "wrong_state"


def test_nothing_is_signed_twice(asked):
    one, two = judged(asked, "L-1"), judged(asked, "L-2")
    both, single = drawn_up(asked, one, two), drawn_up(asked, two)
    transitions.sign_list(single, by=asked.supplier)
    refusal = refused(transitions.sign_list, both, by=asked.supplier)
    assert refusal.id == "signed"
    assert "L-2" in str(refusal)
    assert "L-1" not in str(refusal)
    assert refused(drawn_up, asked, one, two).id == "signed"
    signed = asked.last_submission(two)
    assert refused(transitions.sign_submission, signed, by=asked.supplier).id == "signed"
    transitions.sign_submission(asked.last_submission(one), by=asked.supplier)
    assert refused(drawn_up, asked, one).id == "signed"


def test_refusals_of_a_list(asked, monkeypatch):
    lot, other = judged(asked, "L-1"), judged(asked, "L-2")
    dossier, last = asked.cast.agreement, asked.last_submission(lot)
    draw = transitions.draw_up_list
    assert refused(draw, dossier, by=asked.staff, submissions=[]).id == "how_many"
    elsewhere = asked.cast.capacity(asked.cast.supplier_lead, asked.cast.other)
    assert refused(draw, asked.cast.other, by=elsewhere, submissions=[last]).id == "elsewhere"
    monkeypatch.setattr(listing, "MOST", 1)
    many = [last, asked.last_submission(other)]
    assert refused(draw, dossier, by=asked.staff, submissions=many).id == "how_many"
    assert draw(dossier, by=asked.staff, submissions=[last, last]).submissions.count() == 1
    assert refused(draw, dossier, by=asked.customer, submissions=[last]).id == "wrong_side"


def test_a_list_is_of_one_revision(asked):
    one = judged(asked, "L-1")
    later = asked.sign_terms(asking_terms("release"))
    part = later.document.parts[0].id
    two = transitions.open_lot(
        asked.cast.agreement, by=asked.staff, number="L-2", order="PO-2",
        accepted_on=asked.today, part=part, quantity=10,
    )  # fmt: skip
    assert two.revision == later
    asked.gather(asked.staff, two.subject)
    transitions.submit_lot(two, by=asked.supplier)
    refusal = refused(drawn_up, asked, one, two)
    assert (refusal.id, refusal.field) == ("revisions", "submissions")
    assert drawn_up(asked, two).revision == later


def test_only_what_was_handed_in_last_waits_for_a_signature(asked):
    lot = judged(asked, "L-1")
    first = asked.last_submission(lot)
    transitions.submit_lot(lot, by=asked.supplier)
    queue.drain()
    second = asked.last_submission(lot)
    article = Submission.objects.get(purpose="first_article")
    assert {first, second, article} == set(Submission.objects.all())
    # the article is approved: nobody will ask for it any more
    assert unsigned(asked.supplier.sitter) == [second]
    transitions.sign_list(drawn_up(asked, lot), by=asked.supplier)
    assert unsigned(asked.supplier.sitter) == []
    assert unsigned(asked.customer.sitter) == []


def test_a_list_signed_before_a_correction_does_not_speak_for_it(asked):
    lot = judged(asked, "L-1")
    transitions.sign_list(drawn_up(asked, lot), by=asked.supplier)
    transitions.submit_lot(lot, by=asked.supplier)
    queue.drain()
    assert refused(transitions.release_lot, fresh(lot), by=asked.supplier).id == "lead_signature"


def test_a_first_article_is_approved_when_its_evidence_is_signed_where_asked(cast, quick_papers):
    world = World(cast, "visual")
    world.fill_registers()
    world.sign_terms(asking_terms("first_article"))
    world.enter_standard()
    article = world.article()
    handed_in = transitions.submit_article(article, by=world.supplier)
    queue.drain()
    article.refresh_from_db()
    for approve, limits in (
        (transitions.approve_article, {}),
        (transitions.approve_with_limits, {"quantity": 5}),
    ):
        refusal = refused(approve, article, by=world.customer, seal="S-1", **limits)
        assert refusal.id == "lead_signature"
        article = FirstArticle.objects.get(pk=article.pk)
        assert article.status == "submitted"
    assert ("sign", "Sign the evidence of FA-1, as clause 8 asks") in due_of(
        world, cast.supplier_lead
    )
    made = transitions.draw_up_list(cast.agreement, by=world.staff, submissions=[handed_in])
    assert json.loads(bytes(made.bytes))["submissions"][0]["article"] == "FA-1"
    transitions.sign_list(made, by=world.supplier)
    assert due_of(world, cast.supplier_lead) == []
    assert transitions.approve_article(article, by=world.customer, seal="S-1").status == "approved"


def test_it_is_said_who_is_due(asked):
    judged(asked, "L-1")
    lead = "Sign the evidence of L-1, as clause 8 asks"
    staff = "The evidence of L-1 waits for your quality lead's signature"
    assert due_of(asked, asked.cast.supplier_lead) == [("sign", lead)]
    assert due_of(asked, asked.cast.supplier_staff) == [("lead_signs", staff)]
    assert due_of(asked, asked.cast.customer_lead) == []
    transitions.sign_list(drawn_up(asked, Lot.objects.get()), by=asked.supplier)
    assert due_of(asked, asked.cast.supplier_lead) == [("release", "Release lot L-1")]


def test_the_due_list_asks_as_often_however_many_lots_there_are(asked):
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            due_of(asked, asked.cast.supplier_lead)
        return len(seen)

    none = queries()
    judged(asked, "L-1")
    one = queries()
    judged(asked, "L-2")
    assert none == one == queries()


def test_the_lots_page_shows_what_clause_8_asks_for(asked, sign_in):
    lot = judged(asked, "L-1")
    pages = [sign_in(getattr(asked.cast, who)) for who in ("supplier_staff", "customer_lead")]
    for client in pages:
        page = client.get(lot.get_absolute_url()).text
        assert "due: the supplier&#x27;s quality lead" in page
        assert at("lists", asked) in page
    transitions.sign_list(drawn_up(asked, lot), by=asked.supplier)
    for client in pages:
        page = client.get(lot.get_absolute_url()).text
        assert "signed by Sanna Quarrow" in page
        assert "due: " not in page
    page = pages[1].get(asked.last_submission(lot).get_absolute_url()).text
    assert "key held by this service: whoever runs it could sign with it" in page


def test_where_nothing_is_asked_for_the_pages_say_so(world, sign_in):
    lot = world.judged_lot()
    page = sign_in(world.cast.supplier_lead).get(lot.get_absolute_url()).text
    assert "not asked for" in page
    assert "Clause 8 asks for this signature first" not in page


def test_the_whole_way_through_the_pages(asked, sign_in):
    lots = [judged(asked, "L-1"), judged(asked, "L-2")]
    staff, lead = sign_in(asked.cast.supplier_staff), sign_in(asked.cast.supplier_lead)
    assert staff.get(at("lists", asked)).text.count("due: the supplier") == 2
    address = at("draw-up-list", asked)
    page = staff.get(address).text
    assert page.count('type="checkbox"') == page.count("checked") == 2
    empty = staff.post(address, {})
    assert (empty.status_code, "Choose at least one." in empty.text) == (422, True)
    foreign = staff.post(address, {"submissions": [str(lots[0].pk)]})
    assert foreign.status_code == 422
    chosen = [str(asked.last_submission(lot).pk) for lot in lots]
    answer = staff.post(address, {"submissions": chosen})
    found = SubmissionList.objects.get()
    assert answer["Location"] == at("list", asked, found)
    assert at("lists-sign", asked, found) not in staff.get(answer["Location"]).text
    assert at("lists-sign", asked, found) in lead.get(answer["Location"]).text
    page = lead.get(at("lists-sign", asked, found)).text
    for words in (found.digest, "L-1", "L-2", "I hand in the evidence on this list"):
        assert words in page
    wrong = lead.post(at("lists-sign", asked, found), {"password": "not it"})
    assert wrong.status_code == 422
    lead.post(at("lists-sign", asked, found), {"password": PASSWORD})
    found.refresh_from_db()
    assert found.status == "signed"


def sign_terms_with_own_keys(world: World) -> dict[str, Held]:
    """Terms by which only keys of one's own sign, signed with such; each lead's key by side."""
    own = with_values(asking_terms("release"), "changes", {"signing_keys": "own_key"})
    dossier, leads = world.cast.agreement, (world.customer, world.supplier)
    draft = Draft.objects.create(dossier=dossier, side_only="customer", terms=terms_bytes(own))
    revision = agreeing.propose(draft, by=world.customer)
    revision = agreeing.agree(revision, by=world.supplier, digest=revision.digest)
    held = {by.side: passkey(in_register(world.cast, by.person)) for by in leads}
    for by in leads:
        wanted = revision_to_sign(revision, by=by, digest=revision.digest)
        proof = held[by.side].proof(prepared(by, held[by.side], wanted))
        revision = agreeing.sign(revision, by=by, digest=revision.digest, proof=proof)
    return held


def test_where_own_keys_are_asked_for_a_list_is_signed_by_one(cast, quick_papers, sign_in):
    world = World(cast, "visual")
    world.fill_registers()
    held = sign_terms_with_own_keys(world)["supplier"]
    world.enter_standard()
    lot = world.open_lot()
    world.gather(world.staff, lot.subject)
    made = transitions.submit_lot(lot, by=world.supplier)
    found = transitions.draw_up_list(cast.agreement, by=world.staff, submissions=[made])
    assert refused(transitions.sign_list, found, by=world.supplier).id == "signing.own_key"
    found.refresh_from_db()
    wanted = listing.to_sign(found, by=world.supplier)
    proof = held.proof(prepared(world.supplier, held, wanted))
    transitions.sign_list(found, by=world.supplier, proof=proof)
    signature = Signature.objects.get(subject=found.subject)
    assert (signature.assurance, signature.digest) == ("passkey", found.digest)
    page = sign_in(cast.customer_lead).get(at("list", world, found)).text
    assert signature.assurance_words() in html.unescape(page)
