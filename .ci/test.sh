#!/usr/bin/env bash
# Runs the tests on SQLite and, where COUNTERSHADE_TEST_DATABASE_URL names a database server, those that
# use the database once more on PostgreSQL; then compares the two. Arguments go to pytest.
set -uo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
python=.venv/bin/python
results=var/tests
rm -rf "$results" && mkdir -p "$results"

# A developer's own installation must not leak into the tests.
unset DATABASE_URL REDIS_URL COUNTERSHADE_DEMO COUNTERSHADE_HOSTS COUNTERSHADE_PUBLIC_URL
export COUNTERSHADE_VAR_DIR=$PWD/var/test-files
# Workers, both runs and hundreds of child processes load the same modules: compiled once.
unset PYTHONDONTWRITEBYTECODE
# A `make` that a test starts is not part of the one that runs the tests.
unset MAKEFLAGS MFLAGS MAKELEVEL
$python -m jobs.fonts >/dev/null

run() { # run LABEL [pytest arguments]
  local label=$1
  shift
  echo "== tests on $label"
  # Neighbours stay with one worker, so that what a file or folder sets up is made once; a worker that
  # is done takes half of what the other still has.
  $python -m pytest -n auto --dist worksteal -q --outcomes "$results/$label.json" "$@"
}

run sqlite "$@"
first=$?
second=0
files=("$results/sqlite.json")
if [ -n "${COUNTERSHADE_TEST_DATABASE_URL:-}" ]; then
  files+=("$results/postgresql.json")
  DATABASE_URL=$COUNTERSHADE_TEST_DATABASE_URL run postgresql --database-tests "$@"
  second=$?
fi
[ $first = 0 ] || echo "pytest on SQLite ended with status $first"
[ $second = 0 ] || echo "pytest on PostgreSQL ended with status $second"
$python -m tests.compare "${files[@]}"
compared=$?
# A collection error or an interrupted run leaves no failed test behind: pytest's own status counts too.
[ $first = 0 ] && [ $second = 0 ] && [ $compared = 0 ]
