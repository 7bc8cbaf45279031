"""The table in a process of its own: `build DIR` plays the world into a database file, `check DIR`
runs the table on it and tells by its exit status what it found. Used by `survivors`.
"""

from __future__ import annotations

import os
import pickle
import shutil
import sys
from pathlib import Path
from typing import Any

import django

PASSES, FAILS, SAME = 0, 1, 3  # exit statuses of `check`; any other is a crash: found as well
SIDES = ("customer", "supplier", "auditor")


def marks() -> dict[str, Any]:
    """What the views say of themselves, by name of the address."""
    from django.urls import get_resolver

    def walk(resolver: Any, space: str) -> Any:
        for entry in resolver.url_patterns:
            if hasattr(entry, "url_patterns"):
                yield from walk(entry, space + (f"{entry.namespace}:" if entry.namespace else ""))
            else:
                access = getattr(entry.callback, "access", None)
                said = access and (access.sides, access.roles, access.methods, access.kind)
                yield f"{space}{entry.name}", said

    return dict(walk(get_resolver(), ""))


def build(folder: Path) -> None:
    """Play the world once and keep it."""
    from django.core.management import call_command
    from django.db import connection

    from tests.access.stage import build as play
    from tests.access.stage import html_for_pdf, quiet_settings
    from tests.access.test_canaries import read_in_agreement, read_in_register

    call_command("migrate", verbosity=0)
    with quiet_settings(folder), html_for_pdf():
        stage = play()
        texts: dict[str, Any] = {side: read_in_agreement(stage, side) for side in SIDES}
        texts["register"] = read_in_register(stage)
    stage.handlers.clear()
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    (folder / "stage.pickle").write_bytes(pickle.dumps((stage, marks(), texts)))


def check(folder: Path, file: str, marks_only: bool) -> int:
    """The table and the comparisons; the addresses whose marks are new come first."""
    from django.db import transaction
    from django.test.utils import setup_test_environment

    from tests.access.stage import html_for_pdf, quiet_settings

    stage, known, texts = pickle.loads((folder / "stage.pickle").read_bytes())  # noqa: S301  (our own)
    setup_test_environment()
    now = marks()
    changed = {name for name in known.keys() | now.keys() if known.get(name) != now.get(name)}
    if marks_only and not changed:
        return SAME
    with quiet_settings(folder), html_for_pdf(), transaction.atomic():
        try:
            everything(stage, changed, texts, file)
        except AssertionError as found:
            print(str(found)[:300])
            return FAILS
        finally:
            transaction.set_rollback(True)
    return PASSES


def everything(stage: Any, first: set[str], texts: dict[str, Any], file: str) -> None:
    """What the tests of this folder run, the likeliest first; `texts` is what was read before."""
    from tests.access.checks import check_rule
    from tests.access.table import RULES
    from tests.access.test_canaries import (
        check_acts,
        check_agreement,
        check_files_of_entries,
        check_filter,
        check_hidden_verdict,
        check_listed,
        check_named_in_entries,
        check_register,
    )

    for rule in RULES:
        if rule.name in first:
            check_rule(stage, rule)
    places = ["supplier", "customer", "auditor", "register"]
    for place in sorted(places, key=lambda place: (place == "register") != ("parties/" in file)):
        if place == "register":
            check_register(stage, texts[place])
        else:
            check_agreement(stage, place, texts[place])
    check_acts(stage)
    check_hidden_verdict(stage)
    check_named_in_entries(stage)
    check_filter(stage)
    check_files_of_entries(stage)
    check_listed(stage)
    for rule in RULES:
        if rule.name not in first:
            check_rule(stage, rule)


def main() -> int:
    """`build DIR` or `check DIR FILE [--marks]`: FILE is the module that was changed, --marks says
    that nothing but a mark can have changed. The database is DIR/world.sqlite3."""
    command, folder = sys.argv[1], Path(sys.argv[2])
    if command == "check":  # a copy: the world is left as it is
        copy = folder / f"world-{os.getpid()}.sqlite3"
        shutil.copy(folder / "world.sqlite3", copy)
    else:
        copy = folder / "world.sqlite3"
    os.environ["DATABASE_URL"] = f"sqlite:///{copy}"
    os.environ["COUNTERSHADE_VAR_DIR"] = str(folder / "var")
    os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings"
    django.setup()
    if command == "build":
        build(folder)
        return PASSES
    try:
        return check(folder, sys.argv[3], "--marks" in sys.argv)
    finally:
        for file in folder.glob(f"{copy.name}*"):
            file.unlink()


if __name__ == "__main__":
    sys.exit(main())
