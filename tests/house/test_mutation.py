"""The program that plants faults: what it plants, what it counts, how it finds the tests."""

import subprocess
import sys

import pytest

from tests import mutants, mutation
from tests.house.source import ROOT

TINY = "tests/house/planted/tiny.py"
CHECK = "tests/house/planted/check_tiny.py"


def planted(text):
    """The faults of a text as (old, new)."""
    return {(one.old, one.new) for one in mutants.mutants(text, "module.py")}


@pytest.fixture(scope="module")
def done():
    return subprocess.run(
        [sys.executable, "-m", "tests.mutation", TINY, "--tests", CHECK, "--longest", "0.5"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )


def test_an_unchecked_border_survives_and_a_checked_one_is_killed(done):
    survivors = [line for line in done.stdout.splitlines() if line.startswith("survivor")]
    assert f"survivor {TINY}:13  share > 0.5 → share >= 0.5" in survivors
    assert all(":13" in line for line in survivors)
    assert len(survivors) == 3


def test_the_score_counts_endless_loops_as_killed_and_decides_the_exit_status(done):
    assert f"{TINY}: 17 mutants, 14 killed, 3 survivors, score 82.4 %" in done.stdout
    assert done.returncode == 1
    assert done.stderr == ""


def test_tests_that_fail_unchanged_are_no_measure(tmp_path):
    failing = tmp_path / "test_failing.py"
    failing.write_text("def test_it():\n    assert 1 == 2\n")
    words = [sys.executable, "-m", "tests.mutation", TINY, "--tests", str(failing)]
    done = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert "the tests fail unchanged" in done.stderr
    assert "assert 1 == 2" in done.stderr


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("a < b", {("a < b", "a <= b"), ("a < b", "a >= b")}),
        ("a == b", {("a == b", "a != b")}),
        ("a in b", {("a in b", "a not in b")}),
        ("a * b", {("a * b", "a / b")}),
        ("a and b", {("a and b", "a or b")}),
        ("not a", {("not a", "a")}),
        ("3", {("3", "4"), ("3", "2")}),
        ("0.25", {("0.25", "0.275"), ("0.25", "0.225")}),
        ("8.0", {("8.0", "9.0"), ("8.0", "7.0")}),
        ("True", {("True", "False")}),
        ("np.minimum(a, b)", {("np.minimum(a, b)", "np.maximum(a, b)")}),
        ("abs(a)", {("abs(a)", "a")}),
        ("[a for a in b if c]", {("for a in b if c", "for a in b")}),
        ("a if b else c", {("a if b else c", "a if not b else c")}),
    ],
)
def test_an_expression_has_these_faults(text, expected):
    assert planted(f"x = {text}\n") == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("if a:\n    raise E\n", {("raise E", "pass"), ("if a: …", "if not a: …")}),
        (
            "def f(a, *, b='c'):\n    return a\n",
            {("return a", "return None"), ("a, *, b='c'", "a, *, b=None")},
        ),
        ("x += a\n", {("x += a", "x -= a")}),
        ("check(a)\n", {("check(a)", "pass")}),
        ("while a:\n    break\n", {("while a: …", "while not a: …"), ("break", "continue")}),
    ],
)
def test_a_statement_has_these_faults(text, expected):
    assert planted(text) == expected


@pytest.mark.parametrize(
    "text",
    [
        '"""Text with 3 numbers."""\n',
        "def f(a: Literal[3]) -> Literal[4]: pass\n",
        "@cache(maxsize=3)\ndef f(): pass\n",
        'x = f"{a + 1} of 3"\n',
        "x = zip(a, b, strict=True)\n",
        "if __name__ == '__main__':\n    main(3)\n",
    ],
)
def test_what_no_test_of_behaviour_could_tell_is_left_alone(text):
    assert planted(text) == set()


def test_each_mutant_differs_from_the_file_in_its_own_place():
    file = (ROOT / TINY).read_text()
    original = mutants.ast.unparse(mutants.mutated(file, None))
    texts = [mutants.ast.unparse(mutants.mutated(file, one)) for one in mutants.mutants(file, TINY)]
    assert original not in texts
    assert len(set(texts)) == len(texts)


def test_tests_are_found_by_the_name_of_module_and_folder():
    names = [path.name for path in mutation.tests_of(ROOT / "colorimetry" / "difference.py")]
    assert "test_difference.py" in names
    assert mutation.tests_of(ROOT / "colorimetry" / "weights" / "x.py")[0].name == "test_weights.py"
    with pytest.raises(SystemExit, match="say which"):
        mutation.tests_of(ROOT / "colorimetry" / "nowhere.py")


def test_modules_are_named_as_tests_import_them():
    assert mutation.module_name(ROOT / "colorimetry" / "__init__.py") == "colorimetry"
    assert mutation.module_name(ROOT / "colorimetry" / "numbers.py") == "colorimetry.numbers"


def test_scripts_that_make_tables_are_not_planted_in_folders():
    names = {file.name for file in mutation.files_of(ROOT / "colorimetry")}
    assert "difference.py" in names
    assert not any(name.startswith("make_") for name in names)
