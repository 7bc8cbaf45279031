"""What a person changes about themselves."""

from __future__ import annotations

from parties.models import Person


def set_own_facts(person: Person, **facts: str) -> None:
    """Write one's own `name` and `language`; nothing else can be written here."""
    unknown = facts.keys() - {"name", "language"}
    if unknown:
        raise ValueError(f"not one's own to change: {sorted(unknown)}")
    Person.objects.filter(pk=person.pk).update(**facts)
    for name, value in facts.items():
        setattr(person, name, value)
