"""The verifier needs Python and `cryptography`, and nothing of ours or anybody else's."""

from __future__ import annotations

import ast
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import ledger.verify

FOLDER = Path(ledger.verify.__file__).parent
FILES = sorted(FOLDER.glob("*.py"))


def imported(path: Path) -> set[str]:
    names = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0
            names.add(node.module or "")
    return names


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_it_imports_the_standard_library_and_cryptography_only(path):
    for name in imported(path):
        top = name.split(".")[0]
        own = name == "ledger.verify" or name.startswith("ledger.verify.")
        assert own or top == "cryptography" or top in sys.stdlib_module_names, name


def test_it_loads_nothing_heavy():
    code = (
        "import sys, ledger.verify.__main__; "
        "print([n for n in ('django', 'pydantic', 'rfc8785', 'numpy') if n in sys.modules])"
    )
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert shown.stdout.strip() == "[]"


def test_it_runs_apart_from_the_project(small, tmp_path):
    copy = tmp_path / "apart" / "ledger"
    copy.mkdir(parents=True)
    shutil.copy(FOLDER.parent / "__init__.py", copy)
    shutil.copytree(FOLDER, copy / "verify", ignore=shutil.ignore_patterns("__pycache__"))
    record = tmp_path / "record.zip"
    record.write_bytes(small.record())
    shown = subprocess.run(
        [sys.executable, "-P", "-m", "ledger.verify", str(record), "--root", small.fingerprint],
        capture_output=True,
        text=True,
        check=False,
        cwd=tmp_path,
        env={"PYTHONPATH": str(copy.parent)},
    )
    assert shown.returncode == 0, shown.stderr
    assert "VERIFIED" in shown.stdout
