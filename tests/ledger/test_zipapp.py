"""The published verifier: one file, the same bytes each time, the same answers as the module."""

from __future__ import annotations

import os
import runpy
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from tests import needs
from tests.ledger import plain as make
from tests.ledger.bad.trick import TRICKS
from tests.make_bad_records import write
from tests.make_golden_record import RECORD

ROOT = Path(__file__).parents[2]
GOLDEN = "df47475e3105de95a71b30945a26e672f02d2cf021951b306572b72521ee9e91"


def build(target: Path, **surroundings: str) -> str:
    """The script in a process of its own; the digest that it prints."""
    made = subprocess.run(
        [sys.executable, str(ROOT / ".ci" / "verifier.py"), str(target)],
        capture_output=True,
        text=True,
        check=True,
        cwd=target.parent,
        env={"PATH": os.environ["PATH"], **surroundings},
    )
    return made.stdout.split()[0]


@pytest.fixture(scope="module")
def zipapp(tmp_path_factory) -> Path:
    """The built file, alone in a folder."""
    target = tmp_path_factory.mktemp("empty") / "countershade-verifier.pyz"
    build(target)
    return target


def run(command: list[str], folder: Path) -> subprocess.CompletedProcess[str]:
    kept = {"PATH": os.environ["PATH"]}
    return subprocess.run(
        command, cwd=folder, capture_output=True, text=True, check=False, env=kept
    )


def test_two_builds_are_identical(tmp_path, zipapp):
    one = build(tmp_path / "one.pyz", PYTHONHASHSEED="1", TZ="Asia/Shanghai", LANG="C")
    other = build(tmp_path / "other.pyz", PYTHONHASHSEED="77", TZ="America/Lima")
    assert one == other
    assert (tmp_path / "one.pyz").read_bytes() == zipapp.read_bytes()


def test_it_is_built_without_any_package(tmp_path):
    """Python alone, without site-packages (-S) and without our folder (-I)."""
    script = str(ROOT / ".ci" / "verifier.py")
    made = run([sys.executable, "-I", "-S", script, str(tmp_path / "v.pyz")], tmp_path)
    assert made.returncode == 0, made.stderr
    shown = subprocess.run(["sha256sum", "v.pyz"], cwd=tmp_path, capture_output=True, text=True)
    assert shown.stdout.split()[0] == made.stdout.split()[0]


def test_it_holds_the_verifier_and_nothing_else(zipapp):
    with zipfile.ZipFile(zipapp) as box:
        names = box.namelist()
        assert box.testzip() is None
    own = {f"ledger/verify/{path.name}" for path in (ROOT / "ledger" / "verify").glob("*.py")}
    assert set(names) == own | {"ledger/__init__.py", "__main__.py"}
    assert names == sorted(names)


def test_a_common_tool_finds_it_whole(zipapp):
    needs.program("unzip", "unzip")
    assert run(["unzip", "-t", zipapp.name], zipapp.parent).returncode == 0


def test_the_script_publishes_what_is_committed():
    """`make verifier` writes where it says, and the folder is not committed."""
    made = runpy.run_path(str(ROOT / ".ci" / "verifier.py"))
    assert made["TARGET"] == ROOT / "dist" / "countershade-verifier.pyz"
    assert "dist/" in (ROOT / ".gitignore").read_text().splitlines()


def test_it_reports_as_the_module_does(zipapp, tmp_path):
    """In a folder of its own, isolated (-I): nothing of ours can be imported but what is in it."""
    plain, _, _ = make.signed()
    (tmp_path / "plain.zip").write_bytes(plain.record())
    (tmp_path / "note.txt").write_text(plain.note())
    cases = [
        [str(RECORD), "--root", GOLDEN],
        [str(RECORD), "--root", GOLDEN, "--json"],
        [str(RECORD)],
        ["plain.zip", "--root", plain.fingerprint, "--extends", "note.txt", "--json"],
        ["plain.zip", "--root", "0" * 64],
        ["plain.zip", "--root", "0"],
        ["nothing.zip"],
    ]
    for arguments in cases:
        alone = run([sys.executable, "-I", str(zipapp), *arguments], tmp_path)
        module = subprocess.run(
            [sys.executable, "-m", "ledger.verify", *arguments],
            cwd=tmp_path,
            capture_output=True,
            text=True,
            check=False,
            env={"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT)},
        )
        shown = (alone.returncode, alone.stdout, alone.stderr)
        assert shown == (module.returncode, module.stdout, module.stderr), arguments
    assert alone.returncode == 2


def test_a_reader_who_has_seen_enough_is_no_fault(zipapp):
    """A closed pipe: the status is the record's, and nothing is said of the pipe."""
    reading, writing = os.pipe()
    os.close(reading)
    told = subprocess.run(
        [sys.executable, "-I", str(zipapp), str(RECORD), "--root", GOLDEN],
        stdout=writing,
        stderr=subprocess.PIPE,
        check=False,
    )
    os.close(writing)
    assert (told.returncode, told.stderr) == (0, b"")


def test_it_refuses_bad_records_and_unpacks_good_ones(zipapp, tmp_path):
    written = write(tmp_path / "bad")
    assert len(written) == len(TRICKS)
    for bad in written[:: len(written) // 8]:
        held = ["--extends", str(bad.note)] if bad.note else []
        command = [sys.executable, "-I", str(zipapp), str(bad.path), "--root", bad.root, *held]
        told = run(command, tmp_path)
        assert told.returncode in {1, 2, 4} and f"finding {bad.expected}: " in told.stdout
        assert "Traceback" not in told.stdout + told.stderr
    command = [sys.executable, "-I", str(zipapp), str(RECORD), "--root", GOLDEN]
    assert run([*command, "--unpack", "out"], tmp_path).returncode == 0
    assert len(list((tmp_path / "out" / "entries").iterdir())) == 100
