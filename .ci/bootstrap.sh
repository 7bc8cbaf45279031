#!/usr/bin/env bash
# Makes .venv and all that running (`run`) or developing (`dev`) needs; quick when nothing changed.
#   .ci/bootstrap.sh run|dev
# PYTHON=/path/to/python3.12 chooses the interpreter.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."
level=${1:-run}
case $level in run | dev) ;; *) echo "usage: .ci/bootstrap.sh run|dev" >&2; exit 2 ;; esac
stamp=.venv/complete

say() { printf '%s\n' "$*" >&2; }

suitable() { # an interpreter of a version that the locks were made for
  [ "$("$1" -c 'import sys; print((3, 11) <= sys.version_info[:2] < (3, 14))' 2>/dev/null)" = True ]
}

find_python() {
  local name path found=()
  for name in ${PYTHON:-python3 python3.13 python3.12 python3.11}; do
    path=$(command -v "$name") || continue
    if suitable "$path"; then
      echo "$path"
      return
    fi
    found+=("$path ($("$path" --version 2>&1 | head -n 1 || true))")
  done
  say "Countershade needs Python 3.11, 3.12 or 3.13. Found: ${found[*]:-none}."
  say "Install one (Debian 12 and later, Ubuntu 24.04 and later: apt-get install python3), or name it: make PYTHON=/path/to/python3"
  exit 1
}

# The libraries behind PDFs are tried by loading them, so that a system without dpkg is judged fairly too.
missing_packages() { # prints Debian package names
  local python=$1
  "$python" - <<'PY'
import ctypes, importlib.util, os, sys
libraries = {
    "libpango-1.0.so.0": "libpango-1.0-0",
    "libpangoft2-1.0.so.0": "libpangoft2-1.0-0",
    "libharfbuzz-subset.so.0": "libharfbuzz-subset0",
}
for library, package in libraries.items():
    try:
        ctypes.CDLL(library)
    except OSError:
        print(package)
if not os.path.exists("/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf"):
    print("fonts-dejavu-core")
# Debian splits ensurepip off; without it `python3 -m venv` fails and leaves half an environment.
if importlib.util.find_spec("ensurepip") is None or importlib.util.find_spec("venv") is None:
    version = "python%d.%d" % sys.version_info[:2]
    default = os.path.realpath("/usr/bin/python3").endswith(version)
    print("python3-venv" if default else version + "-venv")
PY
}

install_packages() {
  local as_root=() command="apt-get install -y --no-install-recommends $*"
  if ! command -v apt-get >/dev/null; then
    say "Missing: $*. These are Debian's names; install what your system calls them, then try again."
    exit 1
  fi
  if [ "$(id -u)" != 0 ]; then
    if ! sudo -n true 2>/dev/null; then
      say "Some system libraries are missing. Run this, then try again:"
      say "  sudo sh -c 'apt-get update && $command'"
      exit 1
    fi
    as_root=(sudo -n)
  fi
  say "Installing system packages: $*"
  # An unreachable extra source must not stop the rest; what is really missing fails in the next line.
  "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get update -qq >/dev/null || true
  "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive $command -qq >/dev/null
}

digest() { cat requirements.lock requirements-dev.lock | sha256sum | cut -d ' ' -f 1; }

# Where a stamp is found, what stands in .venv was finished: "<level> <digest of the locks>".
stamped_for() { # stamped_for LEVEL
  [ -x .venv/bin/python ] && [ -f "$stamp" ] && suitable .venv/bin/python || return 1
  local had found
  read -r had found <"$stamp" || return 1
  [ "$found" = "$(digest)" ] && { [ "$1" = run ] || [ "$had" = dev ]; }
}

make_environment() {
  local python=$1 lock=requirements.lock
  [ "$level" = dev ] && lock=requirements-dev.lock
  if ! stamped_for run; then
    [ -e .venv ] && say "Removing .venv: half made, or made for other versions"
    rm -rf .venv
    say "Making .venv with $("$python" --version) ..."
    "$python" -m venv .venv
  fi
  rm -f "$stamp"
  say "Installing from $lock (every file is checked against its hash) ..."
  .venv/bin/python -m pip install --quiet --no-input --disable-pip-version-check \
    --require-hashes --no-deps --only-binary :all: -r "$lock"
  .venv/bin/python -m pip --disable-pip-version-check check >&2
}

prepare() { # catalogues and the fonts of this COUNTERSHADE_VAR_DIR: quick when they are there
  if compgen -G 'locale/*/LC_MESSAGES/django.po' >/dev/null; then
    .venv/bin/python -m babel.messages.frontend -q compile -d locale -D django
  fi
  .venv/bin/python -m jobs.fonts >/dev/null
}

# Two `make` at once wait for each other.
if command -v flock >/dev/null; then
  exec 9<.
  flock 9
fi
python=$(find_python)
packages=$(missing_packages "$python")
[ -z "$packages" ] || install_packages $packages
if stamped_for "$level"; then
  prepare
else
  make_environment "$python"
  prepare
  echo "$level $(digest)" >"$stamp"
fi
