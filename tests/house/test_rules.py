"""The tree keeps the house rules, and each rule finds what is planted against it."""

from __future__ import annotations

import os
import subprocess
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.house import figures, imports, layout, status
from tests.house.source import PACKAGES, PURE, ROOT, Finding, sources

Rule = Callable[[Path], list[Finding]]


@pytest.mark.parametrize("rule", [imports.findings, status.findings, layout.findings])
def test_the_tree_keeps_the_rules(rule: Rule) -> None:
    assert [str(finding) for finding in rule(ROOT)] == []


def test_every_package_of_the_table_exists_and_is_looked_at() -> None:
    assert {source.package for source in sources()} == set(PACKAGES)


def plant(root: Path, files: dict[str, str]) -> Path:
    """Write a small tree."""
    for name, text in files.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return root


IMPORTS = {
    "an app above": ("evidence/forms.py", "from shipments.models import Lot\n", "upward-import"),
    "a whole app above": ("parties/forms.py", "import desk\n", "upward-import"),
    "inside a function": (
        "parties/forms.py",
        "def f():\n    from disputes import models\n",
        "upward-import",
    ),
    "inside a method, deep": (
        "jobs/queue.py",
        "class A:\n    def f(self):\n        if 1:\n            import parties.models\n",
        "upward-import",
    ),
    "for types only": (
        "jobs/queue.py",
        "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from parties import models\n",
        "upward-import",
    ),
    "a relative path out of the package": (
        "ledger/chain.py",
        "from ..parties import models\n",
        "upward-import",
    ),
    "the ledger from the method": (
        "method/judge.py",
        "from ledger import chain\n",
        "upward-import",
    ),
    "another name of the ledger from the method": (
        "method/judge.py",
        "import ledger\n",
        "upward-import",
    ),
    "the method from colorimetry": (
        "colorimetry/lab.py",
        "from method import packed\n",
        "upward-import",
    ),
    "jobs from the ledger": (
        "ledger/export.py",
        "from jobs.queue import enqueue\n",
        "upward-import",
    ),
    "the settings from an app": ("desk/views.py", "from config import env\n", "upward-import"),
    "a dynamic import": (
        "parties/views.py",
        "import importlib\nimportlib.import_module('desk.views')\n",
        "upward-import",
    ),
    "a relation by name": (
        "evidence/models.py",
        "lot = models.ForeignKey('shipments.Lot', on_delete=1)\n",
        "upward-import",
    ),
    "a relation by keyword": (
        "evidence/models.py",
        "lot = models.ForeignKey(on_delete=1, to='shipments.Lot')\n",
        "upward-import",
    ),
    "a model by name": (
        "parties/access.py",
        "x = apps.get_model('disputes', 'Dispute')\n",
        "upward-import",
    ),
    "a hidden import of our own": (
        "desk/views.py",
        "def f():\n    from parties.models import Seat\n",
        "hidden-import",
    ),
    "a hidden relative import": (
        "desk/views.py",
        "def f():\n    from . import forms\n",
        "hidden-import",
    ),
    "a hidden import in ready() of another app": (
        "desk/apps.py",
        "class A:\n    def ready(self):\n        from parties import tasks\n",
        "hidden-import",
    ),
    "Django in the method": ("method/judge.py", "from django.db import models\n", "impure-import"),
    "Django in colorimetry, inside": (
        "colorimetry/lab.py",
        "def f():\n    import django\n",
        "impure-import",
    ),
    "Django in the canonical form": (
        "ledger/canonical.py",
        "from django.utils import timezone\n",
        "impure-import",
    ),
    "Django in the verifier": (
        "ledger/verify/checks.py",
        "from django.utils import timezone\n",
        "verifier-import",
    ),
    "the rest of the ledger in the verifier": (
        "ledger/verify/checks.py",
        "from ledger import canonical\n",
        "verifier-import",
    ),
    "a receiver": ("parties/glue.py", "from django.dispatch import receiver\n", "signal"),
    "a model signal": (
        "parties/glue.py",
        "from django.db.models.signals import post_save\n",
        "signal",
    ),
    "all model signals": ("parties/glue.py", "from django.db.models import signals\n", "signal"),
    "a request signal": (
        "parties/glue.py",
        "from django.core.signals import request_finished\n",
        "signal",
    ),
}


@pytest.mark.parametrize(("path", "text", "rule"), IMPORTS.values(), ids=IMPORTS)
def test_a_planted_import_is_found(tmp_path: Path, path: str, text: str, rule: str) -> None:
    found = imports.findings(plant(tmp_path, {path: text}))
    assert rule in {finding.rule for finding in found}
    assert {finding.path for finding in found} == {path}


def test_what_the_table_allows_passes(tmp_path: Path) -> None:
    allowed = {
        "desk/views.py": "from disputes.models import Dispute\nfrom jobs import queue\n",
        "method/judge.py": "from colorimetry import lab\nfrom ledger.canonical import digest\n",
        "method/more.py": "from ledger import canonical\n",
        "parties/pdf.py": "def f():\n    import weasyprint\n    return weasyprint\n",
        "ledger/verify/checks.py": "import json\nfrom cryptography import x509\n",
        "ledger/verify/more.py": "from ledger.verify import checks\nfrom . import checks as c\n",
        "ledger/apps.py": "from django.db.models.signals import post_migrate\n",
        "parties/apps.py": "class A:\n    def ready(self):\n        from parties import tasks\n",
        "evidence/models.py": "x = models.ForeignKey('parties.Seat', on_delete=1)\n",
        "fixtures/play.py": "from desk import views\n",
        "agreements/migrations/0001_initial.py": "x = apps.get_model('disputes', 'Dispute')\n",
    }
    assert imports.findings(plant(tmp_path, allowed)) == []


STATUS = {
    "assigned": "lot.status = 'released'\n",
    "assigned with a type": "lot.status: str = 'released'\n",
    "assigned in a tuple": "lot.status, x = 'released', 1\n",
    "assigned by a loop": "for lot.status in ('a', 'b'): pass\n",
    "a state": "revision.state = 'signed'\n",
    "set by name": "setattr(lot, 'status', 'released')\n",
    "set by a computed name": "setattr(lot, 'sta' + 'tus', 'released')\n",
    "set through object": "object.__setattr__(lot, 'status', 'released')\n",
    "set in the dictionary": "lot.__dict__['status'] = 'released'\n",
    "set through vars": "vars(lot)['status'] = 'released'\n",
    "update": "Lot.objects.filter(pk=1).update(status='released')\n",
    "update from a dictionary": "rows.update(**{'status': 'released'})\n",
    "update from dict()": "rows.update(**dict(status='released'))\n",
    "create": "Lot.objects.create(status='released')\n",
    "defaults": "rows.update_or_create(pk=1, defaults={'status': 'released'})\n",
    "a row made outside": "row = Lot(status='released')\n",
    "bulk update": "Lot.objects.bulk_update(rows, ['status'])\n",
    "bulk update by keyword": "Lot.objects.bulk_update(rows, fields=('status',))\n",
    "raw SQL": "cursor.execute('UPDATE shipments_lot SET x = 1, status = 2')\n",
}
MODELS = "class Lot:\n    status = models.CharField()\n"


@pytest.mark.parametrize("text", STATUS.values(), ids=STATUS)
def test_a_planted_status_change_is_found(tmp_path: Path, text: str) -> None:
    files = {"shipments/models.py": MODELS, "shipments/views.py": "x = 1\n" + text}
    found = status.findings(plant(tmp_path, files))
    assert {(finding.path, finding.line) for finding in found} == {("shipments/views.py", 2)}


def test_a_job_changes_its_state_in_transitions_too(tmp_path: Path) -> None:
    text = "Job.objects.filter(pk=1).update(state='done')\n"
    files = {"jobs/queue.py": text, "jobs/transitions.py": text}
    found = status.findings(plant(tmp_path, files))
    assert [finding.path for finding in found] == ["jobs/queue.py"]


@pytest.mark.parametrize("text", STATUS.values(), ids=STATUS)
@pytest.mark.parametrize("place", ["transitions.py", "transitions/lots.py", "migrations/0001.py"])
def test_a_transition_may_change_a_status(tmp_path: Path, place: str, text: str) -> None:
    files = {"shipments/models.py": MODELS, f"shipments/{place}": text}
    assert status.findings(plant(tmp_path, files)) == []


def test_reading_a_status_is_free(tmp_path: Path) -> None:
    text = (
        '"""An update of rows may set the status elsewhere: words only."""\n'
        "if lot.status == 'open': pass\n"
        "Lot.objects.filter(status='open')\n"
        "return_value = Response({'status': 1}, status=404)\n"
        "context.update(title='x')\n"
        "row = {'status': 'open'}\n"
        "row['status'] = 'open'\n"
    )
    files = {"shipments/models.py": MODELS, "shipments/views.py": text}
    assert status.findings(plant(tmp_path, files)) == []


@pytest.mark.parametrize(
    ("files", "rule"),
    [
        ({"config/settings.py": "ATOMIC_REQUESTS = True\n"}, "forbidden"),
        ({"config/settings.py": "x = {'ATOMIC_REQUESTS': True}\n"}, "forbidden"),
        ({"config/settings.py": "x = dict(ATOMIC_REQUESTS=True)\n"}, "forbidden"),
        ({"config/settings.py": "x = ['django.contrib.admin']\n"}, "forbidden"),
        ({"config/urls.py": "from django.contrib.admin import site\n"}, "forbidden"),
        ({"parties/utils.py": "x = 1\n"}, "no-home"),
        ({"parties/services/seats.py": "x = 1\n"}, "no-home"),
        ({"parties/models/helpers.py": "x = 1\n"}, "no-home"),
        ({"library/x.py": "x = 1\n"}, "top-level"),
        ({"notes.txt": "x\n"}, "top-level"),
        ({"method/judge.py": "def judge():\n    return 1\n"}, "docstring"),
        ({"ledger/chain.py": "class Actor:\n    pass\n"}, "docstring"),
    ],
)
def test_a_planted_thing_out_of_place_is_found(
    tmp_path: Path, files: dict[str, str], rule: str
) -> None:
    found = layout.findings(plant(tmp_path, files))
    assert {finding.rule for finding in found} == {rule}


def test_tracked_strangers_are_found_in_version_control(tmp_path: Path) -> None:
    plant(tmp_path, {"stray/x.py": "", "untracked/y.py": "", "README.md": ""})
    for command in (["init", "-q"], ["add", "stray", "README.md"]):
        subprocess.run(["git", "-C", str(tmp_path), *command], check=True)
    assert [finding.path for finding in layout.strangers(layout.tracked(tmp_path))] == ["stray"]


def test_the_database_settings_have_no_request_transactions(settings) -> None:
    assert not settings.DATABASES["default"].get("ATOMIC_REQUESTS")
    assert "django.contrib.admin" not in settings.INSTALLED_APPS


def test_the_pure_packages_load_without_django() -> None:
    modules = [s.module for s in sources(packages=tuple(sorted(PURE))) if s.path.stem != "__main__"]
    program = (
        "import importlib, sys\n"
        "for name in sys.argv[1:]:\n"
        "    importlib.import_module(name)\n"
        "sys.exit('django is loaded' if 'django' in sys.modules else 0)\n"
    )

    def load(*names: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-c", program, *names]
        environment = {k: v for k, v in os.environ.items() if not k.startswith("DJANGO_")}
        return subprocess.run(
            command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False
        )

    done = load(*modules)
    assert (done.returncode, done.stderr) == (0, "")
    assert "django is loaded" in load(*modules, "django").stderr


def body(lines: int) -> str:
    """A function of that many lines below a docstring of three."""
    return 'def f():\n    """Words.\n\n    More.\n    """\n' + "    x = 1\n" * (lines - 1)


def test_figures_count_functions_without_their_docstrings(tmp_path: Path) -> None:
    plant(tmp_path, {"config/a.py": body(60), "config/b.py": "x = 1\n" * 450})
    measured = figures.measure(tmp_path)
    rows = {what: figure for what, figure, _ in measured.rows()}
    assert rows["function lines, longest"] == 60
    assert rows["file lines, longest"] == 450
    assert rows["function lines, p90"] == 60


@pytest.mark.parametrize(
    ("files", "broken"),
    [
        ({"config/a.py": body(61)}, "function lines, longest"),
        ({"config/a.py": "x = 1\n" * 451}, "file lines, longest"),
        ({f"config/a{i}.py": body(31) for i in range(9)}, "function lines, p90"),
        ({f"config/a{i}.py": "x = 1\n" * 301 for i in range(9)}, "file lines, p90"),
        ({"jobs/a.py": "import desk\n"}, "upward imports"),
        ({"desk/a.py": "def f():\n    import jobs\n"}, "hidden own imports"),
        ({"desk/utils.py": ""}, "other house findings"),
    ],
)
def test_figures_break_on_a_planted_excess(
    tmp_path: Path, files: dict[str, str], broken: str
) -> None:
    measured = figures.measure(plant(tmp_path, files))
    assert measured.broken()
    assert broken in {what for what, figure, limit in measured.rows() if figure > limit}
    assert any("BROKEN" in line for line in figures.lines(measured))


def test_figures_of_a_sound_tree_are_not_broken(tmp_path: Path) -> None:
    assert not figures.measure(plant(tmp_path, {"config/a.py": body(30)})).broken()


def test_p90_is_the_nearest_rank() -> None:
    lengths = [figures.Length(str(i), i) for i in range(1, 11)]
    assert figures.p90(lengths) == 9
    assert figures.p90(lengths[:1]) == 1
    assert figures.p90([]) == 0


def test_both_version_numbers_agree() -> None:
    version = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["version"]
    headings = [x for x in (ROOT / "CHANGELOG.md").read_text().splitlines() if x.startswith("## ")]
    assert headings[0].split()[1] == version
