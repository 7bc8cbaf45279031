"""`manage.py database_role NAME`: the SQL that gives the application's role its few rights."""

from __future__ import annotations

import re
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection

from ledger.roles import grants

NAME = re.compile(r"[a-z_][a-z0-9_]{0,62}")


class Command(BaseCommand):
    """Prints and changes nothing: the owner of the tables runs it, after every migration."""

    help = "Print the GRANTs for a PostgreSQL role that can add to history and not change it."

    def add_arguments(self, parser: CommandParser) -> None:
        """The role's name."""
        parser.add_argument("name", help="name of the role under which the service connects")

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the statements, or say why there are none."""
        role = options["name"]
        if connection.vendor != "postgresql":
            raise CommandError("roles are PostgreSQL's: set DATABASE_URL to such a database")
        if not NAME.fullmatch(role):
            raise CommandError(f"{role!r}: a name of lower-case letters, digits and _ is expected")
        if role == connection.settings_dict["USER"]:
            raise CommandError(f"{role} owns the tables: the service needs another role")
        self.stdout.write(f"-- First, once: CREATE ROLE {role} LOGIN PASSWORD '...';")
        for statement in grants(role, connection.settings_dict["NAME"]):
            self.stdout.write(statement)
