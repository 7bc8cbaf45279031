"""The whole job in a browser: from signing in to a record that verifies offline.

Two firms and an auditor, a server and a worker of their own. Everybody goes it twice: with keys
alone, and without script. Everything shown is invented.
"""

from __future__ import annotations

import datetime as dt
import email
import email.policy
import re
import time
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from playwright.sync_api import Browser, sync_playwright
from pypdf import PdfReader

from ledger.verify import verify
from tests import needs
from tests.browser import house
from tests.browser.keyboard import Typist
from tests.browser.visitor import Visitor
from tests.cast import PASSWORD
from tests.world import csv, curve

pytestmark = [pytest.mark.browser, pytest.mark.slow]
TODAY = dt.datetime.now(ZoneInfo("Europe/Berlin")).date().isoformat()
LABELS = ["1", "2", "3"]
TITLE = "Slate housings (invented)"
PEOPLE = (
    "customer_lead",
    "customer_colleague",
    "supplier_lead",
    "supplier_staff",
    "supplier_observer",
    "auditor",
)


@dataclass
class Stage:
    """Everybody at their browsers, and a folder for files."""

    who: dict[str, Visitor]
    served: house.House
    folder: Path

    def __getattr__(self, name: str) -> Visitor:
        try:
            return self.__dict__["who"][name]
        except KeyError:
            raise AttributeError(name) from None

    def mailed_link(self, address: str) -> str:
        """The link in the last mail to this address, once the worker has sent it."""
        end = time.monotonic() + 20
        while time.monotonic() < end:
            for file in sorted((self.served.var / "mail").glob("*"), reverse=True):
                text = file.read_bytes().split(b"\n" + b"-" * 79)[0]
                mail = email.message_from_bytes(text, policy=email.policy.default)
                link = re.search(r"http://\S+/invitations/\S+", mail.get_content())
                if mail["To"] == address and link:
                    return link.group()
            time.sleep(0.2)
        raise AssertionError(f"no mail to {address}:\n{self.served.log()}")

    def readings(self, name: str, shift: float) -> Path:
        """A file of three specimens."""
        file = self.folder / name
        rows = [(label, curve(shift + 0.0001 * n)) for n, label in enumerate(LABELS)]
        file.write_bytes(csv(rows))
        return file


WAYS = {
    "by keys alone": Typist,
    "without script": partial(Visitor, script=False),
}


@pytest.fixture(params=WAYS)
def stage(request, tmp_path):
    """Everything up, everybody before a fresh browser."""
    chromium = needs.chromium()
    var = tmp_path / "var"
    var.mkdir()
    with house.House(var) as served, sync_playwright() as play:
        served.run("tests.browser.move_in")
        served.start()
        browser: Browser = play.chromium.launch(executable_path=chromium, args=house.ARGUMENTS)
        person = WAYS[request.param]
        who = {name: person(browser, served.url, f"{name}@example.org") for name in PEOPLE}
        yield Stage(who, served, tmp_path)
        browser.close()


def test_from_signing_in_to_the_verified_record(stage):
    """One story; each step is a function below."""
    for name in PEOPLE:
        stage.who[name].sign_in().says("What awaits you")
    open_the_agreement(stage)
    write_the_terms(stage.customer_lead)
    negotiate_and_sign(stage)
    enter_the_standard(stage)
    approve_the_first_article(stage)
    ship_a_conforming_lot(stage)
    reject_a_lot(stage)
    settle(stage)
    audit(stage)
    troubles = {name: one.troubles for name, one in stage.who.items() if one.troubles}
    assert not troubles, troubles
    for one in stage.who.values():
        assert not isinstance(one, Typist) or one.skips
    the_watch_sees_what_it_watches_for(stage.auditor)


def the_watch_sees_what_it_watches_for(one: Visitor) -> None:
    """A picture from elsewhere is refused by the page's policy, and noticed here."""
    one.page.evaluate(
        "document.body.append(Object.assign(new Image(), {src: 'http://example.org/a.png'}))"
    )
    one.page.wait_for_timeout(500)
    assert any("Content Security Policy" in trouble for trouble in one.troubles), one.troubles
    if isinstance(one, Typist):
        one.page.evaluate("document.styleSheets[0].insertRule('* { outline: 0 !important }')")
        one.reach(one.link("My desk"))
        assert any("focus not to be seen" in trouble for trouble in one.troubles), one.troubles


def open_the_agreement(stage: Stage) -> None:
    """The customer's lead starts it; supplier and auditor accept the links they were mailed."""
    lead = stage.customer_lead.follow("Vellmar Appliances", "Start an agreement")
    lead.fill(title=TITLE, side="customer", terms="spectral", firm="Quarrow Coatings (invented)")
    lead.fill(email="supplier_lead@example.org").press("Start it and send the invitation")
    lead.says("Whose move it is").follow("People and invitations", "Invite a firm or an auditor")
    lead.fill(side="auditor", organisation_name="Fennel Audit (invented)")
    lead.fill(email="auditor@example.org").press("Invite a firm or an auditor")
    for one in (stage.supplier_lead, stage.auditor):
        one.page.goto(stage.mailed_link(one.email))
        one.says(TITLE).press("Accept").says(TITLE)


def write_the_terms(lead: Visitor) -> None:
    """What no starter can know: the part, who signs, the zone; and small numbers."""
    lead.dossier(TITLE).follow("Your side's draft", "Add a part")
    lead.fill(number="H-1", name="Housing", colour="Slate").press("Save")
    edits = {
        "Observers": {"panel_size": 2, "staff_entry_counts": True},
        "References": {"kind": "painted_panel"},
        "Measurement": {"readings": 1},
        "Decision": {"sample_size": 3, "acceptance_number": 0},
        "Disputes": {"zone": "Europe/Berlin"},
        "Changes and signing": {"signing_keys": "service_held_too"},
    }
    for title, values in edits.items():
        lead.follow(f"Edit the clause “{title}”").fill(**values).press("Save")
        lead.says("The clause is saved")
    for side in ("customer", "supplier"):
        lead.follow("Add: Signatory")
        lead.fill(side=side, role="quality_lead", label=f"{side} lead").press("Save")
    lead.follow("Draft check").says("Draft check")
    assert not lead.page.get_by_text("blocker", exact=True).count()
    lead.follow("Back to your side's draft", "Propose this draft")
    lead.fill(note="As discussed at the booth.").press("Propose this draft")
    lead.says("Proposed. It is the other side's move.", "revision 1")


def negotiate_and_sign(stage: Stage) -> None:
    """The supplier remarks and counters; the customer agrees; both sign."""
    lead, other = stage.customer_lead, stage.supplier_lead
    other.dossier(TITLE).follow("revision 1", "Make a remark")
    other.fill(clause="observers", text="A score of 20 is enough.").press("Make a remark")
    other.says("A score of 20 is enough.").follow("Begin a draft from this revision")
    other.press("Begin a draft from this revision").follow("Edit the clause “Observers”")
    other.fill(greatest_score_panel=20).press("Save").follow("Compare with revision 1")
    other.says("20").follow("Your side's draft", "Counter with this draft")
    other.press("Counter with this draft").says("revision 2")
    lead.dossier(TITLE).says("Your move:").follow("2 with 1").says("20")
    lead.follow("revision 2", "Agree to this revision").press("Agree to this revision")
    for one in (lead, other):
        one.dossier(TITLE).follow("Sign this revision").says(
            "Assurance", "key held by this service"
        )
        one.fill(password=PASSWORD).press("Sign this revision").says("Signed.")
    other.dossier(TITLE).says("Signed by both sides.")


def upload(one: Visitor, file: Path, **more: str) -> None:
    """A file of readings, and how it is read."""
    one.fill(upload=file).press("Upload readings").says("What was understood")
    one.follow("Confirm how this file is read")
    one.choose("instrument", "Sphere 1").fill(measured_on=TODAY, zone="Europe/Berlin")
    one.fill(geometry="di:8", uv="included", backing="white", aperture=8, temperature_c=23)
    one.fill(age_hours=48, hours_since_white=1, answer_scale="factor")
    for name, text in more.items():
        one.choose(name, text)
    one.press("Confirm how this file is read").says("The readings are confirmed.")


def enter_the_standard(stage: Stage) -> None:
    """The customer's standard with its stored reading."""
    lead = stage.customer_lead.dossier(TITLE).follow("References of this agreement")
    lead.follow("Enter a reference").fill(name="Standard H-1", kind="master")
    lead.fill(made_as="painted_panel", part="H-1", colour="Slate", issued_on=TODAY)
    lead.fill(like_part=["substrate", "thickness", "finish", "texture", "effect"])
    lead.fill(opened_on=TODAY).press("Enter a reference").says("Entered.")
    lead.follow(TITLE, "Evidence of your side", "Upload readings")
    file = stage.folder / "standard.csv"
    file.write_bytes(csv([("standard", curve())]))
    upload(lead, file, reference="Standard H-1")
    lead.follow("Store as the reading of a reference").choose("reference", "Standard H-1")
    lead.press("Store as the reading of a reference").says("The reading is stored")


def sit(one: Visitor, reference: str) -> None:
    """Open a booth sitting about three specimens, from the page of what it is for."""
    one.follow("Begin a booth sitting").fill(day=TODAY, procedure="release_check")
    one.choose("booth", "Booth 1").choose("reference", reference)
    one.fill(comparator="master", illuminants=["D65", "A", "F11"], warm_up_minutes=30)
    one.fill(adaptation_minutes=5, specimens="\n".join(LABELS)).press("Begin a booth sitting")


def judge(one: Visitor, outcome: str, observer: str = "") -> None:
    """Every specimen alike, in the table."""
    one.follow("Enter judgements")
    if observer:
        one.choose("observer", observer)
    one.fill(**{f"outcome_{number}": outcome for number in range(len(LABELS))})
    if outcome == "reject":
        one.fill(**{f"directions_{number}": ["darker"] for number in range(len(LABELS))})
    one.press("Enter judgements").says("The judgements are recorded.")


def judge_on_both_ways(stage: Stage, reference: str) -> None:
    """One observer with the own login; the other's sheet is entered by staff."""
    staff, observer = stage.supplier_staff, stage.supplier_observer
    sit(staff, reference)
    observer.page.goto(staff.page.url)
    observer.follow("Enter judgements")
    observer.fill(**{f"outcome_{number}": "accept" for number in range(len(LABELS))})
    observer.press("Enter judgements").says("accept", "the observer")
    judge(staff, "accept", "Observer two of supp")
    staff.says("from a sheet").follow("Back to what this evidence is for")


def hand_in(one: Visitor, button: str, outcome: str, seen: list[bool]) -> None:
    """Hand in; the page shows the progress and then, by itself, the verdict and its papers."""
    one.follow(button).says("What you hand in is frozen").press(button)
    seen.append(one.page.locator(".card progress").count() > 0)
    one.wait_for("The verdict as PDF, English").says(outcome, "What next:", "Why", "Conditions")


def approve_the_first_article(stage: Stage) -> None:
    """Prepared, submitted, judged; the customer's lead approves it."""
    staff = stage.supplier_staff.dossier(TITLE).follow("First articles and lots")
    staff.follow("Prepare a first article").fill(number="FA-1", quantity=3)
    staff.press("Prepare a first article").says("First article FA-1").follow("Upload readings")
    upload(staff, stage.readings("article.csv", 0.0))
    staff.follow("Back to what this evidence is for")
    judge_on_both_ways(stage, "Standard H-1")
    seen: list[bool] = []
    hand_in(staff, "Submit this first article", "conforming", seen)
    assert seen == [True]
    lead = stage.customer_lead.desk().follow("Decide on first article FA-1")
    assert "Approve this first article" in lead.offers()
    lead.follow("Approve this first article").fill(seal="S-1", password=PASSWORD)
    lead.press("Approve this first article").says("approved")
    assert "Approve this first article" not in lead.offers()


def release(stage: Stage, number: str) -> None:
    """Open a lot, upload, judge, hand in, sign and release; the customer receives it."""
    staff = stage.supplier_staff.dossier(TITLE).follow("First articles and lots", "Open a lot")
    staff.fill(number=number, order=f"PO-{number}", accepted_on=TODAY, quantity=100)
    staff.press("Open a lot").says(f"Lot {number}").follow("Upload readings")
    own = 0.0001 * int(number[-1])  # the same readings for two lots would be remarked upon
    upload(staff, stage.readings(f"lot-{number}.csv", 0.0005 + own))
    staff.follow("Back to what this evidence is for")
    judge_on_both_ways(stage, "FA-1")
    assert "Release this lot" not in staff.offers()
    hand_in(staff, "Hand in the evidence", "conforming", [])
    lead = stage.supplier_lead.desk().follow(f"Release lot {number}")
    lead.follow("release of a lot 1", "Sign this evidence").says("Assurance")
    signed = lead.fill(password=PASSWORD).press("Sign this evidence")
    signed.says("signed by", "key held by this service")
    lead.desk().follow(f"Release lot {number}", "Release this lot").press("Release this lot")
    customer = stage.customer_lead.desk().follow(f"Confirm receipt of lot {number}")
    customer.follow("Confirm receipt").fill(received_on=TODAY).press("Confirm receipt")


def ship_a_conforming_lot(stage: Stage) -> None:
    """Released, its PDF read, received and accepted."""
    release(stage, "L-1")
    staff = stage.supplier_staff
    paper = staff.download("The verdict as PDF, English", stage.folder)
    text = "".join(page.extract_text() for page in PdfReader(paper).pages)
    assert "conforming" in text and "Signatures" in text
    assert set(PdfReader(paper).attachments) == {"verdict.json", "submission.json"}
    customer = stage.customer_lead.desk().follow("Accept or reject lot L-1", "Accept this lot")
    customer.press("Accept this lot").says("accepted")


def reject_a_lot(stage: Stage) -> None:
    """The customer's own readings and panel say otherwise."""
    release(stage, "L-2")
    colleague = stage.customer_colleague.desk().follow("Accept or reject lot L-2")
    colleague.follow("Upload readings")
    upload(colleague, stage.readings("at-the-line.csv", 0.08))
    colleague.follow("Back to what this evidence is for")
    sit(colleague, "FA-1")
    for observer in ("Observer one of cust", "Observer two of cust"):
        judge(colleague, "reject", observer)
    lead = stage.customer_lead.desk().follow("Accept or reject lot L-2", "Reject this lot")
    lead.fill(clause="tolerances", compared_with="target", specimens=LABELS)
    lead.fill(text="Lighter than the master.", held_in_stock=100).press("Reject this lot")
    lead.says("Dispute 1 about lot L-2", "raised").follow("rejection 1")
    lead.wait_for("The verdict as PDF, English").says("nonconforming")


def settle(stage: Stage) -> None:
    """Answered, looked at side by side, discussed, offered, signed by both."""
    staff, lead = stage.supplier_staff, stage.customer_lead
    staff.desk().follow("Answer the rejection of lot L-2", "Answer the rejection")
    staff.fill(text="We look at it again.", held_in_stock=0).press("Answer the rejection")
    staff.says("answered").follow("Both sides' conditions and numbers side by side")
    staff.says("Supplier, at release", "Customer, at rejection", "Numbers", "Conditions")
    staff.follow("1")
    lead.dossier(TITLE).follow("Disputes", "1", "Make a statement")
    lead.fill(text="The line stands still.", upload=stage.readings("sheet.csv", 0.08))
    lead.press("Make a statement").says("The line stands still.", "sheet.csv")
    the_open_page_tells(staff, "The line stands still.")
    other = stage.supplier_lead.dossier(TITLE).follow("Disputes", "1", "Offer a remedy")
    other.choose("remedy", "replacement").fill(text="We replace the lot.", returned=100)
    other.fill(costs="supplier").press("Offer a remedy").says("Offer 1")
    lead.desk().follow("Sign or decline the settlement of lot L-2", "Sign this settlement")
    lead.says("We replace the lot.", "Assurance").fill(password=PASSWORD)
    lead.press("Sign this settlement").says("You have signed.", "signed by one")
    assert "Sign this settlement" not in lead.offers()
    other.desk().follow("Sign or decline the settlement of lot L-2", "Sign this settlement")
    other.fill(password=PASSWORD).press("Sign this settlement").says("signed by both")
    other.follow("Back to the dispute").says("settled")
    assert "Offer a remedy" not in other.offers()


def the_open_page_tells(one: Visitor, text: str) -> None:
    """A thread that was open before shows what was said since; with script without loading anew."""
    log = one.page.get_by_role("log", name="Thread")
    assert not log.get_by_text(text).count()
    if one.script:
        one.page.evaluate(
            "window.kept = true; document.dispatchEvent(new Event('visibilitychange'))"
        )
        log.get_by_text(text).wait_for()
        assert one.page.evaluate("window.kept")
    else:
        one.follow("Look again")
    assert log.get_by_text(text).count() == 1


def audit(stage: Stage) -> None:
    """The auditor reads, changes nothing, and takes a record that verifies."""
    auditor = stage.auditor.dossier(TITLE).says("Signed by both sides.")
    assert auditor.offers() == []
    auditor.follow("Timeline").says("A dispute was settled", "A verdict was given")
    auditor.use(auditor.page.locator("tbody tr td a").first)
    auditor.says("Hash of this entry").follow("Back to the timeline", "The signed record")
    fingerprint = auditor.page.locator("dd.digest").last.inner_text().strip()
    auditor.follow("Make the signed record").press("Make it now")
    auditor.wait_for("Download the signed record")
    record = auditor.download("Download the signed record", stage.folder)
    auditor.page.goto(f"{stage.served.url}/installation/")
    auditor.says(fingerprint)
    report = verify(str(record), fingerprint)
    assert report.exit_code == 0, report
    assert verify(str(record), "0" * 64).exit_code == 1
