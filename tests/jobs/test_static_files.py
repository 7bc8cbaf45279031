"""Static files go out compressed, under a name that changes with them, and may be kept for good."""

from __future__ import annotations

import gzip

import pytest
from django.contrib.staticfiles.storage import staticfiles_storage
from django.core.management import call_command
from django.template import Context, Template
from django.test import Client
from django.utils.functional import empty

from jobs.management.commands.serve import UNUSED

ADDRESS = Template("{% load static %}{% static name %}")


def address(name: str) -> str:
    return ADDRESS.render(Context({"name": name}))


@pytest.fixture
def gathered(settings, tmp_path):
    settings.STATIC_ROOT = tmp_path
    staticfiles_storage._wrapped = empty
    call_command("collectstatic", interactive=False, verbosity=0, ignore_patterns=UNUSED)
    staticfiles_storage._wrapped = empty  # what was gathered is read when it is first asked for
    yield tmp_path
    staticfiles_storage._wrapped = empty


def test_what_was_not_gathered_goes_by_its_own_name():
    assert address("not-there.css") == "/static/not-there.css"


@pytest.mark.parametrize("name", ["theme.css", "signing.js", "django_htmx/htmx-2.min.js"])
def test_what_was_gathered_is_kept_for_good_and_compressed(gathered, name):
    found = address(name)
    assert found != f"/static/{name}"
    answer = Client().get(found, headers={"accept-encoding": "gzip"})
    assert "immutable" in answer["Cache-Control"] and answer["Content-Encoding"] == "gzip"
    whole = gzip.decompress(b"".join(answer.streaming_content))
    assert whole == (gathered / found.removeprefix("/static/")).read_bytes()


def test_the_style_sheet_asks_for_the_fonts_under_the_names_that_pages_preload(gathered):
    sheet = (gathered / address("theme.css").removeprefix("/static/")).read_text()
    font = address("fonts/countershade-regular.woff2").rsplit("/", 1)[1]
    assert font.count(".") == 2 and f'url("fonts/{font}")' in sheet


def test_nothing_is_gathered_that_no_page_asks_for(gathered):
    assert not (gathered / "rest_framework").exists()
    forms = {path.name.split(".")[0] for path in (gathered / "django_htmx").iterdir()}
    assert forms == {"htmx-2", "django-htmx"}
