"""Own keys in a browser: enrolled, used for an agreement by both sides, and verified offline.

The customer's passkey lives in Chromium's virtual authenticator (Web Authentication level 2,
section 11; set up through the DevTools protocol), the supplier's key in the browser under a
passphrase. Everything shown is invented.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from playwright.sync_api import sync_playwright

from ledger.verify import verify
from tests import needs
from tests.browser import house
from tests.browser.visitor import Visitor

pytestmark = [pytest.mark.browser, pytest.mark.slow]
# The browser remarks that one algorithm alone is asked for, which is meant so.
ONLY_ES256 = "pubKeyCredParams is missing at least one of the default algorithm identifiers"
PASSPHRASE = "several invented words"
PASSWORD = "a-long-invented-password"


def with_device(visitor: Visitor, *, verified: bool = True) -> None:
    """A virtual authenticator at this person's browser, which makes sure of them (or does not)."""
    tools = visitor.context.new_cdp_session(visitor.page)
    tools.send("WebAuthn.enable")
    options = {
        "protocol": "ctap2",
        "transport": "internal",
        "hasUserVerification": True,
        "isUserVerified": verified,
        "automaticPresenceSimulation": True,
    }
    tools.send("WebAuthn.addVirtualAuthenticator", {"options": options})


@pytest.fixture
def stage(tmp_path):
    """A house with an agreed revision, and both leads at their browsers."""
    chromium = needs.chromium()
    var = tmp_path / "var"
    var.mkdir()
    with house.House(var) as served, sync_playwright() as play:
        where = json.loads(served.run("tests.browser.agree"))
        served.start(worker=False)
        browser = play.chromium.launch(executable_path=chromium, args=house.ARGUMENTS)
        who = {
            side: Visitor(browser, served.url, f"{side}_lead@example.org")
            for side in ("customer", "supplier")
        }
        yield served, where, who, browser
        browser.close()


def enrol(one: Visitor, firm: str) -> Visitor:
    """To the page of keys from one's account, and its form filled in."""
    one.page.goto(f"{one.home}/account/")
    return one.follow("Signing keys for", "Enrol a key of your own").fill(password=PASSWORD)


def passkey_for(customer: Visitor) -> None:
    """A passkey on a device of their own, made on the page."""
    with_device(customer)
    enrol(customer, "cust").fill(sort="passkey").press("Go on and make the key")
    customer.page.get_by_role("button", name="Make the passkey").click()
    customer.page.wait_for_url("**/keys/")
    customer.says("The key is enrolled and may sign.")


def open_signing(one: Visitor, where: dict[str, str]) -> Visitor:
    """The revision's page, then its signing form."""
    one.page.goto(one.home + where["revision"])
    return one.follow("Sign this revision")


def test_both_sides_sign_with_keys_of_their_own_and_the_record_verifies(stage, tmp_path):
    served, where, who, _browser = stage
    customer, supplier = who["customer"], who["supplier"]
    for one in who.values():
        one.sign_in()
    # Enrolment: a passkey here, a key under a passphrase there.
    passkey_for(customer)
    enrol(supplier, "supp").fill(sort="browser-held").press("Go on and make the key")
    supplier.page.fill("#id_passphrase", "short")
    supplier.page.get_by_role("button", name="Make the key").click()
    supplier.wait_for("The passphrase is too short.")
    supplier.page.fill("#id_passphrase", PASSWORD)
    supplier.page.fill("#id_again", PASSWORD)
    supplier.page.get_by_role("button", name="Make the key").click()
    supplier.wait_for("This is your password")
    supplier.page.fill("#id_passphrase", PASSPHRASE)
    supplier.page.fill("#id_again", PASSPHRASE + "x")
    supplier.page.get_by_role("button", name="Make the key").click()
    supplier.wait_for("The two passphrases differ.")
    supplier.page.fill("#id_again", PASSPHRASE)
    supplier.page.get_by_role("button", name="Make the key").click()
    supplier.page.wait_for_url("**/keys/")
    supplier.says("The key is enrolled and may sign.")

    # Signing: the statement stands in full; then the device, or the passphrase.
    open_signing(customer, where).press("Sign this revision")
    customer.says("This is the whole statement", "signs now", "I agree to these terms")
    customer.page.get_by_role("button", name="Sign with your passkey").click()
    customer.page.wait_for_url("**" + where["revision"])
    customer.says("Signed.", "passkey of the signatory")
    open_signing(supplier, where).press("Sign this revision")
    supplier.says("passkey of the signatory", "key under the signatory's passphrase")
    supplier.page.fill("#id_passphrase", "another invented phrase")
    supplier.page.get_by_role("button", name="Sign with the key in this browser").click()
    supplier.wait_for("This is not the passphrase of this key.")
    supplier.page.fill("#id_passphrase", PASSPHRASE)
    supplier.page.get_by_role("button", name="Sign with the key in this browser").click()
    supplier.page.wait_for_url("**" + where["revision"])
    supplier.says("Signed.")
    troubles = [text for one in who.values() for text in one.troubles if ONLY_ES256 not in text]
    assert not troubles, troubles

    target = tmp_path / "record.zip"
    root = served.run("tests.browser.agree", where["agreement"], str(target)).strip()
    assert_verified(target, root)


def assert_verified(target: Path, root: str) -> None:
    """Every check passed, both signatures with the assurance that they claim."""
    report = verify(target, root)
    assert (report.outcome, report.findings) == ("verified", [])
    assert sorted(one["assurance"] for one in report.signatures) == ["browser-held", "passkey"]


def test_a_device_that_does_not_make_sure_enrols_nothing(stage):
    """The browser says that nothing was done, and stays where it is."""
    _served, where, who, _browser = stage
    customer = who["customer"].sign_in()
    with_device(customer, verified=False)
    enrol(customer, "cust").fill(sort="passkey").press("Go on and make the key")
    customer.page.get_by_role("button", name="Make the passkey").click()
    customer.wait_for("The device did not answer, or you stopped it.")
    customer.page.goto(f"{customer.home}/d/{where['cust']}/keys/")
    customer.says("None yet.")


def test_without_javascript_the_page_says_which_keys_need_it(stage):
    """And makes nothing."""
    _served, where, who, browser = stage
    context = browser.new_context(java_script_enabled=False)
    cookies = who["customer"].sign_in().context.cookies()
    context.add_cookies(cookies)
    page = context.new_page()
    passkey_for(who["customer"])
    page.goto(who["customer"].home + where["revision"] + "sign/")
    assert "need JavaScript" in page.locator("#content").inner_text()
    page.get_by_role("button", name="Sign this revision").click()
    assert "nothing can be signed here" in page.locator("#content").inner_text()
    assert page.get_by_role("button", name="Sign with your passkey").is_disabled()
    page.goto(f"{who['customer'].home}/d/{where['cust']}/enrol-key/")
    assert "needs JavaScript" in page.locator("#content").inner_text()
    page.locator('[name="sort"][value="browser-held"]').check()
    page.fill('[name="password"]', PASSWORD)
    page.get_by_role("button", name="Go on and make the key").click()
    assert "needs JavaScript" in page.locator("#content").inner_text()
    assert page.get_by_role("button", name="Make the key").is_disabled()
