"""Takes away every wall in turn and runs the access table: `python -m tests.access.survivors`.

In a copy of the tree, one at a time: each `.visible_to()` becomes `.all()`, each `@for_seat` is
removed, each mark and each act is opened to every side and to every role, and the walls themselves
(`mutants.WALLS`) are pulled down. The table must find each; what it does not find is printed as a
survivor, and the exit status is 1. A change that leaves every mark as it was (a page that is open
to every role already) is no mutant and is only counted.

Options: `--processes N` (2), `--only PATTERN` (mutants in whose line it is found).
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from queue import Queue

from tests.access.mutants import Mutant, mutants
from tests.access.once import FAILS, PASSES, SAME

ROOT = Path(__file__).resolve().parents[2]
LEFT_OUT = shutil.ignore_patterns(".git", ".venv", "var", "__pycache__", ".*_cache", "node_modules")
LONGEST = 900  # seconds; a run that takes longer hangs, and counts as found


def run(tree: Path, *words: str, keep_bytecode: bool = False) -> subprocess.CompletedProcess[str]:
    """A process of `once` in a copy of the tree."""
    environment = dict(os.environ)
    if not keep_bytecode:
        environment["PYTHONDONTWRITEBYTECODE"] = "1"
    return subprocess.run(
        [sys.executable, "-m", "tests.access.once", *words],
        cwd=tree,
        env=environment,
        capture_output=True,
        text=True,
        timeout=LONGEST,
        check=False,
    )


def judge(mutant: Mutant, tree: Path, world: Path) -> str:
    """ "found", "same" or "SURVIVES"."""
    file = tree / mutant.file
    original, stamp = file.read_bytes(), file.stat()
    try:
        file.write_text(mutant.text, encoding="utf-8")
        done = run(tree, "check", str(world), mutant.file, *(["--marks"] if mutant.marks else []))
    except subprocess.TimeoutExpired:
        return "found"
    finally:
        file.write_bytes(original)
        os.utime(file, ns=(stamp.st_atime_ns, stamp.st_mtime_ns))
    if done.returncode == FAILS and done.stdout.strip():
        return f"found: {done.stdout.strip().splitlines()[-1]}"
    if done.returncode in {PASSES, SAME}:
        return "SURVIVES" if done.returncode == PASSES else "same"
    # A program that ends by an exception has the exit status of FAILS too.
    return f"found: {[f'status {done.returncode}', *done.stderr.strip().splitlines()][-1][:200]}"


def main() -> int:
    """Print one line for each, then the survivors."""
    options = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    options.add_argument("--processes", type=int, default=2)
    options.add_argument("--only", default="")
    asked = options.parse_args()
    began = time.monotonic()
    found = [one for one in mutants(ROOT) if re.search(asked.only, str(one))]
    with tempfile.TemporaryDirectory() as name:
        world, trees = Path(name) / "world", Queue[Path]()
        world.mkdir()
        tree = Path(name) / "tree0"
        shutil.copytree(ROOT, tree, ignore=LEFT_OUT)
        tell_unchanged(tree, world)
        trees.put(tree)
        for number in range(1, asked.processes):  # with the bytecode that the first run has left
            trees.put(Path(shutil.copytree(tree, tree.with_name(f"tree{number}"))))

        def one(mutant: Mutant) -> tuple[Mutant, str]:
            tree = trees.get()
            try:
                return mutant, judge(mutant, tree, world)
            finally:
                trees.put(tree)

        results = []
        with ThreadPoolExecutor(asked.processes) as pool:
            for mutant, result in pool.map(one, found):
                print(f"{mutant}: {result}", flush=True)
                results.append((mutant, result))
    return summary(results, time.monotonic() - began)


def tell_unchanged(tree: Path, world: Path) -> None:
    """Build the world, and see that the table passes on the tree as it is."""
    done = run(tree, "build", str(world), keep_bytecode=True)
    if done.returncode:
        raise SystemExit(f"the world could not be built:\n{done.stderr}")
    done = run(tree, "check", str(world), "", keep_bytecode=True)
    if done.returncode != PASSES:
        raise SystemExit(f"the table fails on the tree as it is:\n{done.stdout}{done.stderr}")


def summary(results: list[tuple[Mutant, str]], seconds: float) -> int:
    """How many were found; the survivors, if any."""
    counts = Counter(result.partition(":")[0] for _mutant, result in results)
    print(
        f"\n{len(results)} changes in {seconds:.0f} s: {counts['found']} found, "
        f"{counts['same']} without effect on any mark, {counts['SURVIVES']} survivors"
    )
    for mutant, result in results:
        if result == "SURVIVES":
            print(f"  survivor: {mutant}")
    return 1 if counts["SURVIVES"] or not counts["found"] else 0


if __name__ == "__main__":
    sys.exit(main())
