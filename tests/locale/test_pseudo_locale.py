"""No page and no PDF shows words that cannot be translated."""

from __future__ import annotations

import pytest
from django.template.loader import render_to_string
from django.test import Client
from django.urls import reverse
from django.utils import translation
from django.utils.translation import trans_real

from agreements.models import Revision
from agreements.paper import context_of as terms_context_of
from agreements.paper import signatures_of
from ledger.models import Entry
from shipments.models import Verdict
from shipments.paper import context_of
from tests.browser.pages import pages
from tests.locale.pseudo import Pseudo, untranslated
from tests.locale.typed import typed


@pytest.fixture
def pseudo(played, monkeypatch):
    """The marked English, from after the world was played: nothing stored carries marks."""
    made = Pseudo("en")
    monkeypatch.setitem(trans_real._translations, "en", made)
    monkeypatch.setattr(trans_real, "_default", made)
    translation.activate("en")
    yield played
    translation.deactivate()


def test_every_page_speaks_through_the_catalogue(cast, pseudo, sign_in):
    """All pages of the resolver, as those who open them, beside what people typed."""
    own = list(typed())
    wrong = []
    for page in pages(pseudo):
        client = sign_in(cast.people[page.who]) if page.who else Client()
        html = client.get(page.path, follow=True).content.decode()
        wrong += [f"{page.name}: {text}" for text in untranslated(html, own)]
    assert not wrong, "\n".join(sorted(set(wrong)))


def test_error_pages_speak_through_the_catalogue(pseudo):
    """403, 404 and 500."""
    for name in ("403.html", "404.html", "500.html"):
        assert untranslated(render_to_string(name), []) == [], name


def test_the_verdict_on_paper_speaks_through_the_catalogue(pseudo):
    """Every verdict of both agreements."""
    own = list(typed())
    wrong = []
    for verdict in Verdict.objects.all():
        html = render_to_string("shipments/paper.html", context_of(verdict, "", "en"))
        wrong += untranslated(html, own)
    assert not wrong, "\n".join(sorted(set(wrong)))


def test_the_terms_on_paper_speak_through_the_catalogue(pseudo):
    """Every revision that a side has signed."""
    own = list(typed())
    wrong, seen = [], 0
    for revision in Revision.objects.exclude(first_signer=""):
        first = signatures_of(revision)[0]
        context = terms_context_of(revision, first, "", "en")
        wrong += untranslated(render_to_string("agreements/paper.html", context), own)
        seen += 1
    assert seen and not wrong, "\n".join(sorted(set(wrong)))


def test_every_entry_speaks_through_the_catalogue(cast, pseudo, sign_in):
    """The content of every entry of both agreements, in words and without a program's names."""
    own, wrong, kinds = list(typed()), [], set()
    for dossier in {one.pk: one for one in pseudo.dossiers.values()}.values():
        client = sign_in(cast.auditor)
        for entry in Entry.objects.filter(chain=dossier.chain):
            path = reverse("desk:entry", kwargs={"dossier": dossier.pk, "number": entry.number})
            answer = client.get(path)
            if answer.status_code == 404:
                continue  # a register, or an agreement without this auditor
            html = answer.content.decode()
            wrong += [f"{entry.kind}: {text}" for text in untranslated(html, own)]
            kinds.add(entry.kind)
    assert len(kinds) > 25, sorted(kinds)
    assert not wrong, "\n".join(sorted(set(wrong)))


@pytest.mark.parametrize(
    ("html", "found"),
    [
        ("<p>⟦Lot⟧ L-1</p>", []),
        ("<p>⟦Made by <b>hand</b> here⟧ 3 mm</p>", []),
        ("<p>Lot L-1</p>", ["Lot L-1"]),
        ("<input placeholder='a name'>", ["a name"]),
        ("<input type='submit' value='Go on'>", ["Go on"]),
        ("<input type='text' value='typed by somebody'>", []),
        ("<img alt='A booth'>", ["A booth"]),
        ("<p>⟦Role: quality_lead⟧</p>", ["⟦Role: quality_lead⟧"]),
        ("<script>let words;</script><code>not words</code>", []),
        ("<p>Grey housings</p>", []),
    ],
)
def test_planted_words_are_found(html, found):
    """The reader of the marks itself: text, attributes, identifiers, what is left out."""
    assert untranslated(html, ["Grey housings"]) == found
