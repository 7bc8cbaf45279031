#!/usr/bin/env bash
# Re-creates requirements.lock and requirements-dev.lock: universal, with hashes, without any address.
# The resolver comes into a throwaway environment. UPGRADE=1 takes newer versions than the locked ones.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
tools=$(mktemp -d)
trap 'rm -rf "$tools"' EXIT
"${PYTHON:-python3}" -m venv "$tools"
"$tools/bin/python" -m pip install --quiet --disable-pip-version-check 'uv>=0.5,<1'

compile() { # compile OUTPUT [arguments]
  local output=$1
  shift
  "$tools/bin/uv" pip compile --quiet --no-config --universal --python-version 3.11 --generate-hashes \
    --no-emit-index-url --no-emit-find-links --custom-compile-command 'make lock' \
    ${UPGRADE:+--upgrade} pyproject.toml "$@" --output-file "$output"
}
compile requirements.lock
compile requirements-dev.lock --extra dev --constraint requirements.lock
if grep -nE '://|^(--index|--extra-index|--find-links)' requirements.lock requirements-dev.lock; then
  echo "The locks name an address; see above." >&2
  exit 1
fi
