"""One address for every page of the resolver: who opens it, and on what object."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.contrib.auth.tokens import default_token_generator
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode

from tests.browser.played import Played

# Addresses that are no pages: they answer with a file, or to POST only.
NO_PAGES = {
    "logout": "POST only",
    "set_language": "POST only",
    "parties:theme": "POST only",
    "parties:root-certificate": "a certificate",
    "parties:observer-scan": "a file",
    "agreements:terms-json": "a document",
    "agreements:paper": "a PDF, pictured page by page",
    "evidence:file-download": "a file",
    "shipments:submission-document": "a document",
    "shipments:verdict-document": "a document",
    "shipments:evidence-file": "a file",
    "shipments:list-document": "a document",
    "shipments:paper": "a PDF, pictured page by page",
    "disputes:post-file": "a file",
    "desk:copy-download": "a record",
    "desk:copy-checkpoint": "a note",
    "desk:checkpoint": "a note",
    "desk:entry-header": "a document",
}
NOBODY = ""
# Name → (who opens it, dossier, object); "" for a visitor, a page without dossier or object.
PAGES: dict[str, tuple[str, str, str]] = {
    "login": (NOBODY, "", ""),
    "password_change": ("supplier_staff", "", ""),
    "password_change_done": ("supplier_staff", "", ""),
    "password_reset": (NOBODY, "", ""),
    "password_reset_done": (NOBODY, "", ""),
    "password_reset_confirm": (NOBODY, "", "reset"),
    "password_reset_complete": (NOBODY, "", ""),
    "parties:account": ("supplier_lead", "", ""),
    "parties:accept": (NOBODY, "", "token"),
    "parties:checks": ("supplier_lead", "", ""),
    "desk:held-checkpoint": (NOBODY, "", ""),
    "parties:installation": (NOBODY, "", ""),
    "parties:words": (NOBODY, "", ""),
    "parties:register": ("supplier_lead", "supplier", ""),
    "parties:keys": ("supplier_lead", "supplier", ""),
    "parties:enrol-key": ("supplier_lead", "supplier", ""),
    "parties:confirm-key": ("supplier_admin", "supplier", ""),
    "parties:revoke-key": ("supplier_lead", "supplier", ""),
    "parties:booth-device": ("supplier_lead", "", ""),
    "parties:seal": ("supplier_lead", "supplier", ""),
    "parties:own-seal": ("supplier_admin", "supplier", ""),
    "parties:installation-seal": ("supplier_admin", "supplier", ""),
    "parties:people": ("supplier_lead", "supplier", ""),
    "parties:observers": ("supplier_lead", "supplier", ""),
    "parties:booths": ("supplier_staff", "supplier", ""),
    "parties:instruments": ("supplier_staff", "supplier", ""),
    "parties:references": ("supplier_staff", "supplier", ""),
    "parties:observer": ("supplier_lead", "supplier", "observer"),
    "parties:booth": ("supplier_staff", "supplier", "booth"),
    "parties:instrument": ("supplier_staff", "supplier", "instrument"),
    "parties:reference": ("supplier_staff", "supplier", "reference"),
    "parties:enter-observer": ("supplier_lead", "supplier", ""),
    "parties:enter-booth": ("supplier_staff", "supplier", ""),
    "parties:enter-instrument": ("supplier_staff", "supplier", ""),
    "parties:enter-reference": ("customer_lead", "agreement", ""),
    "parties:observer-renew": ("supplier_lead", "supplier", "observer"),
    "parties:booth-renew": ("supplier_staff", "supplier", "booth"),
    "parties:instrument-renew": ("supplier_staff", "supplier", "instrument"),
    "parties:reference-renew": ("supplier_staff", "supplier", "reference"),
    "parties:reference-add-chips": ("supplier_staff", "supplier", "reference"),
    "parties:chip-use": ("supplier_staff", "supplier", "chip"),
    "parties:invite-colleague": ("supplier_lead", "supplier", ""),
    "parties:change-role": ("supplier_lead", "supplier", ""),
    "parties:let-go": ("supplier_admin", "supplier", ""),
    "parties:personal": ("supplier_admin", "supplier", ""),
    "parties:erase-person": ("supplier_admin", "supplier", ""),
    "parties:name-person": ("customer_lead", "agreement", ""),
    "parties:invite-firm": ("customer_lead", "opened", ""),
    "parties:limit-seat": ("customer_lead", "agreement", ""),
    "parties:seat-colleague": ("customer_lead", "agreement", ""),
    "parties:unseat-colleague": ("customer_lead", "agreement", ""),
    "parties:invitation-withdraw": ("supplier_lead", "supplier", "invitation"),
    "desk:home": ("supplier_lead", "", ""),
    "desk:timeline": ("auditor", "agreement", ""),
    "desk:entry": ("auditor", "agreement", "number"),
    "desk:record": ("auditor", "agreement", ""),
    "desk:copy": ("auditor", "agreement", "copy"),
    "desk:record-try-again": ("auditor", "agreement", "copy"),
    "desk:make-record": ("auditor", "agreement", ""),
    "desk:compare-checkpoint": ("auditor", "agreement", ""),
    "desk:comparison": ("auditor", "agreement", "comparison"),
    "desk:lots-part-record": ("auditor", "agreement", "lot_judged"),
    "desk:disputes-part-record": ("auditor", "agreement", "dispute"),
    "desk:reading": ("customer_lead", "agreement", ""),
    "agreements:overview": ("customer_lead", "agreement", ""),
    "agreements:draft": ("customer_lead", "agreement", "draft"),
    "agreements:draft-check": ("customer_lead", "agreement", "draft"),
    "agreements:draft-redline": ("customer_lead", "agreement", "draft"),
    "agreements:revision": ("customer_lead", "agreement", "first"),
    "agreements:revision-check": ("supplier_lead", "agreement", "revision"),
    "agreements:revision-redline": ("customer_lead", "agreement", "revision"),
    "agreements:start-agreement": ("customer_lead", "customer", ""),
    "agreements:draft-heading": ("customer_lead", "agreement", "draft"),
    "agreements:draft-clause": ("customer_lead", "agreement", "draft"),
    "agreements:draft-item": ("customer_lead", "agreement", "draft"),
    "agreements:draft-remove-item": ("customer_lead", "agreement", "draft"),
    "agreements:draft-part": ("customer_lead", "agreement", "draft"),
    "agreements:draft-remove-part": ("customer_lead", "agreement", "draft"),
    "agreements:draft-own-value": ("customer_lead", "agreement", "draft"),
    "agreements:draft-shared-value": ("customer_lead", "agreement", "draft"),
    "agreements:draft-propose": ("customer_lead", "agreement", "draft"),
    "agreements:draft-counter": ("customer_lead", "agreement", "draft"),
    "agreements:draft-rebase": ("customer_lead", "agreement", "draft"),
    "agreements:draft-discard": ("customer_lead", "agreement", "draft"),
    "agreements:revision-agree": ("customer_lead", "agreement", "revision"),
    "agreements:revision-sign": ("customer_lead", "agreement", "revision"),
    "agreements:revision-take-up": ("supplier_lead", "agreement", "revision"),
    "agreements:revision-make-papers": ("supplier_staff", "agreement", "first"),
    "agreements:revision-remark": ("customer_lead", "agreement", "revision"),
    "agreements:revision-withdraw": ("supplier_lead", "agreement", "revision"),
    "agreements:remark-strike": ("supplier_staff", "agreement", "remark"),
    "agreements:suspend": ("customer_lead", "agreement", ""),
    "agreements:resume": ("customer_lead", "agreement", ""),
    "agreements:end": ("customer_lead", "agreement", ""),
    "evidence:index": ("supplier_staff", "agreement", ""),
    "evidence:file": ("supplier_staff", "agreement", "file"),
    "evidence:set": ("supplier_staff", "agreement", "set"),
    "evidence:sitting": ("supplier_staff", "agreement", "sitting"),
    "evidence:upload": ("supplier_staff", "agreement", ""),
    "evidence:open-sitting": ("supplier_staff", "agreement", ""),
    "evidence:document": ("supplier_staff", "agreement", "document"),
    "evidence:piece": ("supplier_staff", "agreement", "piece"),
    "evidence:add-document": ("supplier_staff", "agreement", ""),
    "evidence:retain-piece": ("supplier_staff", "agreement", ""),
    "evidence:documents-set-aside": ("supplier_staff", "agreement", "document"),
    "evidence:pieces-set-aside": ("supplier_staff", "agreement", "piece"),
    "evidence:files-confirm": ("supplier_staff", "agreement", "file"),
    "evidence:files-set-aside": ("supplier_staff", "agreement", "file"),
    "evidence:sets-store": ("supplier_staff", "agreement", "set"),
    "evidence:sets-set-aside": ("supplier_staff", "agreement", "set"),
    "evidence:sittings-judge": ("supplier_staff", "agreement", "sitting"),
    "evidence:sittings-set-aside": ("supplier_staff", "agreement", "sitting"),
    "shipments:lots": ("supplier_staff", "agreement", ""),
    "shipments:lot": ("supplier_lead", "agreement", "lot_judged"),
    "shipments:article": ("customer_lead", "agreement", "article_judged"),
    "shipments:submission": ("supplier_lead", "agreement", "submission_failed"),
    "shipments:prepare-article": ("supplier_staff", "agreement", ""),
    "shipments:open-lot": ("supplier_staff", "agreement", ""),
    "shipments:articles-submit": ("supplier_staff", "agreement", "article_open"),
    "shipments:articles-approve": ("customer_lead", "agreement", "article_judged"),
    "shipments:articles-approve-with-limits": ("customer_lead", "agreement", "article_judged"),
    "shipments:articles-return": ("customer_lead", "agreement", "article_judged"),
    "shipments:lots-submit": ("supplier_staff", "agreement", "lot_open"),
    "shipments:lots-release": ("supplier_lead", "agreement", "lot_judged"),
    "shipments:lots-withdraw": ("supplier_staff", "agreement", "lot_failed"),
    "shipments:lots-receive": ("customer_lead", "agreement", "lot_released"),
    "shipments:lots-accept": ("customer_lead", "agreement", "lot_received"),
    "shipments:submissions-try-again": ("supplier_staff", "agreement", "submission"),
    "shipments:submissions-sign": ("supplier_lead", "agreement", "submission"),
    "shipments:lists": ("supplier_lead", "agreement", ""),
    "shipments:list": ("customer_lead", "agreement", "list_signed"),
    "shipments:draw-up-list": ("supplier_staff", "agreement", ""),
    "shipments:lists-sign": ("supplier_lead", "agreement", "list_drawn_up"),
    "shipments:lists-set-aside": ("supplier_staff", "agreement", "list_drawn_up"),
    "disputes:disputes": ("customer_lead", "agreement", ""),
    "disputes:dispute": ("supplier_lead", "agreement", "dispute"),
    "disputes:beside": ("customer_lead", "agreement", "dispute"),
    "disputes:offer": ("customer_lead", "agreement", "offer"),
    "disputes:lots-reject": ("customer_lead", "agreement", "lot_received"),
    "disputes:disputes-answer": ("supplier_staff", "agreement", "dispute"),
    "disputes:disputes-examine": ("supplier_staff", "agreement", "dispute"),
    "disputes:disputes-post": ("customer_lead", "agreement", "dispute"),
    "disputes:disputes-note": ("supplier_lead", "agreement", "dispute"),
    "disputes:disputes-offer": ("supplier_lead", "agreement", "dispute"),
    "disputes:disputes-withdraw": ("customer_lead", "agreement", "dispute"),
    "disputes:posts-strike": ("supplier_staff", "agreement", "post"),
    "disputes:offers-sign": ("customer_lead", "agreement", "offer"),
    "disputes:offers-decline": ("customer_lead", "agreement", "offer"),
}


@dataclass(frozen=True)
class Page:
    """Where a page is and who opens it (a key of the cast, or nobody)."""

    name: str
    who: str
    path: str


def names_of_pages() -> list[str]:
    """Names of all addresses of the resolver that are pages, in its order."""
    names = [name for name, _route in _walk(get_resolver().url_patterns, "", "")]
    return [name for name in names if not name.endswith("-api") and name not in NO_PAGES]


def _walk(
    patterns: list[URLPattern | URLResolver], route: str, space: str
) -> Iterator[tuple[str, str]]:
    for one in patterns:
        here = route + str(one.pattern)
        if isinstance(one, URLResolver):
            deeper = space + (f"{one.namespace}:" if one.namespace else "")
            yield from _walk(one.url_patterns, here, deeper)
        elif not here.startswith("api/"):
            yield space + str(one.name), here


def pages(played: Played) -> list[Page]:
    """Every page once. Raises where the table and the resolver differ."""
    names = names_of_pages()
    if set(names) != set(PAGES):
        raise LookupError(
            f"tests/browser/pages.py and the resolver differ: {set(names) ^ set(PAGES)}"
        )
    return [_page(name, played) for name in names]


def _page(name: str, played: Played) -> Page:
    who, dossier, key = PAGES[name]
    kwargs: dict[str, object] = {}
    if dossier:
        kwargs["dossier"] = played.dossiers[dossier].pk
    if key == "reset":
        kwargs |= _reset(played)
    elif key == "token":
        kwargs["token"] = played.found["firm_invitation"].token
    elif key == "number":
        kwargs["number"] = 4
    elif key:
        kwargs["pk"] = played.found[key].pk
    return Page(name, who, reverse(name, kwargs=kwargs))


def _reset(played: Played) -> dict[str, object]:
    """The link of a mail to somebody who forgot the password."""
    person = played.cast.customer_colleague
    return {
        "uidb64": urlsafe_base64_encode(force_bytes(person.pk)),
        "token": default_token_generator.make_token(person),
    }
