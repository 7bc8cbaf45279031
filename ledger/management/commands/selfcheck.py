"""`manage.py selfcheck`: dropped triggers, broken chains, missing blobs; status 1 where any is."""

from __future__ import annotations

import sys
from typing import Any

from django.core.management.base import BaseCommand

from ledger.selfcheck import findings


class Command(BaseCommand):
    """Check that nothing in the ledger or in frozen columns can have been changed unnoticed."""

    help = "Look for dropped triggers, broken chains and missing or altered blobs."

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the findings; end with status 1 where there are any."""
        found = findings()
        for sentence in found:
            self.stdout.write(sentence)
        if found:
            self.stderr.write(f"{len(found)} finding(s)")
            sys.exit(1)
        self.stdout.write("no findings")
