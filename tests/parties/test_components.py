"""What the components say: numbers with their margin, the parts of a field, kinds of notices."""

from __future__ import annotations

import re

import pytest
from django import forms
from django.template import Context, Template
from django.template.loader import render_to_string
from django.utils.html import strip_tags

from parties.forms import CleanForm
from parties.paging import Marks


def said(template: str, **context: object) -> str:
    """The words of a template, as one line."""
    return " ".join(strip_tags(Template(template).render(Context(context))).split())


# (value ± U) unit, and k with it: from memory of JCGM 100:2008, 7.2.2 to 7.2.4, and of the SI
# Brochure, 5.4.5; neither was looked at for this.
@pytest.mark.parametrize(
    ("tag", "words"),
    [
        (
            '{% number "0.54" "ΔE00" margin="0.20" stated="U, k = 2" %}',
            "(0.54 ± 0.20) ΔE00 (U, k = 2)",
        ),
        ('{% number "0.54" margin="0.20" %}', "0.54 ± 0.20"),
        ('{% number "1.00" "ΔE00" sign="≤" %}', "≤ 1.00 ΔE00"),
        ('{% number "900" "lx" %}', "900 lx"),
        ('{% number "" "ΔE00" margin="0.20" %}', "± 0.20 ΔE00"),
        ('{% number None "ΔE00" margin="0.20" stated="U, k = 2" %}', "–"),
        ('{% number "–" margin="0.20" %}', "–"),
        ('{% number "" "mm" %}', "–"),
        ('{% number 0 "°C" %}', "0 °C"),
        ('{% number "0.54" condition=held %}', "0.54 D65, 10°"),
    ],
)
def test_a_number_says_its_margin_unit_and_condition(tag, words):
    assert said(tag, held=["D65", "", "10°"]) == words


def test_the_condition_of_a_difference_says_all_that_it_holds_for():
    item = {
        "formula": "CIEDE2000", "illuminant": "D65", "observer": "10", "geometry_words": "45:0",
        "compared_words": "sealed sample M-1", "limit": "1.00", "uncertainty": "0.20",
    }  # fmt: skip
    words = said('{% include "components/condition.html" %}', item=item)
    for part in (
        "CIEDE2000, D65, 10°, 45:0",
        "≤ 1.00 ΔE00",
        "± 0.20 ΔE00 (U, k = 2)",
        "sample M-1",
    ):
        assert part in words


class Form(CleanForm):
    """One field with every part, one with none."""

    full = forms.CharField(label="Limit", help_text="Compared on printed decimals.")
    bare = forms.CharField(required=False)

    def __init__(self, *args: object):
        super().__init__(*args)
        field = self.fields["full"]
        field.unit, field.suggested, field.source = "lux", "900", "a standard"


def test_each_part_of_a_field_is_seen_and_tied_to_its_input():
    page = str(Form({"full": ""}).as_div())
    control = re.search(r'<input[^>]*name="full"[^>]*>', page)
    assert control and 'aria-invalid="true"' in control[0]
    ids = re.search(r'aria-describedby="([^"]*)"', control[0])
    assert ids
    words = {}
    for one in ids[1].split():
        part = re.search(rf'<(\w+)[^>]*id="{one}"[^>]*>(.*?)</\1>', page)
        assert part, one
        words[one.removeprefix("id_full_")] = strip_tags(part[2])
    assert words == {
        "unit": "lux",
        "help": "Compared on printed decimals.",
        "suggested": "Suggested: 900",
        "source": "Source: a standard",
        "errors": "This field is required.",
    }
    assert list(words) == ["help", "errors", "unit", "suggested", "source"]


def test_a_field_without_parts_describes_nothing():
    page = str(Form().as_div())
    control = re.search(r'<input[^>]*name="bare"[^>]*>', page)
    assert control and "aria-describedby" not in control[0]


@pytest.mark.parametrize(
    ("kind", "words", "announced"),
    [("info", "To know:", False), ("caution", "Caution:", False), ("", "Not done:", True)],
)
def test_a_notice_says_its_kind_and_a_refusal_alone_is_announced(kind, words, announced):
    page = render_to_string("components/notice.html", {"words": "So it is.", "kind": kind})
    assert words in page and "So it is." in page
    assert ('role="alert"' in page) is announced


@pytest.mark.parametrize(
    ("later", "earlier", "words"),
    [
        (None, 12, "Nothing later Earlier"),
        (40, 12, "Later The latest Earlier"),
        (40, None, "Later The latest Nothing earlier"),
        (None, None, ""),
    ],
)
def test_a_pager_tells_where_the_list_ends(rf, later, earlier, words):
    page = Marks(earlier, later)
    shown = render_to_string("components/pager.html", {"page": page}, request=rf.get("/"))
    assert " ".join(strip_tags(shown).split()) == words
