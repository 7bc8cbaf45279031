"""Let a firm in: `manage.py found_organisation NAME ADDRESS`; prints the link for its lead."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.core.validators import validate_email

from parties.forms import clean_text
from parties.transitions import accept_url, found_organisation


class Command(BaseCommand):
    """There is no open sign-up: firms start by an invitation or by this command."""

    help = "Make an organisation and its register, and print the invitation link for its lead."

    def add_arguments(self, parser: CommandParser) -> None:
        """The firm's name and the lead's address."""
        parser.add_argument("name", help="name of the firm")
        parser.add_argument("email", help="e-mail address of its quality lead")

    def handle(self, *args: Any, **options: Any) -> None:
        """Make it, or say what is wrong with which argument."""
        try:
            name = clean_text(options["name"]).strip()
        except ValidationError as problem:
            raise CommandError(f"name: {' '.join(problem.messages)}") from None
        if not 0 < len(name) <= 160:
            raise CommandError("name: 1 to 160 characters are expected")
        try:
            validate_email(options["email"])
        except ValidationError as problem:
            raise CommandError(f"email: {' '.join(problem.messages)}") from None
        founded = found_organisation(name, "", options["email"])
        assert founded.invitation is not None  # noqa: S101 - no password was given
        self.stdout.write(
            f"{name} can be joined once, as {founded.invitation.email}, until "
            f"{founded.invitation.expires_at:%Y-%m-%d} (UTC):"
        )
        self.stdout.write(accept_url(founded.invitation.token))
