"""The word of a verdict, with its shape."""

from django import template
from django.utils.safestring import SafeString

from parties.templatetags.countershade import state
from shipments.models import Verdict

register = template.Library()


@register.simple_tag
def outcome_state(value: str) -> SafeString:
    """A verdict's word as a state: shape and word."""
    return state(value, str(Verdict.Outcome(value).label))
