"""Template pieces used on every page."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from django import template
from django.forms import BoundField
from django.template.defaultfilters import date
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext_lazy as _

from parties import glossary
from parties.access import way_to
from parties.acts import Act
from parties.whose_move import Move, whose

register = template.Library()

# A state is told by its word and by a shape; the tint of the style sheet comes third.
SHAPES = {
    "good": "●",
    "bad": "■",
    "open": "◆",
    "waiting": "○",
    "ended": "–",
}
TONES = {
    "conforming": "good",
    "accepted": "good",
    "approved": "good",
    "signed": "good",
    "settled": "good",
    "released": "good",
    "done": "good",
    "met": "good",
    "nonconforming": "bad",
    "rejected": "bad",
    "failed": "bad",
    "invalid": "bad",
    "blocker": "bad",
    "inconclusive": "open",
    "incomplete": "open",
    "missing": "open",
    "warning": "open",
    "waived": "ended",
    "withdrawn": "ended",
    "ended": "ended",
    "closed": "ended",
}


@register.simple_tag
def state(value: str, words: str) -> SafeString:
    """A state: shape and word, `value` being its id and `words` the translated text."""
    tone = TONES.get(str(value), "waiting")
    return format_html(
        '<span class="state {}"><span class="shape" aria-hidden="true">{}</span> {}</span>',
        tone,
        SHAPES[tone],
        words,
    )


MISSING = "–"
MOVES = {"yours": "▶", "theirs": "▷", "nobody": "–"}


@register.inclusion_tag("components/whose_move.html", takes_context=True)
def whose_move(context: template.Context, move: Move) -> dict[str, Any]:
    """Whose move it is, said to this reader: a guest of the table is told of the sides alone."""
    sitter = context.get("sitter")
    id, label = whose(move.sides, sitter.seat.side if sitter else "")
    return {"id": id, "shape": MOVES[id], "label": label, "act": move.act or move.words}


@register.inclusion_tag("components/what_is.html")
def what_is(id: str) -> dict[str, Any]:
    """What a word of the glossary means; an unknown one is an error of the page."""
    return {"entry": glossary.entry(id)}


@register.inclusion_tag("components/number.html")
def number(
    value: Any,
    unit: str = "",
    *,
    margin: Any = "",
    stated: str = "",
    sign: str = "",
    condition: Iterable[str] = (),
) -> dict[str, Any]:
    """A number with its unit, its margin and how that is stated, and the condition it holds for.

    sign: what stands before it, such as "≤"; stated: such as "U, k = 2". A value that is missing is
    a dash, without margin and unit; a margin may stand alone.
    """
    text = "" if value is None else str(value)
    if value is None or text == MISSING or not (text or margin):
        return {"value": MISSING, "condition": [one for one in condition if one]}
    return {
        "value": f"{sign} {text}".strip(),
        "unit": unit,
        "margin": margin,
        "stated": stated,
        "condition": [one for one in condition if one],
    }


@register.simple_tag
def field_control(bound: BoundField) -> SafeString:
    """The input of a form field, tied for screen readers to what components/field.html says."""
    said = {
        "help": bound.help_text,
        "errors": bound.errors,
        "unit": getattr(bound.field, "unit", ""),
        "suggested": getattr(bound.field, "suggested", ""),
        "source": getattr(bound.field, "source", ""),
    }
    described = " ".join(f"{bound.auto_id}_{part}" for part, words in said.items() if words)
    attrs: dict[str, Any] = {"aria-describedby": described} if described else {}
    if bound.errors:
        attrs["aria-invalid"] = "true"
    return bound.as_widget(attrs=attrs)


@register.filter
def day(value: Any) -> SafeString | str:
    """A date as the house writes it, never broken within."""
    return _time(value, "Y-m-d")


@register.filter
def moment(value: Any) -> SafeString | str:
    """Date and minute; the words beside it say UTC."""
    return _time(value, "Y-m-d H:i")


@register.filter
def instant(value: Any) -> SafeString | str:
    """Date and second."""
    return _time(value, "Y-m-d H:i:s")


def _time(value: Any, form: str) -> SafeString | str:
    words = date(value, form)
    return words and format_html('<time class="time">{}</time>', words)


@register.simple_tag
def scrolls() -> SafeString:
    """What a frame needs so that a table in it can be scrolled with the keyboard as well."""
    return format_html(' tabindex="0" role="group" aria-label="{}"', _("Table"))


@register.simple_tag(takes_context=True)
def act_links(
    context: template.Context, app: str, acts: list[Act], obj: Any
) -> list[dict[str, Any]]:
    """Links to those acts that the reader's side and role may do to `obj` in its state; `first`
    and in front those that are the page's `move`, where it is the reader's."""
    sitter = context.get("sitter")
    if sitter is None:
        return []
    links = []
    for act in acts:
        if not act.open_to(sitter) or not act.fits(obj):
            continue
        kwargs = {"dossier": sitter.dossier_id} | ({"pk": obj.pk} if act.model else {})
        links.append(
            {
                "url": reverse(f"{app}:{act.url_name}", kwargs=kwargs),
                "title": str(act.title),
                "first": act.makes(context.get("move"), sitter.seat.side),
            }
        )
    return sorted(links, key=lambda link: not link["first"])


@register.simple_tag(takes_context=True)
def onward(context: template.Context, said: Mapping[str, Any]) -> str:
    """The query of this page with what another page of a list says (`parties.paging.Marks`)."""
    query = context["request"].GET.copy()
    for name, value in said.items():
        query.pop(name, None)
        if value is not None:
            query[name] = value
    return f"?{query.urlencode()}"


@register.simple_tag(takes_context=True)
def url_if(context: template.Context, name: str, **kwargs: Any) -> str:
    """The address of a page, or nothing where there is no such page or the reader may not open
    it: nobody is led to a closed door."""
    return way_to(context.get("sitter"), name, **kwargs)
