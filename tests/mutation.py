"""Plants the faults of `tests/mutants.py`, one at a time: do the module's tests see them?

    python -m tests.mutation colorimetry/difference.py
    python -m tests.mutation colorimetry/sampling --limit 100
    python -m tests.mutation colorimetry/numbers.py --tests tests/colorimetry/test_numbers.py

Prints survivors (file:line, old → new, the line) and the score: killed in a hundred. Of a folder,
each file but `make_*.py`. Without `--tests` the files are taken by name: `colorimetry/x.py` and
`colorimetry/x/y.py` are tested by `tests/colorimetry/test_x*.py`.

Nothing is edited on disk: each mutant is compiled from a syntax tree inside a forked child in which
pytest and all libraries are loaded already. The child runs the tests that reach the changed line
first, the quickest before the others, then all the rest, and stops at the first failure. Hypothesis
draws few examples from a fixed seed; a mutant that runs too long or takes too much memory counts as
killed. Tests run without Django and without `conftest.py`: this is for the pure packages.

Why not a library: those looked at copy the tree and start an interpreter for each mutant, expect
test modules that can be imported by package name, or select no operators for boundaries and guards;
with heavy imports that takes hours where this takes minutes. `tests/access/survivors.py` pulls
down access guards in templates and views and needs a copied tree and a database: nothing to share.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import gc
import importlib
import importlib.abc
import importlib.machinery
import importlib.util
import io
import os
import pickle
import resource
import signal
import sys
import tempfile
import time
import warnings
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from types import FrameType
from typing import Any

import pytest

from tests.mutants import Mutant, mutants, mutated

ROOT = Path(__file__).resolve().parents[1]
MEMORY = 6 * 2**30  # bytes of address space for a child
PYTEST = ("-x", "-q", "-p", "no:cacheprovider", "-p", "no:django", "-p", "no:xdist", "--noconftest")
NO_VERDICT = (4, 5, 70)  # pytest was called wrongly or found no test; the child itself failed
PROFILE = "mutation"
EXAMPLES = 20


@dataclass
class Reached:
    """What the unchanged run tells: processor seconds and lines by test, libraries loaded."""

    seconds: dict[str, float] = field(default_factory=lambda: defaultdict(float))
    lines: dict[str, set[tuple[str, int]]] = field(default_factory=lambda: defaultdict(set))
    libraries: list[str] = field(default_factory=list)


class Tracer:
    """A pytest plugin: which lines of the watched files each test reaches, and in what time."""

    def __init__(self, files: Sequence[Path]) -> None:
        self.files = frozenset(str(file) for file in files)
        self.reached = Reached()

    @pytest.hookimpl(hookwrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        lines = self.reached.lines[item.nodeid]

        def within(frame: FrameType, event: str, _argument: Any) -> Callable[..., Any]:
            if event == "line":
                lines.add((frame.f_code.co_filename, frame.f_lineno))
            return within

        def entered(frame: FrameType, _event: str, _argument: Any) -> Callable[..., Any] | None:
            return within if frame.f_code.co_filename in self.files else None

        began = time.process_time()
        sys.settrace(entered)
        yield
        sys.settrace(None)
        self.reached.seconds[item.nodeid] = time.process_time() - began


class Order:
    """A pytest plugin: tests that reach the changed lines first, quick ones before slow ones."""

    def __init__(self, reached: Reached, file: str, lines: range) -> None:
        self.reached, self.wanted = reached, {(file, line) for line in lines}

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        seconds, lines = self.reached.seconds, self.reached.lines
        items.sort(
            key=lambda item: (not self.wanted & lines[item.nodeid], seconds[item.nodeid]),
        )


class Finder(importlib.abc.MetaPathFinder):
    """Gives one module its mutated code, whoever imports it first."""

    def __init__(self, file: Path, tree: ast.Module) -> None:
        self.file, self.name, self.tree = file, module_name(file), tree

    def find_spec(self, fullname: str, path: Any, target: Any = None) -> Any:
        if fullname != self.name:
            return None
        loader = Loader(fullname, str(self.file))
        loader.tree = self.tree
        return importlib.util.spec_from_file_location(fullname, self.file, loader=loader)


class Loader(importlib.machinery.SourceFileLoader):
    """Compiles a syntax tree in place of the file."""

    tree: ast.Module

    def get_code(self, fullname: str) -> Any:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return compile(self.tree, self.path, "exec", dont_inherit=True)


def module_name(file: Path) -> str:
    """The dotted name by which the tests import the file."""
    parts = file.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def pytest_in_child(tests: Sequence[Path], plugins: Sequence[object]) -> int:
    """pytest's exit status; its words go nowhere unless the tests fail unchanged."""
    from hypothesis import HealthCheck, Phase, settings

    settings.register_profile(
        PROFILE,
        max_examples=EXAMPLES,
        derandomize=True,
        database=None,
        deadline=None,
        phases=(Phase.explicit, Phase.generate),
        suppress_health_check=list(HealthCheck),
    )
    settings.load_profile(PROFILE)
    words = [*PYTEST, "-o", "addopts=--import-mode=importlib", f"--rootdir={ROOT}"]
    words += ["-c", str(ROOT / "pyproject.toml"), "-W", "ignore", *map(str, tests)]
    return int(pytest.main(words, plugins=list(plugins)))


def child(work: Callable[[], int], seconds: float, *, words: int | None = None) -> int:
    """Fork; the child does the work and ends with its status. Its process number is returned."""
    sys.stdout.flush()
    sys.stderr.flush()
    number = os.fork()
    if number:
        return number
    status = NO_VERDICT[-1]
    try:
        # Unheard, these signals end the child; by the wall clock late, as others use the machine.
        signal.setitimer(signal.ITIMER_PROF, seconds)
        signal.setitimer(signal.ITIMER_REAL, 5 * seconds)
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        target = os.open(os.devnull, os.O_WRONLY) if words is None else words
        os.dup2(target, 1)
        os.dup2(target, 2)
        sys.stdin = io.StringIO()
        status = work()
        sys.stdout.flush()
    finally:
        os._exit(status)


def unchanged(files: Sequence[Path], tests: Sequence[Path]) -> Reached:
    """Run the tests once as they are, traced; load the libraries that they loaded here, once.

    SystemExit with pytest's words if the tests fail.
    """
    with tempfile.TemporaryFile() as words, tempfile.TemporaryFile() as told:

        def work() -> int:
            tracer = Tracer(files)
            status = pytest_in_child(tests, [tracer])
            names = [name for name in sys.modules if not is_ours(name)]
            tracer.reached.libraries = names
            pickle.dump(tracer.reached, told)
            told.flush()
            return status

        _number, status = os.waitpid(child(work, 900, words=words.fileno()), 0)
        if status:
            words.seek(0)
            raise SystemExit(f"the tests fail unchanged:\n{words.read().decode()[-4000:]}")
        told.seek(0)
        reached: Reached = pickle.load(told)  # noqa: S301 (our own child wrote it)
    with warnings.catch_warnings(), contextlib.redirect_stdout(io.StringIO()):
        warnings.simplefilter("ignore")
        for name in reached.libraries:
            with contextlib.suppress(Exception):
                importlib.import_module(name)
    gc.freeze()
    return reached


def is_ours(name: str) -> bool:
    """Whether the module is a file of this tree (tests too): loaded anew in every child."""
    module = sys.modules.get(name)
    file = getattr(module, "__file__", None) or ""
    path = Path(file) if file else Path("/")
    return path.is_relative_to(ROOT) and "site-packages" not in path.parts


def run(
    planted: Sequence[tuple[Path, str, Mutant | None]],
    tests: Sequence[Path],
    reached: Reached,
    options: argparse.Namespace,
) -> Iterator[tuple[Mutant | None, int]]:
    """(mutant, status of its child) as they end: 0 is a survivor."""
    longest = max(options.longest, 2 * sum(reached.seconds.values()))
    waiting = list(planted)[::-1]
    running: dict[int, Mutant | None] = {}
    while waiting or running:
        while waiting and len(running) < options.processes:
            file, text, mutant = waiting.pop()
            work = partial(judge, file, text, mutant, tests, reached)
            running[child(work, longest)] = mutant
        number, status = os.wait()
        if number not in running:
            continue
        if os.WIFEXITED(status) and os.WEXITSTATUS(status) in NO_VERDICT:
            raise SystemExit(f"no verdict on {running[number]}: status {os.WEXITSTATUS(status)}")
        yield running.pop(number), status


def judge(
    file: Path, text: str, mutant: Mutant | None, tests: Sequence[Path], reached: Reached
) -> int:
    """In the child: plant the mutant, run the tests."""
    sys.meta_path.insert(0, Finder(file, mutated(text, mutant)))
    lines = range(mutant.line, mutant.last_line + 1) if mutant else range(0)
    return pytest_in_child(tests, [Order(reached, str(file), lines)])


def files_of(path: Path) -> list[Path]:
    """The file, or the files of the folder that are not scripts."""
    files = sorted(path.rglob("*.py")) if path.is_dir() else [path]
    files = [file for file in files if path == file or not file.name.startswith("make_")]
    if not files or not all(file.is_file() for file in files):
        raise SystemExit(f"{path}: no module")
    return files


def tests_of(file: Path) -> list[Path]:
    """The test files that are named after the module or its folder."""
    package, first, *_ = file.relative_to(ROOT).with_suffix("").parts
    found = sorted((ROOT / "tests" / package).glob(f"test_{first}*.py"))
    if not found:
        raise SystemExit(f"{file}: no tests/{package}/test_{first}*.py; say which with --tests")
    return found


def score(files: Sequence[Path], tests: Sequence[Path], options: argparse.Namespace) -> list[int]:
    """Judge the mutants of these files by these tests; print survivors; [mutants, killed]."""
    texts = {file: file.read_text(encoding="utf-8") for file in (*files, *tests)}
    reached = unchanged(files, tests)
    as_it_is = [(files[0], texts[files[0]], None)]
    if [status for _none, status in run(as_it_is, tests, reached, options)] != [0]:
        raise SystemExit("the tests fail in another order: they depend on one another")
    names = {file: str(file.relative_to(ROOT)) for file in files}
    planted = [
        (file, texts[file], one) for file in files for one in mutants(texts[file], names[file])
    ]
    if options.limit and len(planted) > options.limit:
        step = len(planted) / options.limit
        planted = [planted[int(number * step)] for number in range(options.limit)]
    counts: dict[str, list[int]] = {name: [0, 0] for name in names.values()}
    for mutant, status in run(planted, tests, reached, options):
        assert mutant is not None
        counts[mutant.file][0] += 1
        counts[mutant.file][1] += status != 0
        if status == 0:
            text = texts[ROOT / mutant.file].splitlines()[mutant.line - 1]
            print(f"survivor {mutant}\n           | {text.strip()}", flush=True)
        done = sum(planned for planned, _killed in counts.values())
        if done % 100 == 0:
            print(f"{done} of {len(planted)} …", file=sys.stderr, flush=True)
    for file, text in texts.items():
        if file.read_text(encoding="utf-8") != text:
            raise SystemExit(f"{file} changed meanwhile: the figures would mix two versions")
    for name, (all_of_them, killed) in counts.items():
        if all_of_them:
            print(figure(name, all_of_them, killed))
    return [sum(column) for column in zip(*counts.values(), strict=True)]


def figure(name: str, all_of_them: int, killed: int) -> str:
    """One line with the score."""
    rate = 100 * killed / all_of_them if all_of_them else 100.0
    left = all_of_them - killed
    return f"{name}: {all_of_them} mutants, {killed} killed, {left} survivors, score {rate:.1f} %"


def main(words: Sequence[str] | None = None) -> int:
    """Exit status 1 where the score stays below `--floor`."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("modules", nargs="+", type=Path, metavar="MODULE-PATH")
    parser.add_argument("--tests", nargs="+", type=Path)
    parser.add_argument("--limit", type=int, default=0, help="no more mutants than that, spread")
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument(
        "--longest",
        type=float,
        default=10.0,
        help="seconds of processor time for a mutant, or twice the unchanged run",
    )
    parser.add_argument("--floor", type=float, default=85.0, help="score that is asked for")
    options = parser.parse_args(words)
    for threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ[threads] = "1"  # before NumPy: threads and fork do not go together
    began = time.monotonic()
    groups: dict[tuple[Path, ...], list[Path]] = defaultdict(list)
    for file in (file for path in options.modules for file in files_of(path.resolve())):
        tests = [path.resolve() for path in options.tests] if options.tests else tests_of(file)
        groups[tuple(tests)].append(file)
    results = [score(files, tests, options) for tests, files in groups.items()]
    all_of_them, killed = (sum(column) for column in zip(*results, strict=True))
    print(f"{figure('in all', all_of_them, killed)} ({time.monotonic() - began:.0f} s)")
    return 0 if all_of_them and 100 * killed >= options.floor * all_of_them else 1


if __name__ == "__main__":
    sys.exit(main())
