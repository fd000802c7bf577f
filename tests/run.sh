#!/usr/bin/env bash
# Make a virtual environment of its own, then check style, types, layers and tests.
# As root on Debian or Ubuntu, first install what is missing: venv, Tk, a virtual display, and the programs that
# hand-over files are opened with (a spreadsheet, a browser).
set -euo pipefail
cd "$(dirname "$0")/.."
python=$(command -v python3.11 || command -v python3)
# Without compiled modules every process of the tests, some hundreds of them, compiles the program anew.
unset PYTHONDONTWRITEBYTECODE

needed=() wished=()
"$python" -c 'import ensurepip, venv' 2>/dev/null || needed+=(python3-venv)
"$python" -c 'import tkinter' 2>/dev/null || needed+=(python3-tk libtk8.6)
"$python" -c 'import ctypes; ctypes.CDLL("libXcursor.so.1")' 2>/dev/null || needed+=(libxcursor1)
command -v Xvfb >/dev/null || needed+=(xvfb)
{ command -v fc-list >/dev/null && fc-list | grep -q DejaVu; } || needed+=(fontconfig fonts-dejavu-core)
command -v soffice >/dev/null || wished+=(libreoffice-calc-nogui)
command -v chromium >/dev/null || wished+=(chromium)
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
    export DEBIAN_FRONTEND=noninteractive
    if [ ${#needed[@]} -gt 0 ] || [ ${#wished[@]} -gt 0 ]; then
        apt-get update -qq
    fi
    if [ ${#needed[@]} -gt 0 ]; then
        apt-get install -y -qq --no-install-recommends "${needed[@]}" >/dev/null
    fi
    for package in ${wished[@]+"${wished[@]}"}; do
        apt-get install -y -qq --no-install-recommends "$package" >/dev/null ||
            echo "$package cannot be installed: the tests that open files with it are left out." >&2
    done
elif [ ${#needed[@]} -gt 0 ]; then
    echo "Missing on this machine: ${needed[*]}. Install them and run this again." >&2
    exit 2
fi

[ -x .venv-test/bin/python ] || "$python" -m venv .venv-test
# The versions that the tests passed with: a run next year installs what was tested.
.venv-test/bin/pip install --quiet --disable-pip-version-check -c tests/constraints.txt -e '.[test]'
.venv-test/bin/ruff check .
.venv-test/bin/ruff format --check .
# Types and layers are checked by one processor meanwhile, and told of at the end.
told=$(mktemp)
trap 'rm -f "$told"' EXIT
{ .venv-test/bin/mypy && .venv-test/bin/lint-imports; } >"$told" 2>&1 &
types=$!
# The test modules are compiled once for all workers.
.venv-test/bin/python -m pytest -q --collect-only >/dev/null 2>&1 || true
# Each worker has a display of its own (pytest-xvfb), so that no window can cover or take the keys of another's.
# Two workers more than there are processors: many tests wait for processes of their own. A worker begins with a part of
# the files that lie together, so that what they share is made once, and takes over from others when it is done.
workers=$(.venv-test/bin/python -c "import os; print(os.cpu_count() + 2)")
tests=0 checks=0
.venv-test/bin/python -m pytest -q -n "${TEST_WORKERS:-$workers}" --dist worksteal || tests=$?
wait "$types" || checks=$?
cat "$told"
exit $((tests > checks ? tests : checks))
