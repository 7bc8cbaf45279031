"""For every address: what to play, which object to ask for, and what makes its act succeed.

A builder returns a `Case`. The world (`stage`) has a thing in most states; what is missing is
played here, and undone by the check that asked for it. A form is filled in as a browser would:
with what the page shows, and `data` typed over it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from django.contrib.auth.tokens import default_token_generator
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode

from agreements import transitions as agreeing
from evidence.models import Judgement, MeasuredSet
from jobs.models import Job, State
from method.terms.edit import with_values
from parties.checkpoints import current_note
from parties.models import Membership, Seat, Sitter
from parties.transitions import join, remove_member
from parties.transitions.seals import take_own_certificate
from shipments import transitions as shipping
from tests.access.stage import Stage, free_auditors_seat, proposed_by
from tests.cast import PASSWORD, person
from tests.certificates import own_certificate
from tests.world import csv, curve

SIGNED = {"password": PASSWORD}
NEW = "another-long-invented-password"


@dataclass
class Case:
    """One address with its object, who succeeds there and with what."""

    obj: Any = None
    who: str = ""
    data: dict[str, Any] = field(default_factory=dict)
    kwargs: dict[str, Any] = field(default_factory=dict)
    asked: dict[str, Any] = field(default_factory=dict)  # of the page, before the form is sent
    reads: bool = False  # succeeding changes no row (setting a cookie, asking for a mail again)
    told: bool = False  # the page that answers the form is the answer: nobody is led on


Builder = Callable[[Stage], Case]
BUILDERS: dict[str, Builder] = {}


def case(name: str, thing: str = "", who: str = "", /, **data: Any) -> None:
    """A builder that takes a thing of the stage as it stands."""
    BUILDERS[name] = lambda stage: Case(stage.get(thing) if thing else None, who, dict(data))


def played(*names: str) -> Callable[[Builder], Builder]:
    """Register a builder that plays something first."""

    def register(builder: Builder) -> Builder:
        for name in names:
            BUILDERS[name] = builder
        return builder

    return register


CUSTOMER, COLLEAGUE = "customer_lead", "customer_colleague"
SUPPLIER, STAFF = "supplier_lead", "supplier_staff"

# Outside dossiers.
case("login", "", "anonymous", username="supplier_lead@example.org", password=PASSWORD)
case("password_reset", "", "anonymous", email="supplier_lead@example.org")
case("logout", "", CUSTOMER)
case("set_language", "", CUSTOMER, language="zh-hans")
BUILDERS["parties:theme"] = lambda stage: Case(who=CUSTOMER, data={"theme": "dim"}, reads=True)
case(
    "password_change",
    "",
    CUSTOMER,
    old_password=PASSWORD,
    new_password1=NEW,
    new_password2=NEW,
)
case("parties:account", "", CUSTOMER, name="Ines Neu", language="en")
for plain in ("password_change_done", "password_reset_done", "password_reset_complete"):
    case(plain, "", CUSTOMER)
for plain in ("desk:home", "parties:checks", "parties:installation", "parties:root-certificate"):
    case(plain, "", CUSTOMER)
case("parties:words", "", CUSTOMER)


@played("desk:held-checkpoint")
def _held(stage: Stage) -> Case:
    note = current_note(stage.agreement)
    return Case(who="anonymous", data={"note": note}, reads=True, told=True)


@played("password_reset_confirm")
def _forgotten(stage: Stage) -> Case:
    person = stage.cast.people[CUSTOMER]
    kwargs = {
        "uidb64": urlsafe_base64_encode(force_bytes(person.pk)),
        "token": default_token_generator.make_token(person),
    }
    data = {"new_password1": NEW, "new_password2": NEW}
    return Case(who="anonymous", data=data, kwargs=kwargs)


@played("parties:accept")
def _accept(stage: Stage) -> Case:
    data = {"name": "Guest", "password": NEW, "again": NEW, "language": "en"}
    return Case(who="anonymous", data=data, kwargs={"token": stage.things["token"]})


# Registers.
for listing in ("register", "observers", "booths", "instruments", "references", "people"):
    case(f"parties:{listing}@register", "", SUPPLIER)
for listing in ("references", "people"):
    case(f"parties:{listing}@agreement", "", CUSTOMER)
for thing in ("observer", "booth", "instrument"):
    case(f"parties:{thing}", thing, SUPPLIER)
    case(f"parties:enter-{thing}", "", SUPPLIER, name="New one", zone="Europe/Berlin")
    case(f"parties:{thing}-renew", thing, SUPPLIER, valid_from="2036-01-01", zone="Europe/Berlin")
case("parties:observer-scan", "observer", SUPPLIER)
for place, who in (("register", SUPPLIER), ("agreement", SUPPLIER)):
    case(f"parties:reference@{place}", f"reference_{place}", who)
    case(f"parties:enter-reference@{place}", "", who, name="New", kind="retained")
    case(f"parties:reference-renew@{place}", f"reference_{place}", who, name="Renewed")
    case(f"parties:reference-add-chips@{place}", f"pack_{place}", who, labels="8\n9")
    case(f"parties:chip-use@{place}", f"chip_{place}", who, used_for="a check")
case("parties:invitation-withdraw@register", "invitation_register", SUPPLIER)
case("parties:invitation-withdraw@agreement", "invitation", CUSTOMER)
case("parties:invite-colleague", "", "supplier_admin", email="n@example.org", role="reader")


@played("parties:invite-firm")
def _invite_firm(stage: Stage) -> Case:
    free_auditors_seat(stage.agreement)
    form = {"organisation_name": "Second audit (invented)", "email": "second@example.org"}
    return Case(who=SUPPLIER, data=form | {"side": "auditor"})


def member(stage: Stage, who: str) -> str:
    """The membership of somebody, as a form sends it."""
    return str(Membership.objects.get(person=stage.cast.people[who]).pk)


@played("parties:change-role", "parties:let-go")
def _member(stage: Stage) -> Case:
    data = {"member": member(stage, "supplier_staff"), "role": "deputy", "reason": "moved"}
    return Case(who="supplier_admin", data=data)


@played("parties:name-person")
def _name(stage: Stage) -> Case:
    sitter = Sitter.objects.get(dossier=stage.agreement, person=stage.cast.people[STAFF])
    return Case(who=SUPPLIER, data={"code": sitter.code, "told": "on"})


@played("parties:erase-person")
def _erase(stage: Stage) -> Case:
    gone = person("gone", "Gone Example")
    join(stage.cast.firms["supp"], gone, "quality_staff")
    by = stage.cast.capacity(stage.cast.people["supplier_admin"], stage.dossier("register"))
    remove_member(Membership.objects.get(person=gone), by=by)
    key = {"key": f"person-{gone.pk}"}
    data = {**key, "looked": key["key"], "confirmed": "on"}
    return Case(who="supplier_admin", data=data, asked=key)


case("parties:personal", "", "supplier_admin")


@played("parties:seat-colleague")
def _seat(stage: Stage) -> Case:
    return Case(who=CUSTOMER, data={"member": member(stage, "unseated"), "role": "reader"})


@played("parties:unseat-colleague")
def _unseat(stage: Stage) -> Case:
    sitter = Sitter.objects.get(
        dossier=stage.agreement, person=stage.cast.people["customer_reader"]
    )
    return Case(who=CUSTOMER, data={"sitter": str(sitter.pk), "reason": "moved"})


@played("parties:limit-seat")
def _limit(stage: Stage) -> Case:
    seat = Seat.objects.get(dossier=stage.agreement, side="auditor")
    return Case(who=CUSTOMER, data={"seat": str(seat.pk), "until": "2099-01-31"})


# The terms.
case("agreements:overview", "", "customer_observer")
for page in ("draft", "draft-check", "draft-redline"):
    case(f"agreements:{page}", "draft", CUSTOMER)
for page in ("revision", "revision-check", "revision-redline", "terms-json"):
    case(f"agreements:{page}", "revision", "auditor")
case(
    "agreements:start-agreement",
    "",
    SUPPLIER,
    title="New matter",
    side="supplier",
    terms="visual",
    firm="New firm (invented)",
    email="new@example.org",
)
case("agreements:draft-heading", "draft", COLLEAGUE, title="Another heading")
case("agreements:draft-part", "draft", COLLEAGUE, number="H-2", name="Lid", colour="Sand")
case("agreements:draft-discard", "draft", COLLEAGUE)
case("agreements:revision-remark", "revision", STAFF, clause="scope", text="A remark")
case("agreements:remark-strike", "remark_customer", COLLEAGUE, reason="A slip")


@played("agreements:draft-clause")
def _clause(stage: Stage) -> Case:
    asked = {"clause": "viewing"}
    return Case(stage.get("draft"), COLLEAGUE, {"warm_up_minutes": "45"}, asked=asked)


@played("agreements:draft-item")
def _item(stage: Stage) -> Case:
    asked = {"list": "changes.signatories"}
    data = {"side": "customer", "role": "deputy", "label": "the deputy"}
    return Case(stage.get("draft"), COLLEAGUE, data, asked=asked)


@played("agreements:draft-remove-item")
def _remove_item(stage: Stage) -> Case:
    draft = stage.get("draft")
    data = {"item": draft.document.shared.changes.signatories[0].id}
    return Case(draft, COLLEAGUE, data)


@played("agreements:draft-remove-part", "agreements:draft-own-value")
def _part(stage: Stage) -> Case:
    draft = stage.get("draft")
    asked = {"part": draft.document.parts[0].id, "field": "viewing.warm_up_minutes"}
    return Case(draft, COLLEAGUE, asked | {"warm_up_minutes": "50"}, asked=asked)


@played("agreements:draft-shared-value")
def _shared_value(stage: Stage) -> Case:
    draft = stage.get("draft")
    part = draft.document.parts[0].id
    made = with_values(draft.document, "viewing", {"warm_up_minutes": "50"}, part)
    agreeing.rewrite(draft, by=stage.world.customer, terms=made, version=draft.version)
    return Case(draft, COLLEAGUE, {"own": f"{part}/viewing/warm_up_minutes"})


case("agreements:draft-propose", "draft", CUSTOMER)


def draft_behind(stage: Stage) -> Any:
    """The customer's draft, while the supplier's proposal is on the table."""
    proposed_by(stage, "supplier")
    return stage.get("draft")


@played("agreements:draft-rebase")
def _rebase(stage: Stage) -> Case:
    return Case(draft_behind(stage), COLLEAGUE)


@played("agreements:draft-counter")
def _counter(stage: Stage) -> Case:
    draft = agreeing.rebase(draft_behind(stage), by=stage.world.customer)
    return Case(draft, CUSTOMER)


@played("agreements:revision-agree")
def _agree(stage: Stage) -> Case:
    return Case(proposed_by(stage, "supplier"), CUSTOMER)


@played("agreements:revision-withdraw")
def _withdraw(stage: Stage) -> Case:
    return Case(proposed_by(stage, "customer"), CUSTOMER, {"reason": "Not now"})


@played("agreements:revision-take-up")
def _take_up(stage: Stage) -> Case:
    return Case(proposed_by(stage, "customer"), STAFF)


@played("agreements:revision-sign")
def _sign(stage: Stage) -> Case:
    revision = proposed_by(stage, "customer")
    revision = agreeing.agree(revision, by=stage.world.supplier, digest=revision.digest)
    return Case(revision, CUSTOMER, SIGNED)


@played("agreements:suspend", "agreements:end")
def _suspend(stage: Stage) -> Case:
    return Case(who=CUSTOMER, data={"from_day": str(stage.world.today), "reason": "Works holiday"})


@played("agreements:resume")
def _resume(stage: Stage) -> Case:
    made = _suspend(stage)
    agreeing.suspend(
        stage.agreement, by=stage.world.customer, from_day=stage.world.today, reason="Holiday"
    )
    return made


# Evidence.
case("evidence:index", "", "supplier_observer")
case("evidence:file", "file", STAFF)
case("evidence:file-download", "file", STAFF)
case("evidence:set", "set", STAFF)
case("evidence:sitting", "sitting", "supplier_observer")
for page in ("document", "piece"):
    case(f"evidence:{page}", page, STAFF)
    case(f"evidence:{page}s-set-aside", page, STAFF, reason="Of another lot")
case("evidence:retain-piece", "", STAFF, seal="S-77")
case("evidence:files-set-aside", "file", STAFF, reason="The wrong file")
case("evidence:sets-set-aside", "set", STAFF, reason="Wrong side up")
case("evidence:sittings-set-aside", "sitting", STAFF, reason="Lamp flickered")


@played("evidence:upload")
def _upload(stage: Stage) -> Case:
    upload = SimpleUploadedFile("new.csv", csv([("1", curve())]), "text/csv")
    return Case(who=STAFF, data={"upload": upload})


@played("evidence:add-document")
def _document(stage: Stage) -> Case:
    upload = SimpleUploadedFile("photo.png", b"not looked into", "image/png")
    return Case(who=STAFF, data={"upload": upload, "answers": "photograph"})


@played("evidence:open-sitting")
def _sitting(stage: Stage) -> Case:
    data = {
        "day": str(stage.world.today),
        "booth": str(stage.get("booth").pk),
        "procedure": "release_check",
        "comparator": "master",
        "reference": str(stage.world.master.pk),
        "illuminants": ["D65", "A"],
        "warm_up_minutes": "30",
        "adaptation_minutes": "5",
        "specimens": "1\n2",
    }
    return Case(who=STAFF, data=data)


@played("evidence:files-confirm")
def _confirm(stage: Stage) -> Case:
    data = {
        "instrument": str(stage.world.instruments["supp"].pk),
        "measured_on": str(stage.world.today),
        "zone": "Europe/Berlin",
        "answer_scale": "factor",
    }
    return Case(stage.get("file_fresh"), STAFF, data)


@played("evidence:sets-store")
def _store(stage: Stage) -> Case:
    rows = [("standard", curve())]
    reference = stage.get("reference_agreement")
    measured = stage.world.measure(stage.world.staff, "", rows, reference)
    return Case(measured, STAFF, {"reference": str(reference.pk)})


@played("evidence:sittings-judge")
def _judge(stage: Stage) -> Case:
    observer = str(stage.get("observer").pk)
    assert not Judgement.objects.filter(sitting=stage.get("sitting"), observer=observer).exists()
    data = {"observer": observer, "outcome_0": "accept"}
    return Case(stage.get("sitting"), "supplier_observer", data)


# Seals and the PDFs of terms.
case("parties:seal", "", "supplier_admin")
case("agreements:paper", "terms_paper", "auditor")
case("agreements-api:revision-progress", "revision", "auditor")


@played("parties:own-seal")
def _own_seal(stage: Stage) -> Case:
    upload = SimpleUploadedFile("seal.p12", own_certificate("secret").file)
    data = {"upload": upload, "file_password": "secret"}
    return Case(who="supplier_admin", data=data)


@played("parties:installation-seal")
def _installation_seal(stage: Stage) -> Case:
    admin = stage.world.by(stage.cast.people["supplier_admin"], "supp")
    upload = SimpleUploadedFile("seal.p12", own_certificate("secret").file)
    take_own_certificate(stage.register, by=admin, upload=upload, file_password="secret")
    return Case(who="supplier_admin")


@played("agreements:revision-make-papers")
def _make_papers(stage: Stage) -> Case:
    revision = stage.get("revision")
    subject = f"revision/{revision.pk}/en"
    Job.objects.filter(subject=subject).update(state=State.FAILED)
    return Case(revision, STAFF)


# Shipments.
case("shipments:lots", "", "auditor")
case("shipments:lot", "lot_judged", "auditor")
case("shipments:article", "article_submitted", "auditor")
for page in ("submission", "submission-document"):
    case(f"shipments:{page}", "submission", "auditor")
case("shipments-api:submission-progress", "submission", "auditor")
case("shipments:verdict-document", "verdict", "auditor")
case("shipments:paper", "paper", "auditor")
case("shipments:articles-submit", "article_preparing", STAFF)
case("shipments:articles-approve", "article_submitted", CUSTOMER, seal="S-2", **SIGNED)
case("shipments:articles-approve-with-limits", "article_submitted", CUSTOMER, quantity=9, **SIGNED)
case("shipments:articles-return", "article_submitted", COLLEAGUE, note="Too dark")
case("shipments:lots-submit", "lot_open", STAFF)
case("shipments:lots-withdraw", "lot_open", STAFF, reason="Scrapped")
case("shipments:lots-receive", "lot_released", COLLEAGUE)
case("shipments:lots-accept", "lot_received", COLLEAGUE)
case("shipments:submissions-sign", "submission", SUPPLIER, **SIGNED)
case("shipments:lists", "", "auditor")
case("shipments:list", "list_signed", "auditor")
case("shipments:list-document", "list_signed", "auditor")
case("shipments:lists-sign", "list_drawn_up", SUPPLIER, **SIGNED)
case("shipments:lists-set-aside", "list_drawn_up", STAFF)


@played("shipments:draw-up-list")
def _listing(stage: Stage) -> Case:
    return Case(who=STAFF, data={"submissions": [str(stage.get("submission").pk)]})


@played("shipments:evidence-file")
def _blob(stage: Stage) -> Case:
    submission = stage.get("submission")
    found = MeasuredSet.objects.get(subject=submission.lot.subject)
    return Case(submission, "auditor", kwargs={"digest": found.file.digest})


@played("shipments:prepare-article", "shipments:open-lot")
def _new(stage: Stage) -> Case:
    data = {
        "number": "N-1",
        "part": stage.world.part(),
        "quantity": "10",
        "order": "PO-N",
        "accepted_on": str(stage.world.today),
    }
    return Case(who=STAFF, data=data)


@played("shipments:lots-release")
def _release(stage: Stage) -> Case:
    shipping.sign_submission(stage.get("submission"), by=stage.world.supplier)
    return Case(stage.get("lot_judged"), SUPPLIER)


@played("shipments:submissions-try-again")
def _again(stage: Stage) -> Case:
    submission = stage.get("submission")
    Job.objects.filter(subject=submission.subject).update(state=State.FAILED)
    return Case(submission, STAFF)


# Disputes.
case("disputes:disputes", "", "auditor")
case("disputes:dispute", "dispute", "auditor")
case("disputes:beside", "dispute", "auditor")
case("disputes:offer", "offer", "auditor")
BUILDERS["disputes:post-file"] = lambda stage: Case(
    stage.get("post"), "auditor", kwargs={"number": 0}
)
case(
    "disputes:lots-reject",
    "lot_received",
    CUSTOMER,
    clause="tolerances",
    compared_with="target",
    specimens=["1", "2"],
    text="Darker.",
    held_in_stock=100,
)
case("disputes:disputes-answer", "dispute_raised", STAFF, text="We look.", held_in_stock=0)
BUILDERS["disputes:disputes-examine"] = lambda stage: Case(stage.world.answered("L-16"), COLLEAGUE)
case("disputes:disputes-post", "dispute", COLLEAGUE, text="A word.")
case("disputes:disputes-note", "dispute", COLLEAGUE, text="A note.")
case("disputes:disputes-withdraw", "dispute", CUSTOMER, reason="Our lamp")
case("disputes:posts-strike", "post", STAFF, reason="A slip")
case("disputes:offers-sign", "offer", CUSTOMER, **SIGNED)
case("disputes:offers-decline", "offer", COLLEAGUE, reason="Too late")
case(
    "disputes:disputes-offer",
    "dispute",
    STAFF,
    remedy="replace",
    text="We replace it.",
    costs="supplier",
    returned=100,
)

# The desk.
for page in ("timeline", "record", "make-record"):
    case(f"desk:{page}", "", "auditor")
for page in ("entry", "entry-header"):
    BUILDERS[f"desk:{page}"] = lambda stage: Case(who="auditor", kwargs={"number": 1})
for page in ("copy", "copy-download", "copy-checkpoint"):
    case(f"desk:{page}", "copy", CUSTOMER)
case("desk:checkpoint", "", "auditor")
case("desk:comparison", "comparison", CUSTOMER)
case("desk:reading", "", CUSTOMER)
case("desk:lots-part-record", "lot_judged", "auditor")
case("desk:disputes-part-record", "dispute", "auditor")
case("desk-api:copy-progress", "copy", CUSTOMER)


@played("desk:compare-checkpoint")
def _compare(stage: Stage) -> Case:
    return Case(who="auditor", data={"note": current_note(stage.agreement)})


@played("desk:record-try-again")
def _again_copy(stage: Stage) -> Case:
    copy = stage.get("copy")
    Job.objects.filter(subject=copy.subject).update(state=State.FAILED)
    return Case(copy, CUSTOMER)


def builder_of(name: str, place: str) -> Builder | None:
    """The builder of an address; a JSON call shares the one of its page. The first step of an act
    that signs is asked for by somebody with a key of their own."""
    if name.endswith("-prepare-api"):
        page = name.replace("-api:", ":").removesuffix("-prepare-api")
        return BUILDERS.get(f"{page}-prepare")
    page = name.replace("-api:", ":").removesuffix("-api") if name.endswith("-api") else name
    return BUILDERS.get(f"{page}@{place}") or BUILDERS.get(page)
