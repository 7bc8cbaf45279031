"""Words of directions."""

from django import template

from evidence.models import Direction

register = template.Library()


@register.simple_tag
def direction_word(value: str) -> str:
    """The translated word of a direction's id."""
    return str(Direction(value).label)
