"""The gallery shows every component, in both languages, and only where it was asked for."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
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
