#!/bin/sh
# Everything that must hold: style, types and tests. Makes .venv when it is missing or out of date.
# sh tests/run.sh                     all of it
# sh tests/run.sh --fast              without the tests marked slow, browser or network
# sh tests/run.sh --coverage          all of it, and which lines of the package the tests reached
# sh tests/run.sh [--fast] -k cli     with words for pytest
set -eu
cd "$(dirname "$0")/.."

marks=""
coverage=""
while [ $# -gt 0 ]; do
    case $1 in
        --fast) marks="not slow and not browser and not network" ;;
        --coverage) coverage="--cov --cov-report=term" ;;
        *) break ;;
    esac
    shift
done

export PIP_DISABLE_PIP_VERSION_CHECK=1
if ! cat pyproject.toml tests/lock.txt | cmp -s - .venv/pyproject.installed; then
    python3 -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Python 3.11 or newer is needed")'
    python3 -m venv .venv
    .venv/bin/python -m pip install -q -e ".[test]" -c tests/lock.txt
    # Compiled kernels that a plain install left behind would hide the package in this folder.
    rm -rf .venv/lib/python3*/site-packages/pic2chart
    cat pyproject.toml tests/lock.txt >.venv/pyproject.installed
fi

# The checker of the page's scripts. Without node and npm its tests are skipped, except under CI=true.
TYPESCRIPT=5.9.3
package=.venv/node/node_modules/typescript/package.json
if command -v npm >/dev/null && ! grep -q "\"version\": \"$TYPESCRIPT\"" "$package" 2>/dev/null; then
    mkdir -p .venv/node
    npm install --no-save --no-audit --no-fund --loglevel=error --prefix .venv/node "typescript@$TYPESCRIPT" ||
        echo "TypeScript could not be installed; its tests say so." >&2
fi

failed=""
step() {
    name=$1
    shift
    echo "== $name"
    "$@" || failed="$failed $name"
}
step style .venv/bin/python -m ruff check .
step format .venv/bin/python -m ruff format --check .
step types .venv/bin/python -m mypy
# shellcheck disable=SC2086 # the words of $coverage are several
step tests .venv/bin/python -m pytest -n 2 -m "$marks" $coverage "$@"

if [ -n "$failed" ]; then
    echo "Failed:$failed" >&2
    exit 1
fi
echo "All holds."
