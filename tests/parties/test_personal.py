"""Names behind codes, and their erasure: by whom, what goes, what stays. Invented people."""

from __future__ import annotations

import io
import zipfile

import pytest
from django.db import transaction
from django.urls import reverse

from desk.records import ask_for_record, path_of
from jobs import mail, queue
from jobs.models import Job, Mail
from ledger import chain, clock, erasure, selfcheck
from ledger.kinds import Kind
from ledger.models import Entry, PersonalKey
from ledger.verify import verify
from parties.codes import code_for
from parties.keys import installation, key_of
from parties.models import Invitation, Key, Membership, Observer, Person, Sitter
from parties.personal import traces_of
from parties.refusal import Refusal
from parties.signing import certify, write_record
from parties.transitions import (
    enter,
    invite,
    join,
    open_dossier_chain,
    remove_member,
    seat_person,
)
from parties.transitions.personal import erase_person, name_person, nameable
from tests.cast import PASSWORD
from tests.own_keys import browser_key, in_register

TEO = "Teo Brandt"  # the supplier's staff


@pytest.fixture
def admin(cast):
    """The supplier's administrator, in the firm's register."""
    return cast.capacity(cast.supplier_admin, cast.registers["supp"])


@pytest.fixture
def lead(cast):
    """The supplier's lead, in the agreement."""
    return cast.capacity(cast.supplier_lead)


def code_of(cast, who, dossier=None) -> str:
    """Somebody's code in the agreement."""
    return Sitter.objects.get(dossier=dossier or cast.agreement, person=who).code


def let_go(cast, who, admin):
    """They leave the firm and all its seats."""
    own = Membership.objects.get(person=who, organisation=cast.firms["supp"])
    remove_member(own, by=admin)
    return f"person-{who.pk}"


def named(cast, lead) -> Entry:
    """The entry with the staff's name."""
    name_person(cast.agreement, by=lead, code=code_of(cast, cast.supplier_staff))
    return Entry.objects.get(chain=cast.agreement.chain, kind=Kind.PERSON_NAMED)


def record(dossier) -> bytes:
    """The signed record of an agreement as of now."""
    out = io.BytesIO()
    write_record(dossier.chain, out)
    return out.getvalue()


def verified(data: bytes, tmp_path) -> int:
    """The verifier's exit status."""
    path = tmp_path / "record.zip"
    path.write_bytes(data)
    return verify(path, installation().fingerprint).exit_code


def text(page) -> str:
    """The page's bytes as text."""
    return page.content.decode()


def test_no_name_of_staff_enters_by_itself(cast, lead):
    """Whatever a chain begins with: people who do not sign are codes in it."""
    from parties.transitions import open_dossier_chain

    open_dossier_chain(cast.agreement, lead)
    member = Membership.objects.get(person=cast.supplier_staff)
    seat_person(lead.sitter.seat, by=lead, member=member, role="reader")
    with zipfile.ZipFile(io.BytesIO(record(cast.agreement))) as box:
        whole = b"".join(box.read(name) for name in box.namelist())
    for one in ("supplier_staff", "supplier_observer", "customer_colleague"):
        assert cast.people[one].name.encode() not in whole
    assert not PersonalKey.objects.exists()


def test_a_lead_names_a_code_of_the_own_side(cast, lead, tmp_path):
    """Readable in the record by everybody; erasable; once."""
    entry = named(cast, lead)
    code = code_of(cast, cast.supplier_staff)
    assert entry.personal == code and entry.payload == {"person": code, "name": TEO}
    assert TEO.encode() in record(cast.agreement)
    assert verified(record(cast.agreement), tmp_path) == 0
    assert code not in nameable(lead)
    with pytest.raises(Refusal) as refused:
        name_person(cast.agreement, by=lead, code=code)
    assert refused.value.id == "personal.not_nameable"


def test_a_new_name_can_be_entered_beside_the_old_one(cast, lead):
    """Somebody married: both entries stand, both erasable."""
    named(cast, lead)
    Person.objects.filter(pk=cast.supplier_staff.pk).update(name="Teo Brandt-Neu")
    name_person(cast.agreement, by=lead, code=code_of(cast, cast.supplier_staff))
    rows = Entry.objects.filter(kind=Kind.PERSON_NAMED).order_by("number")
    assert [one.payload["name"] for one in rows] == [TEO, "Teo Brandt-Neu"]


def test_nobody_names_the_other_side(cast, lead):
    """Its codes are not among the choices and are refused; an auditor names nobody."""
    theirs = code_of(cast, cast.customer_colleague)
    assert theirs not in nameable(lead)
    with pytest.raises(Refusal):
        name_person(cast.agreement, by=lead, code=theirs)
    for who in (cast.supplier_staff, cast.auditor):
        with pytest.raises(Refusal) as refused:
            name_person(cast.agreement, by=cast.capacity(who), code=theirs)
        assert refused.value.id == "personal.lead"


def test_an_observer_without_login_is_named_by_the_code_it_judges_under(cast, lead):
    """The name of the own register, the code of this agreement."""
    by = cast.capacity(cast.supplier_lead, cast.registers["supp"])
    observer = enter(Observer, by=by, name="Uma Example")
    code = code_for(cast.agreement, f"observer:{observer.key}", "B")
    assert nameable(lead)[code] == "Uma Example"
    customer = cast.capacity(cast.customer_lead)
    assert code not in nameable(customer)
    name_person(cast.agreement, by=lead, code=code)
    assert Entry.objects.get(kind=Kind.PERSON_NAMED).payload["name"] == "Uma Example"


def test_erasing_takes_the_name_from_records_and_account(cast, lead, admin, tmp_path):
    """The entry cannot be read, the chain says so, the account is nobody's; the record verifies."""
    entry = named(cast, lead)
    staff, other = cast.supplier_staff, code_of(cast, cast.supplier_staff, cast.other)
    Mail.objects.create(key="m", to=staff.email, subject="x", body=TEO, sent_at=None)
    Mail.objects.update(sent_at=Mail.objects.get().created_at)
    Invitation.objects.create(
        dossier=cast.registers["supp"], email=staff.email, role="quality_staff", token_hash="h",
        expires_at=Mail.objects.get().created_at, status="accepted", accepted_by=staff,
    )  # fmt: skip
    email = staff.email
    erase_person(let_go(cast, staff, admin), by=admin)
    with pytest.raises(erasure.Erased):
        erasure.clear(Entry.objects.get(pk=entry.pk))
    told = chain.entries(cast.agreement.chain).last()
    code = code_of(cast, staff)
    assert (told.kind, told.payload) == (Kind.PERSON_ERASED, {"person": code})
    assert (told.role, told.side) == ("administrator", "supplier")
    assert told.actor not in {code, code_of(cast, cast.supplier_lead)}
    # The other agreement held no name: it gets no entry, and none can be entered there.
    assert not chain.exists(cast.other.chain)
    assert erasure.destroyed_at(cast.other.chain, other)
    staff.refresh_from_db()
    assert staff.name == "–" and "invalid" in staff.email and not staff.is_active
    assert staff.erased_at and not staff.has_usable_password()
    rows = [*Invitation.objects.values_list("email", flat=True), *Mail.objects.values_list("to")]
    assert email not in str(rows) and TEO not in Mail.objects.get().body
    data = record(cast.agreement)
    assert TEO.encode() not in data and verified(data, tmp_path) == 0
    assert not selfcheck.findings()


def test_mails_that_wait_or_failed_are_neither_kept_nor_sent(cast, admin, mailoutbox):
    """Those to the person; another's mail goes out. A job that runs later finds nothing to send."""
    staff, email = cast.supplier_staff, cast.supplier_staff.email
    for to in (email, "else@example.org"):
        mail.post(to=to, subject="Seat", body=TEO, key=f"m:{len(to)}")
    erase_person(let_go(cast, staff, admin), by=admin)
    assert email not in str(list(Mail.objects.values_list("to", "key")))
    assert not Mail.objects.filter(to="", body__contains=TEO).exists()
    queue.drain()
    assert [one.to for one in mailoutbox] == [["else@example.org"]]
    assert set(Job.objects.filter(name="jobs.mail").values_list("state", flat=True)) == {"done"}


def test_earlier_invitations_go_and_one_that_stands_does_not(cast, admin):
    """Sent twice, the first was withdrawn and bears the address as well."""
    staff, email = cast.supplier_staff, cast.supplier_staff.email
    key = let_go(cast, staff, admin)
    for _ in range(2):
        invite(cast.capacity(cast.customer_lead, cast.registers["cust"]), email=email)
    erase_person(key, by=admin)
    rows = Invitation.objects.exclude(email__endswith="@erased.invalid")
    assert [(one.email, one.status) for one in rows] == [(email, "open")]


def test_copies_that_are_kept_here_go_as_well(cast, lead, admin, sign_in, settings, tmp_path):
    """Of every side, at once; the page says why, and a new one is made."""
    settings.VAR_DIR = tmp_path
    named(cast, lead)
    mine, theirs = (
        ask_for_record(cast.agreement, by=cast.capacity(who))
        for who in (cast.supplier_lead, cast.customer_lead)
    )
    queue.drain()
    assert TEO.encode() in path_of(mine).read_bytes() and path_of(theirs).exists()
    erase_person(let_go(cast, cast.supplier_staff, admin), by=admin)
    client = sign_in(cast.customer_lead)
    kwargs = {"dossier": cast.agreement.pk, "pk": theirs.pk}
    # At once, before the job has run.
    assert client.get(reverse("desk:copy-download", kwargs=kwargs)).status_code == 404
    assert "This copy was removed" in text(client.get(theirs.get_absolute_url()))
    queue.drain()
    assert not path_of(mine).exists() and not path_of(theirs).exists()
    again = ask_for_record(cast.agreement, by=cast.capacity(cast.customer_lead))
    queue.drain()
    kwargs["pk"] = again.pk
    answer = client.get(reverse("desk:copy-download", kwargs=kwargs))
    data = b"".join(answer.streaming_content)
    assert answer.status_code == 200 and TEO.encode() not in data
    assert "This copy was removed" not in text(client.get(again.get_absolute_url()))


def test_erasing_again_changes_nothing(cast, lead, admin):
    """No second entry, the first day stands."""
    named(cast, lead)
    key = let_go(cast, cast.supplier_staff, admin)
    erase_person(key, by=admin)
    before = chain.head(cast.agreement.chain), list(PersonalKey.objects.values_list())
    person = Person.objects.values().get(pk=cast.supplier_staff.pk)
    erase_person(key, by=admin)
    assert before == (chain.head(cast.agreement.chain), list(PersonalKey.objects.values_list()))
    assert person == Person.objects.values().get(pk=cast.supplier_staff.pk)


def test_only_an_administrator_of_the_own_firm_erases(cast, lead, admin):
    """Not the lead, not in an agreement, not another firm's administrator."""
    key = let_go(cast, cast.supplier_staff, admin)
    own_lead = cast.capacity(cast.supplier_lead, cast.registers["supp"])
    foreign = cast.capacity(cast.customer_lead, cast.registers["cust"])
    for by in (lead, own_lead, foreign):
        with pytest.raises(Refusal) as refused:
            erase_person(key, by=by)
        assert refused.value.id == "personal.administrator"
    Membership.objects.filter(person=cast.customer_lead).update(role="administrator")
    Sitter.objects.filter(person=cast.customer_lead, seat__side="own").update(role="administrator")
    foreign = cast.capacity(cast.customer_lead, cast.registers["cust"])
    with pytest.raises(Refusal) as refused:
        erase_person(key, by=foreign)
    assert refused.value.id == "personal.not_gone"
    assert Person.objects.get(pk=cast.supplier_staff.pk).name == TEO


def test_whoever_sits_is_not_erased(cast, admin):
    """Let them go first."""
    with pytest.raises(Refusal) as refused:
        erase_person(f"person-{cast.supplier_staff.pk}", by=admin)
    assert refused.value.id == "personal.not_gone"


def test_a_signatory_keeps_the_name_and_loses_the_address(cast, admin, client):
    """The certificate in the record bears it."""
    deputy = cast.supplier_deputy
    by = cast.capacity(deputy)
    with transaction.atomic():
        open_dossier_chain(by.dossier, by)
        certify(by, key_of(deputy, cast.firms["supp"]), act=chain.new_act())
    erase_person(let_go(cast, deputy, admin), by=admin)
    deputy.refresh_from_db()
    assert deputy.name == "Eli Marsh" and deputy.email.endswith("@erased.invalid")
    said = {"username": "supplier_deputy@example.org", "password": PASSWORD}
    assert client.post(reverse("login"), said).status_code == 200  # the form again, no entry
    assert "_auth_user_id" not in client.session


@pytest.mark.parametrize("made", ["by the service", "waiting"])
def test_a_key_that_entered_no_record_keeps_no_name_of_the_account(cast, admin, sign_in, made):
    """Made and never used, or never confirmed: nobody signed, so the name goes."""
    deputy = cast.supplier_deputy
    if made == "waiting":
        held = browser_key(in_register(cast, deputy))
        Key.objects.filter(pk=held.key.pk).update(revoked_at=clock.now())
        assert browser_key(in_register(cast, deputy)).key.is_pending
    else:
        key_of(deputy, cast.firms["supp"])
    key = let_go(cast, deputy, admin)
    page = sign_in(cast.supplier_admin).get(
        reverse("parties:personal", kwargs={"dossier": cast.registers["supp"].pk})
    )
    assert "name and address go" in text(page) and "name in certificates stays" not in text(page)
    assert not erase_person(key, by=admin).signatory
    deputy.refresh_from_db()
    assert deputy.name == "–" and deputy.email.endswith("@erased.invalid")


def test_an_account_that_serves_another_firm_stays(cast, lead, admin):
    """The codes of this firm are erased, the account is the other's too."""
    named(cast, lead)
    join(cast.firms["third"], cast.supplier_staff, "quality_staff")
    key = let_go(cast, cast.supplier_staff, admin)
    erase_person(key, by=admin)
    cast.supplier_staff.refresh_from_db()
    assert cast.supplier_staff.name == TEO and cast.supplier_staff.is_active
    [one] = traces_of(cast.firms["supp"])
    assert one.erased_at and one.elsewhere and one.named == 0


def test_an_observer_without_login_is_erased_by_code(cast, lead, admin):
    """The key goes; the register's row stays, as the page says."""
    by = cast.capacity(cast.supplier_lead, cast.registers["supp"])
    observer = enter(Observer, by=by, name="Uma Example")
    code = code_for(cast.agreement, f"observer:{observer.key}", "B")
    name_person(cast.agreement, by=lead, code=code)
    erase_person(f"observer-{observer.key}", by=admin)
    assert erasure.destroyed_at(cast.agreement.chain, code)
    assert code not in nameable(lead)
    assert Observer.objects.get().name == "Uma Example"


def test_the_page_lists_what_there_is(cast, lead, admin, sign_in):
    """Before and after, and what stays, in words."""
    named(cast, lead)
    key = let_go(cast, cast.supplier_staff, admin)
    client = sign_in(cast.supplier_admin)
    address = reverse("parties:personal", kwargs={"dossier": cast.registers["supp"].pk})
    before = text(client.get(address))
    assert TEO in before and code_of(cast, cast.supplier_staff) in before
    assert f"?key={key}" in before and "not legal advice" in before
    assert cast.agreement.title not in before
    erase_person(key, by=admin)
    after = text(client.get(address))
    assert TEO not in after and "erased on" in after and f"?key={key}" not in after


def test_erasing_takes_a_second_look(cast, lead, admin, sign_in):
    """Nothing is done before the page has shown this person's list and it was confirmed."""
    named(cast, lead)
    key = let_go(cast, cast.supplier_staff, admin)
    let_go(cast, cast.supplier_observer, admin)
    other = f"person-{cast.supplier_observer.pk}"
    client = sign_in(cast.supplier_admin)
    address = reverse("parties:erase-person", kwargs={"dossier": cast.registers["supp"].pk})
    first = text(client.get(address))
    assert 'name="looked"' not in first and 'name="confirmed"' not in first
    look = text(client.get(address, {"key": key}))
    assert f'name="looked" value="{key}"' in look and "the key under which it lies" in look
    for said in (
        {"key": key},
        {"key": key, "confirmed": "on"},
        {"key": key, "looked": other, "confirmed": "on"},
        {"key": key, "looked": key},
    ):
        page = client.post(address, said)
        assert page.status_code == 422, said
        assert f'name="looked" value="{key}"' in text(page)
    assert Person.objects.get(pk=cast.supplier_staff.pk).name == TEO
    done = client.post(address, {"key": key, "looked": key, "confirmed": "on"})
    assert done.status_code == 302
    assert Person.objects.get(pk=cast.supplier_staff.pk).name == "–"


def test_the_other_side_reads_an_entered_name_and_then_that_it_was_erased(
    cast, lead, admin, sign_in
):
    """On the timeline and the entry's page; the People page never shows it to them."""
    entry = named(cast, lead)
    client = sign_in(cast.customer_lead)
    where = {"dossier": cast.agreement.pk}
    pages = [
        reverse("desk:timeline", kwargs=where),
        reverse("desk:entry", kwargs={**where, "number": entry.number}),
    ]
    people = reverse("parties:people", kwargs=where)
    assert all(TEO in text(client.get(page)) for page in pages)
    assert TEO not in text(client.get(people))
    erase_person(let_go(cast, cast.supplier_staff, admin), by=admin)
    day = f"{erasure.destroyed_at(cast.agreement.chain, entry.personal):%Y-%m-%d}"
    for page in pages:
        assert TEO not in text(client.get(page))
        assert f"erased on {day}" in text(client.get(page))


def test_the_lead_is_told_who_will_read_the_name(cast, lead, sign_in):
    """On the form, with a tick that the person knows; without it nothing is entered."""
    client = sign_in(cast.supplier_lead)
    address = reverse("parties:name-person", kwargs={"dossier": cast.agreement.pk})
    page = text(client.get(address))
    assert "everybody who is given the signed record" in page
    code = code_of(cast, cast.supplier_staff)
    assert client.post(address, {"code": code}).status_code == 422
    assert not Entry.objects.filter(kind=Kind.PERSON_NAMED).exists()
    assert client.post(address, {"code": code, "told": "on"}).status_code == 302
    assert Entry.objects.filter(kind=Kind.PERSON_NAMED).exists()
