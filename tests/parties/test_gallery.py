"""The gallery shows every component, in both languages, and only where it was asked for."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.template.loader import render_to_string
from django.urls import NoReverseMatch, reverse

ROOT = Path(__file__).resolve().parents[2]
COMPONENTS = {path.name for path in (ROOT / "templates/components").glob("*.html")}
ASK = (
    "import django; django.setup(); from django.urls import reverse; "
    "print(reverse('gallery:components'))"
)


@pytest.mark.django_db
@pytest.mark.parametrize("language", ["en", "zh-hans"])
@pytest.mark.urls("tests.parties.gallery_urls")
def test_every_component_is_shown_in_both_languages(client, language):
    client.cookies["django_language"] = language
    shown = set()
    for name in ("components", "paper"):
        answer = client.get(reverse(f"gallery:{name}"))
        assert answer.status_code == 200
        assert f'<html lang="{language}"' in answer.text
        shown |= {str(one.name).removeprefix("components/") for one in answer.templates}
    assert COMPONENTS - shown == set()


# Each component in every state that issue 5 names, by what alone tells that state on the page.
STATES = {
    "page frame": ['class="where"', "You act for Invented Housings Works (customer)"],
    "whose move": ['class="move yours"', 'class="move theirs"', 'class="move nobody"'],
    "clause": ['class="remark"', "<del>Our booth", "?clause=tolerances&amp;item=tol-3f8k2q"],
    "redline": ["<del>1.00</del>", "<ins>0.80</ins>"],
    "requirement": [
        f"</span> {one}</span></td>" for one in ("met", "missing", "invalid", "waived")
    ],
    "verdict": [
        f"</span> {one}</span></h2>"
        for one in ("conforming", "nonconforming", "inconclusive", "incomplete", "none yet")
    ],
    "number": ['class="value">0.54', "± 0.20", "(U, k = 2)", 'class="said-for">CIEDE2000, D65'],
    "thread": ['class="post"', "<del>Specimen P3"],
    "field": ['class="unit"', 'class="source"', 'class="wrongs"', "disabled", 'type="file"'],
    "file": ["cannot be read", "Questions to you", "but no spectra", "The file is empty"],
    "progress": ["Waiting for its turn.", "At work.", "Done.", "It failed:"],
    "signing": ["passkey of a device", "No key is certified", "Make a key"],
    "notice": ['class="notice info"', 'class="notice caution"', 'class="notice refusal"'],
    "pager": ["Nothing later", "Nothing earlier", "The latest"],
    "empty": ['class="quiet empty"'],
}


@pytest.mark.django_db
@pytest.mark.parametrize("component", STATES)
@pytest.mark.urls("tests.parties.gallery_urls")
def test_every_state_is_shown(client, component):
    page = client.get(reverse("gallery:components")).text
    assert [state for state in STATES[component] if state not in page] == []


@pytest.mark.django_db
@pytest.mark.urls("tests.parties.gallery_urls")
def test_the_sheet_of_paper_is_styled_by_a_sheet_of_this_origin(client):
    """A style within the page would be refused by its Content-Security-Policy."""
    page = client.get(reverse("gallery:paper")).text
    assert "<style" not in page and " style=" not in page
    sheet = client.get(reverse("gallery:paper-style"))
    assert f'href="{reverse("gallery:paper-style")}"' in page
    assert sheet["Content-Type"].startswith("text/css") and "{%" not in sheet.text
    assert sheet.text.strip() in render_to_string("components/paper.html")


def test_there_is_no_gallery_unless_it_was_asked_for(client, db):
    with pytest.raises(NoReverseMatch):
        reverse("gallery:components")
    assert client.get("/gallery/").status_code == 404


@pytest.mark.parametrize(("asked", "address"), [("1", "/gallery/"), ("", ""), ("0", "")])
def test_the_environment_asks_for_it(tmp_path, asked, address):
    told = {"COUNTERSHADE_GALLERY": asked, "COUNTERSHADE_VAR_DIR": str(tmp_path)}
    told["DJANGO_SETTINGS_MODULE"] = "config.settings"
    run = subprocess.run(
        [sys.executable, "-c", ASK], cwd=ROOT, env=os.environ | told, capture_output=True, text=True
    )
    assert run.stdout.strip() == address
    assert ("NoReverseMatch" in run.stderr) is (not address)
